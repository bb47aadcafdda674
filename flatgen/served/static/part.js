// A part's page: what comes of the fields at every key, the newest alone; holes by pointing; the longer answer when kept.
"use strict";
(function () {
let trying = null; // "running", then "again" when something was typed meanwhile
let lateFor = 0;
let pointed = false; // whether a face was chosen for holes or a flange
let picked = []; // where, which face and which edge

const byId = (id) => document.getElementById(id);
const sentenceOf = (field) => byId(field.getAttribute("aria-describedby"));

async function asked(form, address) {
  const answer = await fetch(address, {method: "POST", body: new URLSearchParams(new FormData(form))});
  return answer.status === 200 ? answer.json() : null;
}

async function tryNow(form) {
  if (trying) { trying = "again"; return; }
  trying = "running";
  const began = performance.now();
  try {
    const told = await asked(form, form.dataset.try);
    if (told && trying === "running") showPart(form, told);
  } catch { /* the page says so when the field is left */ }
  form.dataset.took = Math.round(performance.now() - began);
  const again = trying === "again";
  trying = null;
  if (again) tryNow(form);
}

// what was opened or typed at a finding stays as long as the finding does
function showFound(markup) {
  const found = byId("found");
  const open = [...found.querySelectorAll("details[open]")].map((one) => one.id);
  const typed = [...found.querySelectorAll("input[id]")].map((one) => [one.id, one.value]);
  const at = found.contains(document.activeElement) && document.activeElement.id;
  found.innerHTML = markup;
  for (const id of open) byId(id)?.setAttribute("open", "");
  for (const [id, value] of typed) if (byId(id)) byId(id).value = value;
  if (at) byId(at)?.focus();
}

function showPart(form, told) {
  for (const field of form.querySelectorAll("[aria-describedby]")) {
    const sentence = told.sentences?.[field.name] || "";
    const place = sentenceOf(field);
    if (!place) continue;
    place.textContent = sentence;
    place.hidden = !sentence;
    field.toggleAttribute("aria-invalid", Boolean(sentence));
    if (sentence) field.setAttribute("aria-invalid", "true");
  }
  const whole = told.sentences?.[""] || "";
  byId("wrong").textContent = whole;
  byId("wrong").hidden = !whole;
  if (!told.flat) return;
  byId("pictures").hidden = false;
  byId("flat").innerHTML = told.flat;
  if (told.sections !== undefined) byId("sections").innerHTML = told.sections;
  if (told.found !== undefined) showFound(told.found);
  ways();
  if (told.shape) document.querySelector(".formed").dispatchEvent(new CustomEvent("shape", {detail: told.shape}));
}

// what the brake says, then the cures: of the part as it is kept, so long as nothing else is
async function late(form) {
  const own = ++lateFor;
  for (const address of [form.dataset.brake, form.dataset.cures]) {
    const told = await asked(form, address).catch(() => null);
    if (own !== lateFor || !told || !form.isConnected) return;
    if (told.flat) byId("flat").innerHTML = told.flat;
    showFound(told.found);
    if (told.brake !== undefined) byId("brake").textContent = told.brake;
    ways();
  }
  form.dataset.answered = String(own);
}

// typed and put back as it was: nothing is kept anew, so the longer answer is asked for here
document.addEventListener("focusout", (event) => {
  const form = event.target.closest("form[data-try]") && byId("describe");
  if (form) setTimeout(() => form.isConnected && form.dataset.answered !== String(lateFor) && late(form), 600);
});

// an angle told the other way follows the one that is typed, as long as it is a plain number
function otherAngle(field) {
  const name = field.name.startsWith("between ") ? field.name.slice(8) : `between ${field.name}`;
  const other = field.form.elements[name];
  if (other && /^\s*\d+(\.\d*)?\s*°?\s*$/.test(field.value)) other.value = String(+(180 - parseFloat(field.value)).toFixed(4));
}

document.addEventListener("input", (event) => {
  if (event.target.id === "turn" || event.target.id === "tilt") {
    const side = {turn: (byId("turn").value * Math.PI) / 180, tilt: (byId("tilt").value * Math.PI) / 180};
    document.querySelector(".formed").dispatchEvent(new CustomEvent("side", {detail: side}));
    return;
  }
  const form = event.target.closest("form[data-try]");
  if (!form) return;
  otherAngle(event.target);
  lateFor++; // what is asked of the part as it was is of no use any more
  tryNow(form);
});

// --- holes: the face and edge pointed at are those of the lists ---------------------------------------------------

const EDGES = {free: "free, away from its bend", bend: "bend, along its bend", low: "low end", high: "high end"};

function edges(keep) {
  const lists = JSON.parse(byId("face").dataset.edges);
  const list = byId("edge");
  const none = [...list.options].filter((option) => !option.value);
  list.replaceChildren(...none, ...(lists[byId("face").value] || []).map((name) => new Option(EDGES[name] || name, name)));
  if (keep) list.value = keep;
  ways();
}

function ways() {
  if (!byId("face")) return;
  if (pointed) picked = [location.pathname, byId("face").value, byId("edge").value];
  const along = Boolean(byId("edge").value);
  for (const place of document.querySelectorAll(".by-edge")) place.hidden = !along;
  for (const place of document.querySelectorAll(".by-place")) place.hidden = along;
  for (const target of document.querySelectorAll(".targets path")) {
    const own = target.dataset.face === byId("face").value;
    const picked = own && (target.dataset.edge || "") === byId("edge").value;
    target.classList.toggle("picked", pointed && picked);
  }
}

document.addEventListener("change", (event) => {
  if (event.target.id === "face" || event.target.id === "edge") pointed = true;
  if (event.target.id === "face") edges();
  if (event.target.id === "edge") ways();
});
document.addEventListener("click", (event) => {
  const target = event.target.closest(".targets path");
  if (!target) return;
  if (!byId("face")) return;
  pointed = true;
  byId("face").value = target.dataset.face;
  edges(target.dataset.edge);
  byId("size").focus();
});

const typedIn = (form) => [...form.querySelectorAll("input[id]")].some((field) => field.value !== field.defaultValue);

// --- each time that the page is shown ------------------------------------------------------------------------------

function begin() {
  const form = byId("describe");
  if (!form || form.dataset.begun) return;
  form.dataset.begun = "1";
  const shape = JSON.parse(byId("shape").textContent);
  if (shape) document.dispatchEvent(new CustomEvent("formed", {detail: [shape]}));
  document.querySelector(".turning").hidden = !shape;
  const [where, face, edge] = picked;
  pointed = where === location.pathname && [...(byId("face")?.options || [])].some((option) => option.value === face);
  if (pointed) byId("face").value = face;
  if (byId("face")?.options.length) edges(pointed ? edge : byId("edge").value);
  if (typedIn(form)) tryNow(form);
  late(form);
}
document.addEventListener("bench:shown", begin);
begin();
})();
