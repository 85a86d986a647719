// The bench: verdict while the figure is typed, entries kept until they are acknowledged, the clock.
"use strict";

const STORE = "tarebook-queue";
const kept = () => JSON.parse(localStorage.getItem(STORE) || "[]");
const keep = (list) => localStorage.setItem(STORE, JSON.stringify(list));
const now = () => { const t = new Date(); return new Date(t - t.getTimezoneOffset() * 60000).toISOString().slice(0, 19); };

let told = ["", ""];
function tell(text, way = "") {
  told = [text, way];
  const line = document.getElementById("queue");
  if (!line) return;
  line.hidden = !text; line.textContent = text;
  if (way) line.append(" ", Object.assign(document.createElement("a"), { href: way, textContent: "Pair it" }));
}

const waiting = (list) => list.length === 1 ? "One entry is" : `${list.length} entries are`;

// Sends what is kept, the oldest first; each entry has a key, so that one sent twice comes in once.
let sending = false;
async function send() {
  if (sending) return false;
  sending = true;
  try {
    for (let list = kept(); list.length; list = kept()) {
      const { address, body } = list[0];
      let answer;
      try {
        answer = await fetch(address, { method: "POST", body: new URLSearchParams(body) });
      } catch {
        tell(`No connection. ${waiting(list)} kept here and will be sent.`);
        return false;
      }
      if (answer.status === 401 || answer.redirected) { tell(`Not sent yet: this device is not paired. ${waiting(list)} kept here.`, "/pair"); return false; }
      if (answer.status >= 500 || [408, 425, 429].includes(answer.status)) { tell(`The notebook does not answer. ${waiting(list)} kept here and will be sent.`); return false; }
      keep(kept().filter((entry) => entry.body.key !== body.key));
      if (!answer.ok) {
        const page = new DOMParser().parseFromString(await answer.text(), "text/html");
        tell(`Not entered: ${body.figure}. ${page.querySelector("#main p")?.textContent || ""}`);
        return false;
      }
    }
    tell("");
    return true;
  } finally { sending = false; }
}
addEventListener("online", send);
setInterval(() => { if (kept().length) send(); }, 3000);
if (kept().length) send();

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
    const typed = { reading: form.reading.value, figure: figure.value, note: form.note.value, after: form.after ? form.after.value : "", at: now(), key: Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) => b.toString(16).padStart(2, "0")).join("") };
    keep([...kept(), { address: new URL(form.dataset.enter, location.href).href, body: typed }]);
    button.textContent = "Enter";
    figure.value = ""; form.note.value = "";
    if (await send()) location.href = form.dataset.after;
  });
  form.querySelector("#photo").addEventListener("change", async (event) => {
    const file = event.target.files[0];
    if (!file) return;
    try {
      const answer = await fetch(form.dataset.photo, { method: "POST", body: file });
      tell(answer.ok ? "The photograph is kept." : "The photograph was not kept: JPEG, PNG or WebP, up to 12 MB.");
    } catch { tell("No connection: the photograph was not sent. Choose it again later."); }
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
