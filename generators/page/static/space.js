// The space's own form: built anew when its shape changes, filled otherwise.
import { cornersOf, isBox, isRound } from "/bench.js";
import { make } from "/forms.js";
import { $, fields, set, space, state } from "/link.js";

let shape = "";
export const forgetShape = () => { shape = ""; };
export const spaceForm = () => {
  const given = space(), keep = given.keep_out ?? [];
  const kind = given.file ? `file ${/\.(dxf|svg)$/i.test(given.file)}` : given.outline_mm ? `outline ${given.outline_mm.length}` : "box";
  const now = `${kind} ${keep.map((one) => (isRound(one) ? "round" : isBox(one) ? "box" : "file")).join(" ")}`;
  if (now !== shape) {
    shape = now;
    fields.rows = fields.rows.filter((row) => row.field.path[0] !== "space");
    $("space-form").replaceChildren(...shapeFields(given), ...openSides(), ...keep.flatMap(bodyFields));
  }
};
const number = (path, label, help = "", unit = "mm") => fields.row({ path: ["space", ...path], label, unit, kind: "number", help });
const shapeFields = (given) => {
  if (typeof state.values.space === "string") return [make("p", {}, `The space is in the file ${state.values.space}: change it there.`)];
  if (given.file) {
    const rows = [make("p", {}, "From the file ", make("b", {}, given.file), ".")];
    if (/\.(dxf|svg)$/i.test(given.file)) rows.push(number(["height_mm"], "height", "Height of the space over the outline."));
    else rows.push(fields.row({ path: ["space", "is"], label: "the body is", unit: "", kind: "choice", choices: ["room", "surroundings"], help: "room: the free space itself. surroundings: the parts round it that the pack must stay out of." }));
    rows.push(fields.row({ path: ["space", "units"], label: "unit of the file", unit: "", kind: "choice", choices: ["mm", "cm", "m", "in"], help: "Left empty: mm where the file has none of its own." }));
    const button = make("button", {}, "Draw a box instead");
    button.onclick = () => set([[["space"], { box_mm: [300, 220, 110] }]]);
    return [...rows, make("div", { class: "line" }, button)];
  }
  if (given.outline_mm) {
    const rows = cornersOf(given).map((_, k) => make("div", { class: "two" }, number(["outline_mm", k, 0], `corner ${k + 1}, x`), number(["outline_mm", k, 1], `corner ${k + 1}, y`)));
    const box = make("details", {}, make("summary", {}, `corners as numbers (${rows.length})`), ...rows);
    return [number(["height_mm"], "height", "Height of the space over the outline, which lies at z = 0."), box];
  }
  return [make("div", { class: "three" }, number(["box_mm", 0], "length, x"), number(["box_mm", 1], "width, y"), number(["box_mm", 2], "height, z"))];
};
const SIDES = { "+x": "right", "-x": "left", "+y": "back", "-y": "front", "+z": "top", "-z": "bottom" };
const openSides = () => {
  const boxes = Object.entries(SIDES).map(([side, word]) => {
    const box = make("input", { type: "checkbox", checked: (space().open_sides ?? []).includes(side) });
    box.onchange = () => {
      const there = new Set(space().open_sides ?? []);
      if (box.checked) there.add(side); else there.delete(side);
      set([[["space", "open_sides"], there.size ? Object.keys(SIDES).filter((one) => there.has(one)) : null]]);
    };
    box.dataset.side = side;
    return make("label", { class: "tick" }, box, ` ${word} (${side})`);
  });
  return [make("fieldset", {}, make("legend", {}, "Sides that are open to the air"), make("p", { class: "help" }, "Gas that a venting cell gives off must get out through one of them."), ...boxes)];
};
const bodyFields = (body, k) => {
  const at = ["keep_out", k];
  const rows = [fields.row({ path: ["space", ...at, "name"], label: "name", unit: "", kind: "text", help: "" })];
  if (isRound(body)) {
    rows.push(number([...at, "cylinder", "radius_mm"], "radius"));
    for (const [end, word] of [["from_mm", "from"], ["to_mm", "to"]]) ["x", "y", "z"].forEach((axis, i) => rows.push(number([...at, "cylinder", end, i], `${word} ${axis}`)));
  } else if (isBox(body)) {
    for (const [end, word] of [[0, "one corner"], [1, "the other"]]) ["x", "y", "z"].forEach((axis, i) => rows.push(number([...at, "box_mm", end, i], `${word}, ${axis}`)));
  }
  const button = make("button", {}, "Delete this body");
  button.onclick = () => set([[["space", ...at], null]]);
  return [make("details", {}, make("summary", {}, `body: ${body.name ?? k + 1}`), make("div", { class: "two" }, ...rows), make("div", { class: "line" }, button))];
};
