(() => {
  "use strict";
  const all = (query) => [...document.querySelectorAll(query)];
  // a browser may refuse to keep anything for a local file: the sheet works without
  const store = (() => {
    try {
      localStorage.getItem("");
      return localStorage;
    } catch {
      return { getItem: () => null, setItem: () => {}, removeItem: () => {} };
    }
  })();
  const boxes = all("input[type=checkbox][data-keep]");
  const done = document.getElementById("done");
  const name = (input) => `build-sheet ${input.dataset.keep}`;
  const count = () => {
    if (done) done.textContent = `${boxes.filter((box) => box.checked).length} of ${boxes.length} steps done`;
  };
  const keep = (input) => {
    const value = input.type === "checkbox" ? (input.checked ? "1" : "") : input.value;
    try {
      if (value) store.setItem(name(input), value);
      else store.removeItem(name(input));
    } catch {
      document.body.dataset.full = "1";
    }
    count();
  };
  for (const input of all("[data-keep]")) {
    const value = store.getItem(name(input));
    if (input.type === "checkbox") input.checked = value === "1";
    else input.value = value ?? "";
    input.addEventListener("input", () => keep(input));
  }
  document.getElementById("untick")?.addEventListener("click", () => {
    for (const box of boxes) {
      box.checked = false;
      keep(box);
    }
  });
  count();
})();
