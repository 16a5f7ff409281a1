// Fields of the pack file: one row each with its help; a fault stands under the field it names.
export const make = (name, attributes = {}, ...inside) => {
  const one = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key in one && key !== "list" && typeof value !== "string") one[key] = value;
    else one.setAttribute(key, value);
  }
  one.append(...inside);
  return one;
};
export const valueAt = (values, path) => path.reduce((at, key) => (at === null || at === undefined ? undefined : at[key]), values);
const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);

// "" deletes the key; what is no number stays as written, so that its fault is told
export const numberOf = (text) => {
  const plain = text.trim().replace(/^(-?\d+),(\d+)$/, "$1.$2");
  if (plain === "") return null;
  return Number.isFinite(Number(plain)) ? Number(plain) : text.trim();
};
const listOf = (text) => {
  if (text.trim() === "") return null;
  try { return JSON.parse(text); } catch { return text.trim(); }
};
const shown = (value) => (value === undefined || value === null ? "" : typeof value === "object" ? JSON.stringify(value) : String(value));

let last = 0;

export class Fields {
  constructor(sets) {
    this.sets = sets;
    this.rows = [];
    this.waiting = new Map();
  }

  // one field; the same key may stand in several places
  row(field) {
    const id = `field-${(last += 1)}`;
    const input = this.input(field, id);
    const fault = make("p", { class: "fault", id: `${id}-fault`, hidden: true });
    const help = make("p", { class: "help", id: `${id}-help` }, field.help);
    input.setAttribute("aria-describedby", `${id}-help ${id}-fault`);
    const label = make("label", { for: id }, field.label, make("span", { class: "unit" }, field.unit));
    const box = make("div", { class: "field" }, label, input, fault, help);
    this.rows.push({ field, input, fault, key: field.path.join(".") });
    return box;
  }

  input(field, id) {
    const options = field.kind === "flag" ? ["true", "false"] : field.choices;
    if (options) {
      const words = field.default === undefined ? "as by default" : `${field.default} (default)`;
      const select = make("select", { id }, make("option", { value: "" }, words));
      for (const one of options) select.append(make("option", { value: one }, field.kind === "flag" ? { true: "yes", false: "no" }[one] : one));
      const read = () => (select.value === "" ? null : field.kind === "flag" ? select.value === "true" : select.value);
      select.addEventListener("change", () => this.sets([[field.path, read()]]));
      return select;
    }
    const input = make("input", { id, autocomplete: "off", spellcheck: "false", placeholder: shown(field.default) });
    if (field.kind === "number") input.setAttribute("inputmode", "decimal");
    if (field.suggested) {
      const list = make("datalist", { id: `${id}-list` }, ...field.suggested.map((one) => make("option", { value: one })));
      input.setAttribute("list", `${id}-list`);
      queueMicrotask(() => input.after(list));
    }
    const read = { number: numberOf, values: listOf }[field.kind] ?? ((text) => (text.trim() === "" ? null : text.trim()));
    input.addEventListener("input", () => this.later(field.path, () => read(input.value)));
    input.addEventListener("change", () => this.now());
    return input;
  }

  later(path, read) {
    const key = path.join(".");
    clearTimeout(this.waiting.get(key)?.timer);
    this.waiting.set(key, { path, read, timer: setTimeout(() => this.now(), 25) });
  }

  now() {
    const edits = [...this.waiting.values()].map(({ path, read, timer }) => (clearTimeout(timer), [path, read()]));
    this.waiting.clear();
    if (edits.length) this.sets(edits);
  }

  fill(values) {
    for (const { field, input } of this.rows) {
      const value = valueAt(values, field.path);
      const read = { number: numberOf, values: listOf }[field.kind];
      if (read && input.value !== "" && same(read(input.value), value)) continue; // as it was typed
      if (this.waiting.has(field.path.join("."))) continue;
      if (document.activeElement !== input || !same(shown(value), input.value)) input.value = shown(value);
    }
  }

  faults(faults) {
    const left = [];
    const told = new Map(faults.map((one) => [one.field.split(" entry ")[0], one]));
    const seen = new Set();
    for (const { key, input, fault } of this.rows) {
      const found = told.get(key);
      fault.hidden = !found;
      fault.textContent = found ? `${found.why}; ${found.remedy}` : "";
      input.setAttribute("aria-invalid", found ? "true" : "false");
      if (found) seen.add(found);
    }
    for (const one of faults) if (!seen.has(one)) left.push(one);
    return left;
  }
}
