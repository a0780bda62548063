// The bay screen follows its job. What it is told is set as text, never as markup.
"use strict";

const SILENT_MS = 25000; // two and a half beats of the server (BEAT_EVERY_S in bay.py)
const AGAIN_MS = 3000; // a refused stream is asked for again; a broken one the browser asks for again by itself
const GONE_MS = 8000; // how long an ended job stays on a screen that shows whatever job there is

const { job, chosen, running } = document.body.dataset;
const touch = document.getElementById("touch");
let source = null;
let heardAt = Date.now();

function say(text) {
  if (touch.textContent !== text) touch.textContent = text;
  touch.hidden = text === "";
  document.body.classList.toggle("old", text !== "");
}

function show(now) {
  for (const place of document.querySelectorAll("[data-text]")) place.textContent = now[place.dataset.text];
  for (const place of document.querySelectorAll("[data-lang]")) place.lang = now.lang || "en";
  document.querySelector("[data-speaking]").textContent = now.speaking ? "Saying" : "Said";
  const saying = document.querySelector(".saying");
  saying.classList.toggle("long", now.long);
  saying.classList.toggle("speaking", now.speaking);
  const verdict = document.querySelector(".verdict");
  verdict.hidden = now.shape === "";
  verdict.classList.toggle("broken", now.broken);
  verdict.querySelector("use").setAttribute("href", `#shape-${now.shape || "dash"}`);
}

function lost() {
  const at = new Date(heardAt).toLocaleTimeString([], { hour12: false });
  say(`Lost touch at ${at}. Trying again.`);
}

function away(event) {
  heardAt = Date.now();
  say(JSON.parse(event.data));
  if (chosen === "no") setTimeout(() => location.reload(), GONE_MS);
}

function follow() {
  if (source) source.close();
  source = new EventSource(job ? `/bay/events?job=${encodeURIComponent(job)}` : "/bay/events");
  source.addEventListener("beat", () => { heardAt = Date.now(); });
  source.addEventListener("away", away);
  source.addEventListener("board", (event) => {
    heardAt = Date.now();
    say("");
    show(JSON.parse(event.data));
  });
  source.addEventListener("jobs", (event) => {
    heardAt = Date.now();
    say("");
    const same = JSON.parse(event.data).join("\n") === JSON.parse(running).join("\n");
    if (!same) location.reload();
  });
  source.addEventListener("error", () => {
    lost();
    if (source.readyState === EventSource.CLOSED) setTimeout(follow, AGAIN_MS);
  });
}

setInterval(() => {
  if (Date.now() - heardAt > SILENT_MS) {
    lost();
    follow();
  }
}, 5000);
follow();
