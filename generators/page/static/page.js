import { Bench, cornersOf } from "/bench.js";
import { make, numberOf } from "/forms.js";
import { $, fields, post, say, send, set, space, state } from "/link.js";
import { forgetShape, spaceForm } from "/space.js";
import { tellChecks, tellFaults, verdict } from "/verdict.js";
import { making, searched, tellMost } from "/work.js";
const ESSENTIAL = {
  name: "name of the pack", "cell.format": "size of the cell", "cell.chemistry": "chemistry",
  "cell.capacity_ah": "capacity of a cell", "cell.continuous_a": "current of a cell",
  "cell.internal_resistance_mohm": "resistance of a cell", "cell.mass_g": "mass of a cell",
  series: "groups in series", parallel: "cells in parallel", lattice: "lattice",
  "leads.side": "leads leave at", "load.continuous_a": "current of the machine",
  "bms.board_mm": "protection board",
};
const KEPT = "cellstead work";

// --- sheets

const open = async (what) => {
  try {
    const { key } = await post("/sheets", JSON.stringify(what));
    location.hash = key;
  } catch (error) { say(error.message); }
};

const join = (key) => {
  state.socket?.close();
  state.key = key;
  const socket = (state.socket = new WebSocket(`ws://${location.host}/sheets/${key}`));
  socket.onmessage = ({ data }) => {
    const told = JSON.parse(data);
    if (socket === state.socket) hear[told.got]?.(told);
  };
  socket.onclose = () => { if (socket === state.socket && $("start").hidden) say("The connection to the server has ended: start cellstead page again, then reload this page."); };
};

// --- the plan, and gaps while something is dragged

let asked = null, next = null;
const moves = (values) => {
  next = values;
  if (asked === null) ask();
};
const ask = () => {
  if (next === null) return;
  asked = setTimeout(() => { asked = null; ask(); }, 700);
  send({ do: "move", number: state.number, space: next });
  next = null;
};
const bench = new Bench($("bench"), { moves, sets: set, chooses: () => tools() });
const redraw = () => {
  const { space: drawn, cells, outside } = state.answers;
  const current = outside?.number === state.number;
  const stands = current ? outside.stands : (state.stands ?? null);
  bench.draw({
    space: space(), bodiesOf: state.drawnValues, drawn, cells: current ? outside : (cells ?? outside), stands,
    outside: current ? outside : null, stale: Boolean(state.answers.faults),
  });
  tools();
};
const tools = () => {
  const corners = cornersOf(space());
  const kind = bench.chosen?.split(":")[0];
  $("remove-corner").disabled = !(kind === "corner" && corners.length > 3 && space().outline_mm);
  $("add-corner").disabled = corners.length === 0;
};
const gapWords = (stands, outside) => {
  if (!stands) return ["The space from above, its height beside it.", false];
  if (outside?.style === "none") return ["Cells stand in the outline of the space, without an enclosure.", false];
  const over = stands.over ?? 0;
  if (stands.gap !== null) {
    const above = over > 0 ? `, ${over} mm in height` : "";
    return [stands.gap === 0 && over >= 0 ? `Goes in with nothing to spare at the sides${above}` : `Goes in with ${stands.gap} mm to spare all round${above}`, false];
  }
  if (outside?.fixed) return ["Stands in the place it was planned for.", false];
  return [over < 0 ? `Too high by ${(-over).toFixed(1)} mm` : "Does not go in: shown in the middle of the space", true];
};
const tellGap = (stands) => {
  const [words, bad] = gapWords(stands, state.answers.outside);
  $("gap").textContent = words;
  $("gap").classList.toggle("no", bad);
};

// work that is not saved outlives the server: it is kept in this browser
const kept = () => {
  try { return JSON.parse(localStorage.getItem(KEPT)); } catch { return null; }
};
const keepWork = ({ text, saved }) => {
  try {
    if (!saved) localStorage.setItem(KEPT, JSON.stringify({ key: state.key, text }));
    else if (kept()?.key === state.key) localStorage.removeItem(KEPT);
  } catch { say("This browser keeps nothing: save before you close it."); }
};

// --- what the server tells

const hear = {
  gone: () => { state.key = null; history.replaceState(null, "", "/"); state.socket.close(); begin(); },
  sheet: (told) => {
    const other = state.sheet?.key !== state.key;
    if (other) { state.answers = {}; state.stands = null; forgetShape(); bench.chosen = null; for (const id of ["rows", "most", "result", "limits", "failed", "cautions", "notes"]) $(id).replaceChildren(); $("faces").hidden = true; }
    Object.assign(state, { sheet: { ...told, key: state.key }, values: told.values, number: told.number });
    $("start").hidden = true;
    $("work").hidden = false;
    $("file").textContent = `${told.file}${told.saved ? "" : ", not saved"}`;
    document.title = `${told.values.name ?? told.file} - Cellstead`;
    $("undo").disabled = !told.undo;
    $("redo").disabled = !told.redo;
    $("save").disabled = told.saved;
    $("download").hidden = false;
    $("download").href = `/sheets/${state.key}/text`;
    if (document.activeElement !== $("text")) $("text").value = told.text;
    $("verdict").classList.add("waits");
    keepWork(told);
    spaceForm();
    fields.fill(told.values);
    for (const box of document.querySelectorAll("[data-side]")) box.checked = (space().open_sides ?? []).includes(box.dataset.side);
    redraw();
  },
  space: (told) => {
    state.answers.space = told;
    delete state.answers.space_faults;
    state.drawnValues = space();
    const file = space().file ?? "";
    $("as-corners").hidden = !(told.is_prism && file && told.free?.length === 1);
    redraw();
    document.body.dataset.space = told.number;
  },
  space_faults: (told) => { state.answers.space_faults = told; tellFaults(); },
  cells: (told) => {
    state.answers.cells = told;
    delete state.answers.faults;
    fields.faults([]);
    if (state.answers.checks?.number !== told.number) {
      verdict("Being planned…", "waits");
      $("failed").replaceChildren();
    }
    const { facts: f } = told;
    $("facts").textContent = `${f.cells} cells ${f.format}, ${f.series}S${f.parallel}P: ${f.volts} V, ${f.wh} Wh, ${f.amps} A by the cells, cells ${f.kg} kg`;
    redraw();
    document.body.dataset.cells = told.number;
  },
  faces: (told) => {
    $("faces").hidden = false;
    for (const name of ["upper", "lower"]) $(name).src = `data:image/svg+xml,${encodeURIComponent(told[name])}`;
    document.body.dataset.faces = told.number;
  },
  outside: (told) => {
    state.answers.outside = told;
    state.stands = told.stands;
    redraw();
    tellGap(told.stands);
    document.body.dataset.outside = told.number;
  },
  gap: (told) => {
    clearTimeout(asked);
    asked = null;
    if (told.stands) {
      state.stands = told.stands;
      bench.scene.stands = told.stands;
      bench.stand(told.stands);
      tellGap(told.stands);
    }
    document.body.dataset.gaps = Number(document.body.dataset.gaps ?? 0) + 1;
    ask();
  },
  checks: (told) => {
    state.answers.checks = told;
    tellChecks(told);
    document.body.dataset.checks = told.number;
  },
  most: ({ rows, number: of }) => {
    state.most = rows;
    tellMost();
    document.body.dataset.most = of;
  },
  faults: (told) => { state.answers.faults = told; tellFaults(); redraw(); document.body.dataset.faults = told.number; },
  at: ({ text }) => { $("doing").textContent = text ? `${text}…` : ""; if (!text) $("verdict").classList.remove("waits"); },
  said: ({ text }) => say(text),
  trouble: ({ text }) => { $("doing").textContent = ""; say(text); },
  search: (told) => searched(told),
  make: (told) => making(told),
};

// --- buttons

$("undo").onclick = () => send({ do: "undo" });
$("redo").onclick = () => send({ do: "redo" });
$("save").onclick = () => send({ do: "save" });
$("open").onclick = () => { history.pushState(null, "", "/"); begin(); };
$("new").onclick = () => open({});
$("apply").onclick = () => send({ do: "write", text: $("text").value });
$("make").onclick = () => send({ do: "make" });
$("cancel").onclick = () => send({ do: "cancel" });
$("stop").onclick = () => send({ do: "stop" });
$("volts").oninput = tellMost;
$("wishes").onsubmit = (event) => {
  event.preventDefault();
  const given = Object.fromEntries(["volts", "wh", "amps"].map((id) => [id, numberOf($(id).value)]));
  const bad = Object.entries(given).find(([, value]) => value !== null && !(typeof value === "number" && value > 0));
  if (bad) { $("searching").textContent = `${{ volts: "volts", wh: "energy", amps: "current" }[bad[0]]}: give a number above 0, or leave it empty.`; $(bad[0]).focus(); return; }
  $("rows").replaceChildren();
  send({ do: "suggest", ...given });
};
$("restore").onclick = () => open({ text: kept().text });
$("other").onchange = async ({ target }) => {
  const file = target.files[0];
  if (file && file.size > 1_000_000) say("A pack file has at most 1 MB.");
  else if (file) open({ text: await file.text() });
  target.value = "";
};
$("import").onchange = async ({ target }) => {
  const file = target.files[0];
  target.value = "";
  if (!file) return;
  try {
    const { name } = await post(`/uploads?name=${encodeURIComponent(file.name)}`, file);
    const flat = /\.(dxf|svg)$/i.test(name);
    const given = space();
    const height = given.height_mm ?? given.box_mm?.[2] ?? 110;
    set([[["space", "file"], name], [["space", "height_mm"], flat ? height : null], ...["box_mm", "outline_mm", "holes_mm", "units"].map((key) => [["space", key], null])]);
  } catch (error) { say(error.message); }
};
$("as-corners").onclick = () => {
  const [ring] = state.answers.space.free;
  set([[["space", "outline_mm"], ring], [["space", "height_mm"], state.answers.space.height], [["space", "file"], null], [["space", "units"], null]]);
};
$("add-corner").onclick = () => {
  const ring = cornersOf(space());
  const long = (k) => Math.hypot(ring[k][0] - ring[(k + 1) % ring.length][0], ring[k][1] - ring[(k + 1) % ring.length][1]);
  const k = ring.map((_, i) => i).reduce((best, i) => (long(i) > long(best) + 1e-6 ? i : best), 0);
  const other = ring[(k + 1) % ring.length];
  const middle = [0, 1].map((i) => Math.round((ring[k][i] + other[i]) / 2));
  const outline = [...ring.slice(0, k + 1), middle, ...ring.slice(k + 1)];
  bench.chosen = `corner:${k + 1}`;
  const height = space().height_mm ?? space().box_mm?.[2] ?? 110;
  set([[["space", "outline_mm"], outline], [["space", "height_mm"], height], [["space", "box_mm"], null]]);
};
$("remove-corner").onclick = () => {
  const k = Number(bench.chosen.split(":")[1]);
  const outline = cornersOf(space()).filter((_, i) => i !== k);
  bench.chosen = null;
  set([[["space", "outline_mm"], outline]]);
};
const addBody = (kind) => {
  const ring = state.answers.space?.free?.[0] ?? cornersOf(space());
  if (!ring.length) { say("Draw the space first."); return; }
  const middle = [0, 1].map((i) => Math.round((Math.min(...ring.map((p) => p[i])) + Math.max(...ring.map((p) => p[i]))) / 2));
  const { keep_out = [] } = space();
  const names = keep_out.map((one) => one.name);
  let n = 1;
  while (names.includes(`${kind} ${n}`)) n += 1;
  const height = state.answers.space?.height ?? 100;
  // beside the ones that are there, so that none covers another
  const [x, y] = [middle[0] + 45 * ((keep_out.length + 1) % 3 - 1), middle[1] + 35 * (Math.floor(keep_out.length / 3) % 3 - 1)];
  const body = kind === "bolt"
    ? { name: `bolt ${n}`, cylinder: { from_mm: [x, y, 0], to_mm: [x, y, height], radius_mm: 9 } }
    : { name: `box ${n}`, box_mm: [[x - 20, y - 15, 0], [x + 20, y + 15, 30]] };
  bench.chosen = `keep:${keep_out.length}`;
  set([[["space", "keep_out", keep_out.length], body]]);
};
$("add-round").onclick = () => addBody("bolt");
$("add-box").onclick = () => addBody("box");
addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || /^(INPUT|TEXTAREA)$/.test(document.activeElement?.tagName)) return;
  const what = { z: event.shiftKey ? "redo" : "undo", y: "redo", s: "save" }[event.key.toLowerCase()];
  if (what && state.key) { event.preventDefault(); $(what).click(); }
});
addEventListener("hashchange", () => begin());

// --- start

const begin = async () => {
  const key = location.hash.slice(1);
  if (key && key === state.key && state.socket?.readyState === WebSocket.OPEN) return;
  const start = await (await fetch("/start")).json();
  if (!$("details").children.length) {
    const by = new Map();
    for (const section of start.sections) {
      $("details").append(make("details", {}, make("summary", {}, section.title), make("p", { class: "about" }, section.help), make("div", { class: "two" }, ...section.fields.map((one) => fields.row(one)))));
      for (const one of section.fields) by.set(one.path.join("."), one);
    }
    for (const [path, label] of Object.entries(ESSENTIAL)) $("pack-form").append(fields.row({ ...by.get(path), label }));
  }
  if (key) { join(key); return; }
  if (start.first && !state.key && !kept()) { await open({ file: start.first }); return; }
  state.socket?.close();
  state.key = null;
  state.sheet = null;
  $("start").hidden = false;
  $("work").hidden = true;
  $("file").textContent = "no pack is open";
  $("folder").textContent = start.folder;
  for (const id of ["undo", "redo", "save"]) $(id).disabled = true;
  $("download").hidden = true;
  const list = (id, names, what) => $(id).replaceChildren(...names.map((name) => {
    const button = make("button", {}, name);
    button.onclick = () => open({ [what]: name });
    return make("li", {}, button);
  }));
  list("files", start.files, "file");
  list("examples", start.examples, "example");
  $("kept").hidden = !kept();
  document.body.dataset.start = "1";
};
begin();
