"use strict";
(() => {
  // Ticks, readings and notes: kept under the hash of the values, where the browser lets a page keep anything.
  const shelf = "nutgen " + document.body.dataset.hash;
  const kept = [...document.querySelectorAll("[data-keep]")];
  const stages = kept.filter((field) => "stage" in field.dataset);
  const written = document.querySelector(".written");

  const recall = () => {
    try {
      return JSON.parse(localStorage.getItem(shelf)) || {};
    } catch {
      return {};
    }
  };
  const keep = () => {
    const values = {};
    for (const field of kept) {
      const value = field.type === "checkbox" ? field.checked : field.value;
      if (value) values[field.dataset.keep] = value;
    }
    try {
      localStorage.setItem(shelf, JSON.stringify(values));
    } catch {
      // a page opened from a disk may not be allowed to keep anything
    }
  };
  const show = (values) => {
    for (const field of kept) {
      const value = values[field.dataset.keep];
      if (field.type === "checkbox") field.checked = value === true;
      else field.value = typeof value === "string" ? value : "";
    }
    tell();
  };
  const tell = () => {
    const done = stages.filter((field) => field.checked).length;
    document.getElementById("done").textContent = `${done} of ${stages.length} stages done`;
    written.textContent = document.getElementById("writing").value;
  };

  show(recall());
  document.addEventListener("input", (event) => {
    if (!("keep" in event.target.dataset)) return;
    keep();
    tell();
  });
  // The sheet open in a second tab, or a store that comes later than the page: neither may write over the other.
  addEventListener("storage", (event) => event.key === shelf && show(recall()));
  document.getElementById("afresh").addEventListener("click", () => {
    if (!confirm("Clear every tick, reading and note on this sheet?")) return;
    show({});
    keep();
  });
})();
