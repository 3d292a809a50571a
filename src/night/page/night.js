"use strict";
// Sorts and filters the contact sheet. Without it all pictures stand in the order of time.
(() => {
  const sheet = document.querySelector(".sheet");
  const form = document.querySelector(".sort");
  if (!sheet || !form) return;
  const entries = [...sheet.children];
  const count = form.querySelector("output");
  const value = (entry, key) => entry.dataset[key] ?? "";
  const number = (entry, key) => (value(entry, key) === "" ? Infinity : Number(value(entry, key)));
  const known = (entry) => (value(entry, "resolution") === "" ? 0 : 1);
  const orders = {
    time: () => 0,
    name: (a, b) => value(a, "name").localeCompare(value(b, "name")),
    // Of one unit each: "arcsec" comes before "px".
    resolution: (a, b) => known(b) - known(a) || value(a, "unit").localeCompare(value(b, "unit")) ||
      number(a, "resolution") - number(b, "resolution"),
    kept: (a, b) => number(b, "kept") - number(a, "kept"),
    air: (a, b) => number(a, "air") - number(b, "air"),
  };
  const matches = (entry) => {
    const wanted = form.elements.words.value.toLowerCase().split(/\s+/).filter(Boolean);
    const text = value(entry, "words").toLowerCase();
    const group = form.elements.group.value;
    return wanted.every((word) => text.includes(word)) &&
      (group === "" || value(entry, "group") === group);
  };
  const show = () => {
    const order = orders[form.elements.order.value];
    const sorted = entries.slice().sort(order);
    let seen = 0;
    for (const entry of sorted) {
      entry.hidden = !matches(entry);
      if (!entry.hidden) ++seen;
      sheet.append(entry);
    }
    count.value = `${seen} of ${entries.length} shown`;
  };
  form.addEventListener("input", show);
  form.addEventListener("submit", (event) => event.preventDefault());
  show();
})();
