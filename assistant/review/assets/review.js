// Keys and focus on the foreman's pages. Everything works without it: each act is a form, each order an address.
"use strict";

const SINGLE_KEYS = "layup-single-keys";
const ROWS = "article.row, .jobs a"; // entries of a job, or the list's jobs
const rows = () => [...document.querySelectorAll(ROWS)];
const here = () => document.activeElement?.closest?.(ROWS) ?? null;
const typing = (element) => element?.closest?.("input, select, textarea, [contenteditable]") !== null;
const keysOn = () => localStorage.getItem(SINGLE_KEYS) !== "off";

function told(text) {
  document.getElementById("told").textContent = text;
}

function goTo(row) {
  if (!row) return false;
  told("");
  row.focus({ preventScroll: true });
  row.scrollIntoView({ block: "nearest" });
  return true;
}

const whatIsOpen = () => document.getElementById("open")?.textContent.trim().replace(/\s+/g, " ");

// The open row after (or before) this one; at the end of the page the next page is opened, where there is one and anything of
// the job is open still.
function goOpen(from, step) {
  const all = rows();
  const start = from ? all.indexOf(from) : step > 0 ? -1 : all.length;
  for (let i = start + step; i >= 0 && i < all.length; i += step) {
    if ("open" in all[i].dataset) return goTo(all[i]);
  }
  const left = document.getElementById("open")?.dataset.left;
  const address = left !== "0" && document.querySelector(step > 0 ? 'a[rel="next"]' : 'a[rel="prev"]')?.href;
  if (address) {
    location.assign(address + (step > 0 ? "#first-open" : "#last-open"));
  } else {
    told(whatIsOpen() || "No other one is open.");
  }
  return false;
}

function goStep(from, step) {
  const all = rows();
  return goTo(from ? all[all.indexOf(from) + step] : all[step > 0 ? 0 : all.length - 1]);
}

function play(row) {
  const sound = row?.querySelector("audio");
  if (!sound) return told("There is no sound here.");
  for (const other of document.querySelectorAll("audio")) if (other !== sound) other.pause();
  if (sound.paused) {
    sound.currentTime = 0;
    sound.play().catch(() => told("The sound cannot be played: it may have been forgotten."));
  } else {
    sound.pause();
  }
}

function openForm(row, key) {
  const details = row?.querySelector(`details[data-key-open="${key}"]`);
  if (!details) return told("That cannot be done here.");
  details.open = true;
  const day = details.querySelector("input[type=date]");
  if (day && !day.value) day.value = today();
  details.querySelector("input:not([type=hidden]), textarea, select")?.focus();
}

// This machine's own day: a customer's answer was given where the foreman sits.
function today() {
  const now = new Date();
  return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((n) => String(n).padStart(2, "0")).join("-");
}

function keep(row) {
  if (row?.querySelector(".htmx-request")) return; // something was done to it, and the answer is on its way
  const button = row?.querySelector("[data-keep] button");
  if (button) button.click();
  else told("There is nothing open to keep here.");
}

function sign() {
  const link = document.querySelector('a[data-key="s"]');
  if (link) link.click();
  else told(whatIsOpen() || "It cannot be signed here.");
}

const ACTS = {
  n: (row) => goOpen(row, 1),
  b: (row) => goOpen(row, -1),
  ArrowDown: (row) => goStep(row, 1),
  ArrowUp: (row) => goStep(row, -1),
  p: play,
  k: keep,
  a: (row) => openForm(row, "a"),
  q: (row) => openForm(row, "q"),
  d: (row) => openForm(row, "d"),
  w: (row) => openForm(row, "w"),
  j: () => openForm(document, "j"),
  s: sign,
  "?": () => document.getElementById("keys-shown")?.click(),
};
const LIST_ACTS = {
  n: ACTS.n,
  b: ACTS.b,
  ArrowDown: ACTS.ArrowDown,
  ArrowUp: ACTS.ArrowUp,
  "/": () => document.getElementById("q")?.focus(),
  "?": ACTS["?"],
};

// What the keys do on this page: on a job's, on the list of jobs, on others nothing.
function acts() {
  if (document.querySelector("ol.rows")) return ACTS;
  return document.getElementById("found") ? LIST_ACTS : {};
}

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  if (event.key === "Escape") {
    const open = document.activeElement?.closest?.("details[open]");
    const row = here();
    if (open) open.open = false;
    if (row) goTo(row);
    else open?.querySelector("summary").focus();
    return;
  }
  const act = acts()[event.key];
  if (!act || typing(document.activeElement) || !keysOn()) return;
  if (event.key.startsWith("Arrow") && !here()) return; // before a row is chosen the arrows scroll, as everywhere
  event.preventDefault();
  if (event.repeat && !event.key.startsWith("Arrow")) return; // a key held down acts once: nobody looked at what comes next
  act(here());
});

// A refused act is told beside its row; what was typed stays.
document.addEventListener("htmx:configRequest", (event) => {
  if (event.detail.verb !== "get") event.detail.headers.Accept = "application/json";
});
document.addEventListener("htmx:responseError", (event) => {
  const place = event.target.closest("article.row")?.querySelector(".problem");
  let text = "It was refused.";
  try {
    const answer = JSON.parse(event.detail.xhr.responseText);
    text = answer.problem + (answer.do && !answer.problem.endsWith(".") ? ": " : " ") + answer.do;
  } catch {
    text = `It was refused (${event.detail.xhr.status}). Open the page again.`;
  }
  if (place) {
    place.textContent = text;
    place.hidden = false;
    place.scrollIntoView({ block: "nearest" });
  } else {
    told(text);
  }
});
document.addEventListener("htmx:sendError", () => told("The pages cannot be reached: nothing was changed. Is layup review still running?"));

// After an act the focus stays with its row; after *keep* it goes on to the next open one. Who has gone elsewhere before the
// answer came, to another row or into a field, is left there.
let kept = false;
let goneOn = false;
document.addEventListener("htmx:beforeRequest", (event) => {
  kept = event.target.matches?.("[data-keep]") ?? false;
});
document.addEventListener("htmx:beforeSwap", (event) => {
  const at = document.activeElement;
  goneOn = at !== null && at !== document.body && !event.detail.target.contains(at);
});
document.addEventListener("htmx:afterSettle", (event) => {
  const row = event.target.matches?.("article.row") ? document.getElementById(event.target.id) : null;
  if (!row || event.detail.requestConfig?.verb === "get" || goneOn) return;
  goTo(row);
  if (kept) {
    kept = false;
    goOpen(row, 1);
  }
});

document.addEventListener("DOMContentLoaded", () => {
  const shown = document.getElementById("keys-shown");
  const list = document.getElementById("keys");
  shown?.addEventListener("click", () => {
    list.hidden = !list.hidden;
    shown.setAttribute("aria-expanded", String(!list.hidden));
  });
  const on = document.getElementById("keys-on");
  if (on) {
    on.checked = keysOn();
    on.addEventListener("change", () => localStorage.setItem(SINGLE_KEYS, on.checked ? "on" : "off"));
  }
  for (const details of document.querySelectorAll("details.act")) {
    details.addEventListener("toggle", () => {
      const day = details.querySelector("input[type=date]");
      if (details.open && day && !day.value) day.value = today();
    });
  }
  if (location.hash === "#first-open") goOpen(null, 1);
  else if (location.hash === "#last-open") goOpen(null, -1);
  else if (/^#e\d+$/.test(location.hash)) goTo(document.getElementById(location.hash.slice(1)));
});
