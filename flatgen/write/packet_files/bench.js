// Ticks and counts, kept in this browser under the digest of the inputs: a job that has changed starts afresh.
"use strict";
const bench = JSON.parse(document.getElementById("bench").textContent);
const key = "flatgen-bench-" + bench.digest, says = document.getElementById("kept");
const fields = [...document.querySelectorAll("[data-keep]")];
let kept = {};

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
    else field.value = Number.isFinite(value) ? value : 0;
  }
}

function note(field) {
  if (field.type === "checkbox") {
    kept[field.dataset.keep] = field.checked;
  } else {
    const most = Number(field.max), count = Math.max(0, Math.min(most, Math.round(Number(field.value) || 0)));
    field.value = count;
    kept[field.dataset.keep] = count;
  }
  keep();
}

for (const field of fields) field.addEventListener("change", () => note(field));
for (const button of document.querySelectorAll("[data-step]")) {
  button.addEventListener("click", () => {
    const field = button.parentElement.querySelector("input");
    field.value = Number(field.value) + Number(button.dataset.step);
    note(field);
  });
}
document.getElementById("export").addEventListener("click", () => {
  const rows = fields.map((field) => ({
    key: field.dataset.keep,
    what: field.getAttribute("aria-label") || field.parentElement.textContent.trim(),
    where: (field.closest("article") || document.body).querySelector("h3, h2").textContent,
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
// on paper every cut is shown
window.addEventListener("beforeprint", () => {
  for (const folded of document.querySelectorAll("details")) folded.open = true;
});
recall();
show();
