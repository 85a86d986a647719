// Comfort for every page: the theme, changes of others, findings while one types. Every page works without it.
"use strict";

const root = document.documentElement;
const theme = document.getElementById("theme");
if (theme) {
  const isDark = () => root.dataset.theme ? root.dataset.theme === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
  const show = () => { theme.textContent = isDark() ? "light" : "dark"; theme.setAttribute("aria-label", `${theme.textContent} paper`); };
  theme.hidden = false;
  show();
  theme.addEventListener("click", () => {
    root.dataset.theme = isDark() ? "light" : "dark";
    localStorage.setItem("theme", root.dataset.theme);
    show();
  });
}

// A key for each entry, so that one sent twice comes in once.
const key = () => Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) => b.toString(16).padStart(2, "0")).join("");
for (const form of document.querySelectorAll("form[data-entry]")) seal(form);
function seal(form) {
  const field = document.createElement("input");
  field.type = "hidden"; field.name = "key"; field.value = key();
  form.append(field);
}

// What the page is sending at the moment; a look waits for it.
let sending = Promise.resolve();

// Somebody else changed what this page shows: take it over, unless something is being typed here.
const of = document.body.dataset.preparation;
const main = document.getElementById("main");
const changed = (field) => field.tagName === "SELECT"
  ? field.selectedIndex !== Math.max(0, [...field.options].findIndex((option) => option.defaultSelected))
  : field.type !== "hidden" && field.type !== "file" && field.value !== field.defaultValue;
const typing = () => [...main.querySelectorAll("input, textarea, select")].some((field) => !field.closest("[role=search]") && changed(field));
// What changed while something was typed, or was told better, waits until nothing is.
let behind = false;
if (of) {
  // One look at a time: what changes meanwhile is looked at afterwards.
  let looking = false, anew = false;
  const later = () => {
    anew = true;
    if (looking) return;
    looking = true;
    setTimeout(async () => {
      await sending.catch(() => false);
      anew = false;
      await refresh();
      looking = false;
      if (anew) later();
    }, of === "*" ? 1000 : 120);
  };
  // A browser opens few connections to one place: a tab that is not seen leaves its own, and looks when it is seen again.
  let events = null, lost = false;
  const listen = () => {
    events = new EventSource("/events");
    events.addEventListener("changed", (event) => { if (of === "*" || event.data === of) later(); });
    // What changed while there was no connection was not told, nor what was told in full while the page was loaded.
    events.addEventListener("error", () => { lost = true; });
    events.addEventListener("open", () => { if (lost || "quick" in main.dataset) { lost = false; later(); } });
  };
  const deaf = () => { events?.close(); events = null; lost = true; };
  for (const kind of ["input", "focusout"]) main.addEventListener(kind, () => { if (behind && !typing()) later(); });
  if (!document.hidden) listen();
  else lost = true;
  addEventListener("pagehide", deaf);
  document.addEventListener("visibilitychange", () => { if (document.hidden) deaf(); else if (!events) listen(); });
}
// Where something stands, by words: the section it is in, its own, and which of several alike it is.
function places(list, words) {
  const seen = new Map();
  return new Map([...list].map((one) => {
    const name = `${one.closest("section[aria-label]")?.getAttribute("aria-label") || ""}\n${words(one)}`;
    seen.set(name, (seen.get(name) || 0) + 1);
    return [`${name}\n${seen.get(name)}`, one];
  }));
}
const folded = () => places(main.querySelectorAll("details > summary"), (one) => one.getAttribute("aria-label") || one.textContent);
const reached = () => places(main.querySelectorAll("a[href], button, summary, input, select, textarea"), (one) => one.id || one.getAttribute("aria-label") || one.textContent);
const searched = () => [...main.querySelectorAll("[role=search] [name]")];
async function refresh() {
  try {
    const answer = await fetch(location.href);
    const whole = new DOMParser().parseFromString(await answer.text(), "text/html"), page = whole.getElementById("main");
    // A preparation that went out of bounds, or away, has a page that says so. Trouble of the moment has none to show.
    if (!page || answer.status >= 500) return;
    const same = Boolean(page.dataset.revision) && page.dataset.revision === main.dataset.revision;
    if (same) document.getElementById("changed")?.remove();
    // The bench goes by the plan, which is told whole.
    if (same && main.classList.contains("bench")) return;
    if (typing()) {
      behind = true;
      if (same || document.getElementById("changed")) return;
      const line = document.createElement("p");
      line.id = "changed"; line.className = "moved"; line.setAttribute("role", "status");
      line.append("The file changed meanwhile; what you type is kept. ");
      const link = document.createElement("a");
      link.href = location.href; link.textContent = "Show it";
      line.append(link); main.prepend(line);
      return;
    }
    behind = false;
    // A bench that cannot be gone on with, or can again, is another page, with another script.
    if (page.className !== main.className) return void location.reload();
    const open = new Set([...folded()].filter(([, summary]) => summary.parentElement.open).map(([place]) => place));
    const focused = [...reached()].find(([, one]) => one === document.activeElement)?.[0];
    const wanted = new Map(searched().filter(changed).map((field) => [field.name, field.value]));
    document.title = whole.title;
    main.innerHTML = page.innerHTML;
    for (const name of ["revision", "quick"]) {
      if (name in page.dataset) main.dataset[name] = page.dataset[name];
      else delete main.dataset[name];
    }
    for (const [place, summary] of folded()) if (open.has(place)) summary.parentElement.open = true;
    for (const form of main.querySelectorAll("form[data-entry]")) seal(form);
    for (const field of searched()) if (wanted.has(field.name)) field.value = wanted.get(field.name);
    if (focused) reached().get(focused)?.focus({ preventScroll: true });
    main.dispatchEvent(new Event("refreshed"));
  } catch { /* the connection is gone; the next change tries again */ }
}

// A figure for a reading that waits: how it stands to what is expected, while it is typed.
let judging = 0, judge = null;
document.addEventListener("input", (event) => {
  const form = event.target.closest("form.write[data-judge]");
  const what = form?.elements.what?.value || "";
  if (!what.startsWith("waiting ")) return;
  clearTimeout(judge);
  judge = setTimeout(async () => {
    const mine = ++judging, live = form.querySelector(".live"), figure = form.elements.figure.value.trim();
    live.textContent = ""; live.classList.remove("err"); form.elements.figure.removeAttribute("aria-invalid");
    if (!figure) return;
    try {
      const answer = await (await fetch(form.dataset.judge, { method: "POST", body: new URLSearchParams({ reading: what.slice(8), figure }) })).json();
      if (mine !== judging) return;
      const word = document.createElement("b");
      word.textContent = answer.title || "Nothing to compare it with.";
      live.append(word, ` ${answer.text || ""}`);
    } catch { /* it can be entered all the same */ }
  }, 150);
});

// What is typed is not lost to a notebook that does not answer, nor to a figure that is not understood: the page stays.
const say = (form, word, text) => {
  const line = form.querySelector(".live") || form.querySelector(".unsent") || form.appendChild(Object.assign(document.createElement("p"), { className: "unsent err" }));
  const bold = document.createElement("b");
  bold.textContent = word;
  line.setAttribute("role", "alert"); line.classList.add("err");
  line.replaceChildren(bold, ` ${text}`);
};
const gone = (form) => say(form, "The notebook does not answer.", "What you typed stays here. Send it again when the notebook runs.");
document.addEventListener("submit", async (event) => {
  const form = event.target, button = event.submitter;
  if (event.defaultPrevented || form.method !== "post" || form.dataset.sent || form.matches(".entry-form")) return;
  event.preventDefault();
  clearTimeout(judge); judging += 1;
  try {
    if (!form.matches(".write")) {
      await fetch("/favicon.ico", { cache: "no-store" });
      form.dataset.sent = "yes";
      form.requestSubmit(button);
      return;
    }
    const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form, button)) });
    if (answer.ok && answer.url === location.href) {
      // The same page anew, at the same place.
      form.reset();
      return void location.reload();
    }
    if (answer.ok) return void (location.href = answer.url);
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    form.elements.figure.setAttribute("aria-invalid", "true");
    say(form, "", page.querySelector("#main p")?.textContent || "It was not entered.");
  } catch { gone(form); }
});
addEventListener("pageshow", () => { for (const form of document.forms) delete form.dataset.sent; });

// The file itself, or one of its parts: what it would give, and its findings, while one types.
const tried = document.querySelector("form[data-try]");
if (tried) {
  let asked = 0, timer = null;
  tried.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(async () => {
      const mine = ++asked;
      try {
        const answer = await fetch(tried.dataset.try, { method: "POST", body: new URLSearchParams(new FormData(tried)) });
        const found = await answer.text();
        if (answer.ok && mine === asked) document.getElementById("findings").innerHTML = found;
      } catch { /* kept in the page until it is saved */ }
    }, 200);
  });
  const text = tried.querySelector("#text");
  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-line]");
    if (!button || !text) return;
    const lines = text.value.split("\n");
    const start = lines.slice(0, button.dataset.line - 1).join("\n").length + (button.dataset.line > 1 ? 1 : 0);
    text.focus();
    text.setSelectionRange(start, start + lines[button.dataset.line - 1].length);
    text.scrollTop = (button.dataset.line - 4) * parseFloat(getComputedStyle(text).lineHeight);
  });
}
