// The bench: verdict while the figure is typed, entries kept until they are acknowledged, the clock.
"use strict";

const now = () => { const t = new Date(); return new Date(t - t.getTimezoneOffset() * 60000).toISOString().slice(0, 19); };

// What waits to be sent, figures and photographs in the order of their making. It lies in the browser's own store, which
// takes one change at a time, so that two tabs never write over each other.
const QUEUE = "queue";
let opened = null;
const base = () => opened ??= new Promise((yes, no) => {
  const asked = indexedDB.open("tarebook", 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore(QUEUE, { keyPath: "number", autoIncrement: true });
  asked.onsuccess = () => yes(asked.result);
  asked.onerror = () => { opened = null; no(asked.error); };
});
const turn = async (mode, step) => {
  const own = (await base()).transaction(QUEUE, mode, { durability: "strict" });
  const asked = step(own.objectStore(QUEUE));
  return new Promise((yes, no) => { own.oncomplete = () => yes(asked.result); own.onabort = () => no(own.error); });
};
const kept = (most) => turn("readonly", (all) => all.getAll(null, most));
const forget = (number) => turn("readwrite", (all) => all.delete(number));
let adding = 0;
async function keep(entry) {
  adding += 1;
  try { await turn("readwrite", (all) => all.add(entry)); return true; } catch { return false; } finally { adding -= 1; }
}

let told = ["", ""];
function tell(text, way = "") {
  told = [text, way];
  const line = document.getElementById("queue");
  if (!line) return;
  line.hidden = !text; line.textContent = text;
  if (way) line.append(" ", Object.assign(document.createElement("a"), { href: way, textContent: "Pair it" }));
}

async function waiting() {
  const list = await kept(), photos = list.filter((entry) => entry.photo).length, figures = list.length - photos;
  const count = (n, one, many) => n ? [n === 1 ? `one ${one}` : `${n} ${many}`] : [];
  const all = [...count(figures, "entry", "entries"), ...count(photos, "photograph", "photographs")].join(" and ");
  return `${all.charAt(0).toUpperCase()}${all.slice(1)} ${list.length === 1 ? "is" : "are"} kept here`;
}

// Sends what is kept, the oldest first; each entry has a key, so that one sent twice comes in once.
let sending = false;
async function send() {
  if (sending) return false;
  sending = true;
  try {
    for (let [first] = await kept(1); first; [first] = await kept(1)) {
      let answer;
      try {
        answer = await fetch(first.address, { method: "POST", body: first.photo || new URLSearchParams(first.body) });
      } catch {
        tell(`No connection. ${await waiting()} and will be sent.`);
        return false;
      }
      if (answer.status === 401 || answer.redirected) { tell(`Not sent yet: this device is not paired. ${await waiting()}.`, "/pair"); return false; }
      if (answer.status >= 500 || [408, 425, 429].includes(answer.status)) { tell(`The notebook does not answer. ${await waiting()} and will be sent.`); return false; }
      await forget(first.number);
      if (!answer.ok) {
        const page = new DOMParser().parseFromString(await answer.text(), "text/html");
        tell(`Not entered: ${first.photo ? "the photograph" : first.body.figure}. ${page.querySelector("#main p")?.textContent || ""}`);
        return false;
      }
    }
    tell("");
    return true;
  } finally { sending = false; }
}
const again = async () => { if ((await kept(1)).length) await send(); };
addEventListener("online", again);
setInterval(again, 3000);
again();

// What is on the page now; bound again when the page takes over a change of somebody else.
function bind() {
  tell(...told);
  const form = document.querySelector(".entry-form");
  if (form) entry(form);
  const clock = document.querySelector(".timer");
  if (clock) {
    clock.querySelector("button").addEventListener("click", () => { localStorage.setItem(place(clock), String(Date.now())); show(); });
    show();
  }
}

function entry(form) {
  const figure = form.figure, verdict = document.getElementById("verdict"), button = form.querySelector("button.wide");
  let asked = 0, timer = null;
  figure.addEventListener("input", () => {
    clearTimeout(timer);
    button.textContent = figure.value.trim() ? `Enter ${figure.value.trim()}\u00a0${form.dataset.unit}` : "Enter";
    timer = setTimeout(judge, 120);
  });
  async function judge() {
    const mine = ++asked;
    if (!figure.value.trim()) return;
    try {
      const body = new URLSearchParams({ reading: form.reading.value, figure: figure.value });
      const answer = await (await fetch(form.dataset.judge, { method: "POST", body })).json();
      if (mine !== asked) return;
      const shape = { inside: "inside", ask: "ask", stop: "stop", unread: "ask" };
      verdict.className = `verdict ${shape[answer.verdict] || ""}`;
      verdict.innerHTML = "";
      const word = document.createElement("b");
      word.className = "w"; word.textContent = answer.title || "Nothing to compare it with.";
      const rest = document.createElement("span");
      rest.textContent = answer.text || "";
      verdict.append(word, rest);
      if (answer.strip) {
        const expect = document.getElementById("expect");
        expect.querySelector("svg")?.remove();
        expect.insertAdjacentHTML("afterbegin", answer.strip);
      }
    } catch { verdict.className = "verdict"; verdict.textContent = "No connection: it can be entered and will be compared later."; }
  }
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const typed = { reading: form.reading.value, figure: figure.value, note: form.note.value, after: form.after ? form.after.value : "", at: now(), key: key() };
    button.textContent = "Enter";
    figure.value = ""; form.note.value = "";
    if (!await keep({ address: new URL(form.dataset.enter, location.href).href, body: typed })) {
      // A browser without a store sends the form as it stands.
      figure.value = typed.figure; form.note.value = typed.note;
      form.submit();
    } else if (await send() && !adding) location.href = form.dataset.after;
  });
  form.querySelector("#photo").addEventListener("change", async (event) => {
    const [photo] = event.target.files;
    if (!photo) return;
    const address = new URL(`${form.dataset.photo}&key=${key()}`, location.href).href;
    if (!await keep({ address, photo })) tell("This browser has no room for the photograph: it was not sent. Choose it again later.");
    else if (await send()) tell("The photograph is kept.");
    event.target.value = "";
  });
}

// The clock goes on while the page is closed: only its beginning is kept.
const place = (clock) => `tarebook-clock ${location.pathname} ${clock.dataset.of}`;
const two = (n) => String(Math.floor(n)).padStart(2, "0");
function show() {
  const clock = document.querySelector(".timer");
  if (!clock) return;
  const face = clock.querySelector("b"), begun = Number(localStorage.getItem(place(clock)));
  if (!begun) { face.textContent = "0:00"; return; }
  const gone = Math.max(0, (Date.now() - begun) / 1000);
  face.textContent = gone >= 3600 ? `${Math.floor(gone / 3600)}:${two(gone / 60 % 60)}:${two(gone % 60)}` : `${Math.floor(gone / 60)}:${two(gone % 60)}`;
  if (gone >= Number(clock.dataset.seconds)) {
    const done = document.createElement("small");
    done.textContent = " done";
    face.append(done);
  }
  clock.querySelector("button").textContent = "Start it again";
}
setInterval(show, 1000);
document.getElementById("main").addEventListener("refreshed", bind);
bind();
