// Ticks, counts and measured values, kept in this browser by what they are of (part, bend, cut): a reprint finds them again.
"use strict";
const bench = JSON.parse(document.getElementById("bench").textContent);
const key = "flatgen-bench-" + bench.job, says = document.getElementById("kept");
const fields = [];
let kept = {};

function take(place) {
  for (const field of place.querySelectorAll("[data-keep]:not([data-known])")) {
    field.dataset.known = "";
    field.addEventListener("change", () => note(field));
    fields.push(field);
  }
  for (const button of place.querySelectorAll("[data-step]:not([data-known])")) {
    button.dataset.known = "";
    button.addEventListener("click", () => {
      const field = button.parentElement.querySelector("input");
      field.value = Number(field.value) + Number(button.dataset.step);
      note(field);
    });
  }
}

function recall() {
  try {
    const value = JSON.parse(localStorage.getItem(key) || "{}");
    kept = value && typeof value === "object" ? value : {};
  } catch (error) {
    kept = {};
    says.textContent = "This browser does not keep ticks for this page; save them to a file before you close it.";
  }
}

function keep() {
  try {
    localStorage.setItem(key, JSON.stringify(kept));
  } catch (error) {
    says.textContent = "This browser does not keep ticks for this page; save them to a file before you close it.";
  }
}

function show() {
  for (const field of fields) {
    const value = kept[field.dataset.keep];
    if (field.type === "checkbox") field.checked = value === true;
    else if (field.type === "number") field.value = Math.max(Number(field.min), Number.isFinite(value) ? value : 0);
    else field.value = typeof value === "string" ? value : "";
  }
  tally();
}

// how far each station is: boxes ticked and pieces counted of all
function tally() {
  for (const place of document.querySelectorAll("[data-done]")) {
    const own = fields.filter((field) => field.type !== "text" && field.dataset.keep.startsWith(place.dataset.done));
    const done = own.reduce((sum, field) => sum + (field.type === "checkbox" ? Number(field.checked) : Number(field.value)), 0);
    place.textContent = done;
    document.querySelector(`[data-bar="${place.dataset.done}"]`).value = done;
  }
}

function note(field) {
  if (field.type === "checkbox") {
    kept[field.dataset.keep] = field.checked;
  } else if (field.type === "text") {
    kept[field.dataset.keep] = field.value;
  } else {
    const count = Math.max(Number(field.min), Math.min(Number(field.max), Math.round(Number(field.value) || 0)));
    field.value = count;
    kept[field.dataset.keep] = count;
  }
  tally();
  keep();
}

take(document);
document.getElementById("export").addEventListener("click", () => {
  const rows = fields.filter((field) => field.type !== "text").map((field) => ({
    key: field.dataset.keep,
    what: field.getAttribute("aria-label") || field.parentElement.textContent.trim(),
    where: (field.closest("details, section") || document.body).querySelector("summary, h2").textContent.trim(),
    value: field.type === "checkbox" ? field.checked : Number(field.value),
  }));
  const text = JSON.stringify({ job: bench.job, digest: bench.digest, saved: new Date().toISOString(), entries: rows }, null, 1);
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  link.download = "bench-" + bench.digest.slice(0, 8) + ".json";
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  says.textContent = "Saved " + link.download + ".";
});
document.getElementById("clear").addEventListener("click", () => {
  if (!confirm("Clear every tick and count of this job in this browser?")) return;
  kept = {};
  keep();
  show();
  says.textContent = "All ticks are cleared.";
});
window.addEventListener("storage", (event) => {
  if (event.key === key) { recall(); show(); }
});
// what differs from what was last printed, by the words of each part, setting and sheet
const printed = key + "-printed";
const subjects = [...document.querySelectorAll("#parts .tile, #settings > details, #sheets > details[id]")].map((place) => {
  const summary = place.querySelector("summary");
  let sum = 5381;
  for (const letter of place.textContent) sum = ((sum * 33) ^ letter.codePointAt(0)) >>> 0;
  return { summary, name: summary.querySelector("strong").textContent, sum };
});
function compare() {
  let before = null;
  try { before = JSON.parse(localStorage.getItem(printed)); } catch (error) { /* nothing is known of a print then */ }
  for (const { summary, name, sum } of subjects) {
    const mark = summary.querySelector(".reprint");
    if (mark) mark.remove();
    if (!before || before[name] === sum) continue;
    const text = document.createElement("strong");
    text.className = "reprint";
    text.textContent = " changed: print it again";
    summary.append(text);
  }
}
function remember() {
  try {
    localStorage.setItem(printed, JSON.stringify(Object.fromEntries(subjects.map(({ name, sum }) => [name, sum]))));
    says.textContent = "What changes from now on is marked.";
  } catch (error) {
    says.textContent = "This browser does not keep what was printed.";
  }
  compare();
}
document.getElementById("printed").addEventListener("click", remember);
window.addEventListener("afterprint", remember);
compare();
// in a job of many parts, cards are made when they are opened
const FOLDED = "script[type='text/html']";
function opened(place) {
  for (const card of place.querySelectorAll(FOLDED)) {
    card.insertAdjacentHTML("beforebegin", card.textContent);
    card.remove();
  }
  take(place);
  show();
}
document.addEventListener("toggle", (event) => {
  if (event.target.querySelector(FOLDED)) opened(event.target);
}, true);
// a link to what is folded opens it
function unfold() {
  const name = location.hash.length > 1 && decodeURIComponent(location.hash.slice(1));
  const holds = (card) => card.textContent.includes(`id="${name}"`);
  const card = name && !document.getElementById(name) && [...document.querySelectorAll(FOLDED)].find(holds);
  if (card) opened(card.parentElement);
  const there = name && document.getElementById(name);
  for (let at = there; at; at = at.parentElement) if (at.tagName === "DETAILS") at.open = true;
  if (there) there.scrollIntoView();
}
window.addEventListener("hashchange", unfold);
unfold();
// on paper every cut is shown
window.addEventListener("beforeprint", () => {
  opened(document);
  for (const folded of document.querySelectorAll("details:not(.aside)")) folded.open = true;
});
recall();
show();
