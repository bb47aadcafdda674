// What the bench page does beside its forms: keeps answers at once, shows what others changed, fills in what takes longer.
"use strict";

const main = () => document.getElementById("main");
const news = (text) => {
  const place = document.getElementById("news");
  place.textContent = text;
  place.hidden = !text;
};

// --- a form whose answers are kept as soon as a field is left -------------------------------------------------------

let queue = Promise.resolve();

// One after the other, so that each goes out with what the one before it left; a button holds the page until it is answered.
function send(form, by) {
  if (by) main().inert = true;
  queue = queue.then(() => sendNow(form, by, "")).finally(() => { main().inert = false; });
}

function answersOf(form, by, field) {
  if (!field || form.getAttribute("action") !== "/set") return new URLSearchParams(new FormData(form, by || undefined));
  const own = [...form.querySelectorAll("input[type=hidden]"), field];
  return new URLSearchParams(own.map((one) => [one.name, one.value]));
}

async function sendNow(form, by, changed) {
  let field = changed && form.querySelector(`#${CSS.escape(changed)}`);
  const fresh = changed && document.getElementById(changed);
  if (field && fresh && fresh !== field) {  // the page was shown anew since: the same field of it
    fresh.value = field.value;
    [field, form] = [fresh, fresh.form];
  }
  let answer;
  try {
    const address = by?.getAttribute("formaction") || form.getAttribute("action");
    answer = await fetch(address, {method: "POST", body: answersOf(form, by?.name ? by : null, field)});
    const from = location.pathname;
    show(await answer.text(), answer.url, by ? form : null);
    if (answer.redirected && location.pathname !== from) {  // on to another page
      scrollTo(0, 0);
      main().focus({preventScroll: true});
    }
  } catch {
    news("The bench page does not answer. Start it again; what you typed is still here.");
  }
}

const usual = (field) => field.matches("select")
  ? ([...field.options].find((one) => one.defaultSelected) || field.options[0])?.value : field.defaultValue;

// What was typed and not sent yet, by the field's address.
function typedSoFar(sent) {
  const fields = [...main().querySelectorAll("input:not([type=hidden]), textarea, select")];
  const open = fields.filter((one) => one.id && one.form !== sent && one.value !== usual(one) && one.value !== one.dataset.sent);
  return open.map((one) => [one.id, usual(one), one.value]);
}

function show(text, address, sent) {
  const fresh = new DOMParser().parseFromString(text, "text/html");
  if (!fresh.getElementById("main")) {
    news(fresh.body.textContent.trim());
    return;
  }
  const at = document.activeElement;
  const marks = at?.matches("input, textarea") ? [at.selectionStart, at.selectionEnd] : null;
  const typed = typedSoFar(sent);
  const open = [...document.querySelectorAll("details[open][id]")].map((one) => one.id);
  for (const own of ["header", "main"]) document.querySelector(own).replaceWith(fresh.querySelector(own));
  document.body.dataset.revisions = fresh.body.dataset.revisions;
  document.title = fresh.title;
  for (const one of open) document.getElementById(one)?.setAttribute("open", "");
  if (new URL(address).pathname !== "/set") history.replaceState(null, "", address);
  for (const [id, before, value] of typed) {
    const field = document.getElementById(id);
    if (field && usual(field) === before) field.value = value;
  }
  const back = at?.id && document.getElementById(at.id);
  if (back) {
    back.focus();
    if (marks && marks[0] !== null) back.setSelectionRange?.(...marks);
  }
  news("");
  prepare();
}

// A field that was shown anew while it was typed into tells of no change when it is left.
document.addEventListener("focusout", (event) => {
  const field = event.target;
  const form = field.closest?.("form[data-live]");
  if (!form || !field.matches("input:not([type=hidden]):not([type=checkbox]):not([type=radio]), textarea")) return;
  if (field.value !== field.defaultValue && field.dataset.sent !== field.value) sendField(form, field);
});
function sendField(form, field) {
  field.dataset.sent = field.value;
  queue = queue.then(() => sendNow(form, null, field.id));
}
document.addEventListener("change", (event) => {
  const form = event.target.closest("form[data-live]");
  if (!form) return;
  if (event.target.id) sendField(form, event.target);
  else send(form);
});
document.addEventListener("click", (event) => {
  const button = event.target.closest("button[data-fill]");
  if (!button) return;
  const place = document.getElementById(button.dataset.fill);
  place.dataset.load = button.dataset.from;
  load(place);
});
// Enter keeps what was typed; by itself the browser would press the form's first button, which may take a row away
document.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || !event.target.matches("form[data-live] input")) return;
  event.preventDefault();
  event.target.dispatchEvent(new Event("change", {bubbles: true}));
});
document.addEventListener("submit", (event) => {
  if (event.target.matches("form[data-quiet]")) {
    event.preventDefault();
    fetch(event.target.action, {method: "POST", body: new URLSearchParams(new FormData(event.target))});
    return;
  }
  if (!event.target.matches("form[data-live], form[data-sent]")) return;
  event.preventDefault();
  send(event.target, event.submitter);
});

// --- cells of a spreadsheet pasted into a table ---------------------------------------------------------------------

document.addEventListener("paste", (event) => {
  const cell = event.target.closest?.("table[data-paste] td");
  const text = event.clipboardData?.getData("text/plain").replace(/\r/g, "").replace(/\n$/, "");
  if (!cell || !text || !/[\t\n]/.test(text)) return;
  event.preventDefault();
  const rows = [...cell.closest("tbody").rows];
  const from = [rows.indexOf(cell.parentElement), cell.cellIndex];
  const lines = text.split("\n").map((line) => line.split("\t"));
  const lacking = from[0] + lines.length - rows.length;
  lines.slice(0, lines.length - Math.max(0, lacking)).forEach((cells, k) => cells.forEach((value, j) => {
    const field = rows[from[0] + k].cells[from[1] + j]?.querySelector("input, select");
    if (field) field.value = value.trim();
  }));
  const form = cell.closest("form");
  if (lacking > 0) news(`${lacking} more rows do not fit: add rows first, or use “Paste rows from a spreadsheet” below the table.`);
  send(form);
});

// --- pieces of the page that take longer ----------------------------------------------------------------------------

async function load(place) {
  place.setAttribute("aria-busy", "true");
  try {
    const answer = await fetch(place.dataset.load);
    place.innerHTML = await answer.text();
  } catch {
    place.textContent = "The bench page does not answer.";
  }
  place.removeAttribute("aria-busy");
  place.classList.remove("waiting");
  for (const one of place.querySelectorAll("[data-keep], .count button")) {  // ticks are entered in the tally
    one.replaceWith(one.type === "number" ? one.value : "");
  }
  prepare(place);
}

function prepare(within = document) {
  for (const place of within.querySelectorAll("[data-load]:not([data-begun])")) {
    place.dataset.begun = "";
    load(place);
  }
  document.dispatchEvent(new CustomEvent("bench:shown", {detail: within}));
}

// --- what happens meanwhile: files changed by others, work that goes on ---------------------------------------------

function listen() {
  const events = new EventSource("/events");
  let wait = 0;
  events.addEventListener("files", (event) => {  // the newest of them, once what this window sent itself is answered
    clearTimeout(wait);
    wait = setTimeout(() => { queue = queue.then(() => changedBy(JSON.parse(event.data))); }, 700);
  });
  events.addEventListener("work", (event) => {
    const stage = JSON.parse(event.data);
    for (const place of document.querySelectorAll("[data-progress]")) {
      place.hidden = !stage.what;
      const bar = place.querySelector("progress");
      place.querySelector("output").textContent = stage.what ? `${stage.what}: ${stage.done} of ${stage.of}` : "";
      if (stage.of) [bar.value, bar.max] = [stage.done, stage.of];
    }
  });
}

function changedBy(now) {
  const seen = JSON.parse(document.body.dataset.revisions || "{}");
  const changed = Object.keys(seen).filter((name) => now[name] !== undefined && now[name] !== seen[name]);
  if (!changed.length) return;
  const busy = document.activeElement?.matches("input, textarea, select") && main().contains(document.activeElement);
  const said = `${changed.join(", ")} was changed outside this window.`;
  if (busy) {
    news(`${said} It is shown as soon as you leave the field; nothing of it is lost.`);
    document.activeElement.addEventListener("blur", () => setTimeout(() => refresh(said), 300), {once: true});
  } else refresh(said);
}

async function refresh(said) {
  if (main().contains(document.activeElement) && document.activeElement.matches("input, textarea, select")) return;
  const answer = await fetch(location.href);
  show(await answer.text(), answer.url);
  news(said);
}

document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
  if (document.activeElement?.matches("input, textarea")) return;
  event.preventDefault();
  document.querySelector(`form[action="${event.shiftKey ? "/redo" : "/undo"}"] button:not(:disabled)`)?.click();
});

prepare();
listen();
