// The bench: verdict while the figure is typed, entries kept until they are acknowledged, the clock.
"use strict";

const now = () => { const t = new Date(); return new Date(t - t.getTimezoneOffset() * 60000).toISOString().slice(0, 19); };

// What waits to be sent, figures and photographs in the order of their making. It lies in the browser's own store, which
// takes one change at a time, so that two tabs never write over each other. What the notebook refuses stays there too,
// with the reason, until somebody sends it again or forgets it.
const QUEUE = "queue";
let opened = null;
const base = () => opened ??= new Promise((yes, no) => {
  const asked = indexedDB.open("tarebook", 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore(QUEUE, { keyPath: "number", autoIncrement: true });
  asked.onsuccess = () => yes(asked.result);
  asked.onerror = () => { opened = null; no(asked.error); };
});
const turn = async (mode, step, durability = "default") => {
  const own = (await base()).transaction(QUEUE, mode, { durability });
  const asked = step(own.objectStore(QUEUE));
  return new Promise((yes, no) => { own.oncomplete = () => yes(asked.result); own.onabort = () => no(own.error); });
};
const kept = () => turn("readonly", (all) => all.getAll());
const change = (entry) => turn("readwrite", (all) => all.put(entry), "strict");
const forget = (number) => turn("readwrite", (all) => all.delete(number));
let adding = 0;
async function keep(entry) {
  adding += 1;
  try { await turn("readwrite", (all) => all.add(entry), "strict"); return true; } catch { return false; } finally { adding -= 1; }
}

// The line above the entry: why something waits, where that is mended, and what was refused.
let told = { text: "", way: "", refused: [] };
function tell(news) {
  told = { ...told, ...news };
  const line = document.getElementById("queue");
  if (!line) return;
  line.hidden = !told.text && !told.refused.length;
  line.replaceChildren(told.text);
  if (told.way) line.append(" ", Object.assign(document.createElement("a"), { href: told.way, textContent: "Pair it" }));
  for (const entry of told.refused) {
    const why = document.createElement("p");
    const place = decodeURIComponent(new URL(entry.address).pathname.split("/")[2]);
    why.textContent = `Not entered in ${place}: ${entry.photo ? "the photograph" : entry.body.figure}. ${entry.refused}`;
    const button = (textContent, step) => {
      const made = Object.assign(document.createElement("button"), { type: "button", className: "plain", textContent });
      made.addEventListener("click", async () => { await step(); await send(); });
      return made;
    };
    line.append(why, button("Send it again", () => change({ ...entry, refused: "" })), button("Forget it", () => forget(entry.number)));
  }
}

function waiting(list) {
  const photos = list.filter((entry) => entry.photo).length, figures = list.length - photos;
  const count = (n, one, many) => n ? [n === 1 ? `one ${one}` : `${n} ${many}`] : [];
  const all = [...count(figures, "entry", "entries"), ...count(photos, "photograph", "photographs")].join(" and ");
  return `${all.charAt(0).toUpperCase()}${all.slice(1)} ${list.length === 1 ? "is" : "are"} kept here`;
}

// Sends what is kept, the oldest first, until nothing is left or nothing goes out. Each entry has a key, so that one sent
// twice comes in once; it is forgotten only when the notebook has answered for it.
const ANSWERED_WITHIN = 60000;
async function deliver() {
  for (;;) {
    const list = await kept(), open = list.filter((entry) => !entry.refused), [first] = open;
    tell({ refused: list.filter((entry) => entry.refused) });
    if (!first) { tell({ text: "", way: "" }); return !list.length; }
    let answer;
    try {
      const body = first.photo || new URLSearchParams(first.body);
      answer = await fetch(first.address, { method: "POST", body, signal: AbortSignal.timeout(ANSWERED_WITHIN) });
    } catch {
      tell({ text: `No connection. ${waiting(open)} and will be sent.`, way: "" });
      return false;
    }
    if (answer.status === 401 || answer.redirected) { tell({ text: `Not sent yet: this device is not paired. ${waiting(open)}.`, way: "/pair" }); return false; }
    if (answer.status >= 500 || [408, 425, 429].includes(answer.status)) { tell({ text: `The notebook does not answer. ${waiting(open)} and will be sent.`, way: "" }); return false; }
    if (answer.ok) { await forget(first.number); continue; }
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const why = page.querySelector("#main p")?.textContent.replace(/^Not entered\. /, "");
    await change({ ...first, refused: why || `The notebook answers ${answer.status}.` });
  }
}
// One sender at a time, in all tabs where the browser lets them take turns; who asks meanwhile shares the next turn.
const alone = (work) => navigator.locks ? navigator.locks.request("tarebook queue", work) : work();
let next = null, stuck = false;
const send = () => next ??= sending = sending.catch(() => false).then(async () => {
  next = null;
  const done = await alone(deliver);
  stuck = !done;
  return done;
});
const again = async () => { try { if (stuck || (await kept()).length) await send(); } catch { /* a browser without a store keeps nothing */ } };
addEventListener("online", again);
setInterval(again, 3000);
again();

// What is on the page now; bound again when the page takes over a change of somebody else.
function bind() {
  tell({});
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
        const words = expect.querySelector("p");
        if (words && answer.expected) words.textContent = answer.expected;
      }
    } catch { verdict.className = "verdict"; verdict.textContent = "No connection: it can be entered and will be compared later."; }
  }
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const typed = { reading: form.reading.value, figure: figure.value, note: form.note.value, after: form.elements.after?.value ?? "", at: now(), key: key() };
    button.textContent = "Enter";
    figure.value = ""; form.note.value = "";
    if (!await keep({ address: new URL(form.dataset.enter, location.href).href, body: typed })) {
      // A browser without a store sends the form as it stands.
      figure.value = typed.figure; form.note.value = typed.note;
      form.submit();
    } else if (await send() && !adding && !figure.value) location.href = form.dataset.after;
  });
  form.querySelector("#photo").addEventListener("change", async (event) => {
    const [photo] = event.target.files;
    if (!photo) return;
    event.target.value = "";
    const megabytes = (bytes, round) => `${round(bytes / 1e5) / 10} MB`, most = Number(form.dataset.most);
    if (photo.size > most) {
      tell({ text: `Not sent: the photograph has ${megabytes(photo.size, Math.ceil)}; at most ${megabytes(most, Math.floor)} are taken. Set the camera to smaller pictures.` });
      return;
    }
    const address = new URL(`${form.dataset.photo}&key=${key()}`, location.href).href;
    if (!await keep({ address, photo })) tell({ text: "This browser has no room for the photograph: it was not sent. Choose it again later." });
    else if (await send()) tell({ text: "The photograph is kept." });
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
