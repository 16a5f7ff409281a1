// The plan of the space: what moves is drawn here at once, gaps come from the server.
const SVG = "http://www.w3.org/2000/svg";
const MARGIN = 18, BETWEEN = 44, SNAP = 1;

const el = (name, attributes = {}, text) => {
  const one = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) one.setAttribute(key, value);
  if (text !== undefined) one.textContent = text;
  return one;
};
const f = (value) => +value.toFixed(2);
const path = (rings) => rings.map((ring) => `M${ring.map(([x, y]) => `${f(x)} ${f(-y)}`).join("L")}Z`).join("");
const isNumber = (value) => typeof value === "number" && Number.isFinite(value);
const isPoint = (value) => Array.isArray(value) && value.length === 2 && value.every(isNumber);

// corners of a space that can be dragged; none for files and broken values
export const cornersOf = (space) => {
  if (Array.isArray(space?.box_mm) && space.box_mm.length === 3 && space.box_mm.every(isNumber)) {
    const [a, b] = space.box_mm;
    return [[0, 0], [a, 0], [a, b], [0, b]];
  }
  const ring = space?.outline_mm;
  return Array.isArray(ring) && ring.length <= 200 && ring.every(isPoint) ? ring : [];
};

export const isRound = (body) => isPoint(body?.cylinder?.from_mm?.slice?.(0, 2)) && isPoint(body?.cylinder?.to_mm?.slice?.(0, 2));
export const isBox = (body) => Array.isArray(body?.box_mm) && body.box_mm.length === 2;

const shifted = (point, dx, dy) => [f(point[0] + dx), f(point[1] + dy), ...point.slice(2)];
const bodyMoved = (body, dx, dy) => {
  if (isRound(body)) {
    const { from_mm, to_mm } = body.cylinder;
    return { ...body, cylinder: { ...body.cylinder, from_mm: shifted(from_mm, dx, dy), to_mm: shifted(to_mm, dx, dy) } };
  }
  return isBox(body) ? { ...body, box_mm: body.box_mm.map((point) => shifted(point, dx, dy)) } : body;
};

// the space's values with one thing moved, and the edits that say so
export const moved = (space, what, dx, dy) => {
  const [kind, text] = what.split(":");
  const k = Number(text);
  if (kind === "keep") {
    const body = bodyMoved(space.keep_out[k], dx, dy);
    const keep_out = space.keep_out.map((one, i) => (i === k ? body : one));
    const edits = isRound(body)
      ? ["from_mm", "to_mm"].map((key) => [["space", "keep_out", k, "cylinder", key], body.cylinder[key]])
      : [[["space", "keep_out", k, "box_mm"], body.box_mm]];
    return { space: { ...space, keep_out }, edits };
  }
  if (space.box_mm) {
    const [a, b, c] = space.box_mm;
    const wide = Math.max(20, f(a + (k === 1 || k === 2 ? dx : -dx)));
    const deep = Math.max(20, f(b + (k >= 2 ? dy : -dy)));
    const edits = [[["space", "box_mm", 0], wide], [["space", "box_mm", 1], deep]];
    // the box keeps its corner at the origin, so what lies in it is moved instead
    const [sx, sy] = [k === 0 || k === 3 ? wide - a : 0, k < 2 ? deep - b : 0];
    const keep_out = (space.keep_out ?? []).map((one) => bodyMoved(one, sx, sy));
    if (sx || sy) keep_out.forEach((one, i) => edits.push([["space", "keep_out", i], one]));
    return { space: { ...space, box_mm: [wide, deep, c], ...(keep_out.length ? { keep_out } : {}) }, edits };
  }
  const point = shifted(space.outline_mm[k], dx, dy);
  const outline_mm = space.outline_mm.map((one, i) => (i === k ? point : one));
  return { space: { ...space, outline_mm }, edits: [[["space", "outline_mm", k], point]] };
};

export class Bench {
  // ``moves``(space) while something is dragged, ``sets``(edits) when it is let go
  constructor(svg, { moves, sets, chooses }) {
    Object.assign(this, { svg, moves, sets, chooses, chosen: null, drag: null, scene: {} });
    svg.addEventListener("pointerdown", (event) => this.begin(event));
    svg.addEventListener("pointermove", (event) => this.follow(event));
    svg.addEventListener("pointerup", (event) => this.end(event, true));
    svg.addEventListener("pointercancel", (event) => this.end(event, false));
    svg.addEventListener("keydown", (event) => this.key(event));
    svg.addEventListener("focusin", (event) => this.choose(event.target.closest?.("[data-drag]")?.dataset.drag ?? null));
  }

  choose(what) {
    if (what === null || what === this.chosen) return;
    this.chosen = what;
    for (const one of this.svg.querySelectorAll("[data-drag]")) one.classList.toggle("chosen", one.dataset.drag === what);
    this.chooses(what);
  }

  at(event) {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return [point.x, -point.y];
  }

  begin(event) {
    const group = event.target.closest("[data-drag]");
    if (!group) return;
    event.preventDefault();
    this.svg.setPointerCapture(event.pointerId);
    this.drag = { what: group.dataset.drag, from: this.at(event), by: [0, 0], space: this.scene.space };
    group.focus();
  }

  follow(event) {
    if (!this.drag) return;
    const [x, y] = this.at(event);
    const by = [x - this.drag.from[0], y - this.drag.from[1]].map((one) => Math.round(one / SNAP) * SNAP);
    if (by[0] === this.drag.by[0] && by[1] === this.drag.by[1]) return;
    this.drag.by = by;
    const { space } = moved(this.drag.space, this.drag.what, ...by);
    this.draw({ ...this.scene, space, rough: true }, this.view);
    this.moves(space);
  }

  end(event, keeps) {
    if (!this.drag) return;
    const { what, by, space } = this.drag;
    this.drag = null;
    if (keeps && (by[0] || by[1])) this.sets(moved(space, what, ...by).edits);
    else this.draw(this.scene);
  }

  key(event) {
    const what = event.target.closest?.("[data-drag]")?.dataset.drag;
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (!what || !step) return;
    event.preventDefault();
    const far = event.shiftKey ? 10 : 1;
    const { space, edits } = moved(this.scene.space, what, step[0] * far, step[1] * far);
    this.draw({ ...this.scene, space, rough: true });
    this.sets(edits);
  }

  stand(stands) {
    if (!stands || !this.pack) return;
    this.pack.setAttribute("transform", `translate(${f(stands.shift[0])} ${f(-stands.shift[1])}) rotate(${f(-stands.angle)})`);
    this.pack.classList.toggle("stuck", stands.gap === null && !this.scene.outside?.fixed);
  }

  // scene: space (values), drawn (of the server), cells, outside, stands, rough (still being moved)
  draw(scene, view) {
    this.scene = scene;
    const { svg } = this;
    const focused = document.activeElement?.closest?.("#bench [data-drag]")?.dataset.drag;
    const corners = cornersOf(scene.space);
    const free = scene.rough && corners.length ? [corners] : scene.drawn?.free?.length ? scene.drawn.free : corners.length ? [corners] : [];
    const outside = scene.outside?.rings ?? [];
    const points = free.length ? free.flat() : (scene.cells?.cells ?? [[0, 0], [200, 150]]);
    const xs = points.map((p) => p[0]), ys = points.map((p) => p[1]);
    const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
    const tall = scene.drawn?.height ?? 0;
    const size = Math.max(x1 - x0 + BETWEEN + tall, y1 - y0) / 300;
    // words stay legible on a narrow screen: about 11 px high
    const narrow = ((x1 - x0 + BETWEEN + tall) * 1.15) / Math.max(200, svg.clientWidth);
    const unit = Math.max(0.45, size, 1.6 * narrow), m = MARGIN * unit, side = x1 + BETWEEN * unit;
    this.view = view ?? [x0 - m, -y1 - m, side - x0 + tall + 2 * m, y1 - y0 + 2.4 * m];
    svg.setAttribute("viewBox", this.view.map(f).join(" "));
    const hatch = el("pattern", { id: "hatch", width: 5 * unit, height: 5 * unit, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" });
    hatch.append(el("path", { d: `M0 0V${5 * unit}`, class: "hatch", "stroke-width": unit }));
    const defs = el("defs");
    defs.append(hatch);
    const parts = [defs];
    if (free.length) parts.push(el("path", { class: "free", d: path(free) }));
    parts.push(...this.lengths(corners, unit));
    this.pack = this.packDrawn(scene, outside, [(x0 + x1) / 2, (y0 + y1) / 2]);
    parts.push(this.pack, ...this.bodies(scene, unit));
    corners.forEach(([x, y], k) => parts.push(this.corner(x, y, k, unit)));
    if (tall) parts.push(...this.heights(scene, side, [y0, y1], tall, unit));
    const bar = Math.max(10, 10 ** Math.floor(Math.log10((x1 - x0) / 2 || 10)));
    const low = -y0 + m * 0.95;
    parts.push(el("path", { class: "ruler", d: `M${f(x0)} ${f(low - 2 * unit)}v${2 * unit}h${bar}v${-2 * unit}` }));
    parts.push(el("text", { class: "dim", x: f(x0 + bar + 14 * unit), y: f(low), "font-size": 6.5 * unit }, `${bar} mm`));
    svg.replaceChildren(...parts);
    this.stand(scene.stands);
    if (focused) svg.querySelector(`[data-drag="${focused}"]`)?.focus({ preventScroll: true });
  }

  lengths(corners, unit) {
    return corners.map(([x, y], k) => {
      const [u, v] = corners[(k + 1) % corners.length];
      const long = Math.hypot(u - x, v - y) || 1;
      const turns = corners.reduce((sum, [a, b], i) => { const [c, d] = corners[(i + 1) % corners.length]; return sum + a * d - c * b; }, 0);
      const out = (turns >= 0 ? 7 : -7) * unit;
      const [nx, ny] = [((v - y) / long) * out, (-(u - x) / long) * out];
      return el("text", { class: "dim", x: f((x + u) / 2 + nx), y: f(-((y + v) / 2 + ny) + 2.3 * unit), "font-size": 6.5 * unit }, `${f(+long.toFixed(1))}`);
    });
  }

  packDrawn(scene, outside, middle) {
    const group = el("g", { class: scene.stale ? "pack stale" : "pack" });
    if (outside.length) group.append(el("path", { class: "outside", d: path(outside) }));
    const { cells = [], diameter = 20 } = scene.cells ?? {};
    const r = diameter / 2, turn = scene.stands?.angle ?? 0;
    for (const [x, y, number, up] of cells) {
      group.append(el("circle", { class: "cell", cx: x, cy: f(-y), r: f(r) }));
      if (up) group.append(el("circle", { class: "ring", cx: x, cy: f(-y), r: f(r * 0.82) }));
      group.append(el("text", { x, y: f(-y + r * 0.26), "font-size": f(r * 0.7), transform: `rotate(${f(turn)} ${x} ${f(-y)})` }, `${up ? "+" : "\u2212"}${number}`));
    }
    if (!scene.stands) group.setAttribute("transform", `translate(${f(middle[0])} ${f(-middle[1])})`);
    return group;
  }

  bodies(scene, unit) {
    const given = scene.space?.keep_out ?? [];
    return (scene.drawn?.bodies ?? []).map((body, k) => {
      const from = scene.bodiesOf?.keep_out?.[k], to = given[k];
      const group = el("g", { class: "keep" });
      const base = (one) => (isRound(one) ? one.cylinder.from_mm : isBox(one) ? one.box_mm[0] : null);
      if (base(to)) Object.entries({ "data-drag": `keep:${k}`, tabindex: 0, role: "button", "aria-label": `body ${body.name}, arrow keys move it` }).forEach((pair) => group.setAttribute(...pair));
      if (base(to) && base(from)) group.setAttribute("transform", `translate(${f(base(to)[0] - base(from)[0])} ${f(base(from)[1] - base(to)[1])})`);
      group.append(el("path", { d: path(body.rings), "fill-rule": "evenodd" }));
      const all = body.rings.flat();
      if (all.length) {
        const mean = (i) => all.reduce((sum, p) => sum + p[i], 0) / all.length;
        group.append(el("text", { x: f(mean(0)), y: f(-mean(1) + 2 * unit), "font-size": 6.5 * unit }, body.name));
      }
      if (`keep:${k}` === this.chosen) group.classList.add("chosen");
      return group;
    });
  }

  corner(x, y, k, unit) {
    const group = el("g", { class: "corner", "data-drag": `corner:${k}`, tabindex: 0, role: "button", "aria-label": `corner ${k + 1} at ${f(x)}, ${f(y)} mm, arrow keys move it` });
    group.append(el("circle", { class: "grab", cx: x, cy: -y, r: 9 * unit }));
    group.append(el("rect", { x: f(x - 2.6 * unit), y: f(-y - 2.6 * unit), width: 5.2 * unit, height: 5.2 * unit }));
    if (`corner:${k}` === this.chosen) group.classList.add("chosen");
    return group;
  }

  // the space from its right-hand side at the same scale: its height lies across
  heights(scene, side, [y0, y1], tall, unit) {
    const parts = [el("rect", { class: "height", x: f(side), y: f(-y1), width: f(tall), height: f(y1 - y0) })];
    const { outside, stands, drawn } = scene;
    if (outside?.tall && stands) {
      const turn = (stands.angle * Math.PI) / 180;
      const ys = outside.rings.flat().map(([x, y]) => x * Math.sin(turn) + y * Math.cos(turn) + stands.shift[1]);
      const [low, high] = [Math.min(...ys), Math.max(...ys)];
      parts.push(el("rect", { class: "outside", x: f(side + stands.z - drawn.low), y: f(-high), width: f(outside.tall), height: f(high - low) }));
    }
    for (const body of drawn.bodies ?? []) {
      const ys = body.rings.flat().map((p) => p[1]);
      if (!ys.length || scene.rough) continue;
      const group = el("g", { class: "keep" });
      const [z0, z1] = body.z.map((z) => Math.min(Math.max(z - drawn.low, 0), tall));
      const [a, b] = [Math.max(Math.min(...ys), y0), Math.min(Math.max(...ys), y1)];
      if (b > a && z1 > z0) group.append(el("path", { d: path([[[side + z0, a], [side + z1, a], [side + z1, b], [side + z0, b]]]) }));
      parts.push(group);
    }
    const word = outside?.tall ? `height ${f(tall)}, pack ${outside.tall.toFixed(0)}` : `height ${f(tall)}`;
    parts.push(el("text", { class: "dim", x: f(side + tall / 2), y: f(-y1 - 4 * unit), "font-size": 6.5 * unit }, word));
    parts.push(el("text", { class: "dim", x: f(side + tall / 2), y: f(-y0 + 9 * unit), "font-size": 6.5 * unit }, "floor at the left"));
    return parts;
  }
}
