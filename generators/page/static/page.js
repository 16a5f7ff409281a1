import { Bench, cornersOf, isBox, isRound, moved } from "/bench.js";
import { Fields, make, numberOf, valueAt } from "/forms.js";

const $ = (id) => document.getElementById(id);
const ESSENTIAL = {
  name: "name of the pack", "cell.format": "size of the cell", "cell.chemistry": "chemistry",
  "cell.capacity_ah": "capacity of a cell", "cell.continuous_a": "current of a cell",
  "cell.internal_resistance_mohm": "resistance of a cell", "cell.mass_g": "mass of a cell",
  series: "groups in series", parallel: "cells in parallel", lattice: "lattice",
  "leads.side": "leads leave at", "load.continuous_a": "current of the machine",
  "bms.board_mm": "protection board",
};
const KEPT = "cellstead work";
const state = { sheet: null, key: null, values: {}, number: 0, answers: {}, socket: null };
const space = () => state.values.space ?? {};

// --- asking the server

const send = (what) => {
  if (state.socket?.readyState === WebSocket.OPEN) state.socket.send(JSON.stringify(what));
  else say("The page has lost its server: start cellstead page again, then load this page anew.");
};
const set = (edits) => send({ do: "set", edits });
const fields = new Fields(set);
let saying;
const say = (text) => {
  $("said").textContent = text;
  $("said").hidden = !text;
  clearTimeout(saying);
  saying = setTimeout(() => { $("said").hidden = true; }, 9000);
};
const post = async (address, body) => {
  const answer = await fetch(address, { method: "POST", body });
  const what = await answer.json();
  if (!answer.ok) throw new Error(what.text);
  return what;
};
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
  socket.onclose = () => { if (socket === state.socket && $("start").hidden) say("The connection to the server has ended: start cellstead page again, then load this page anew."); };
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

// --- verdict

const share = (row) => {
  if (row.used === null) return "";
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  const wide = Math.min(row.used * 100, 125);
  svg.setAttribute("viewBox", "0 0 125 10");
  svg.setAttribute("preserveAspectRatio", "none");
  svg.setAttribute("class", "share");
  svg.setAttribute("aria-hidden", "true");
  for (const [name, kind, values] of [["rect", "track", { y: 1, width: 125, height: 8 }], ["rect", row.used > 1 ? "over" : "used", { y: 1, width: wide, height: 8 }], ["path", "mark", { d: "M100 0V10" }]]) {
    const one = document.createElementNS(svg.namespaceURI, name);
    one.setAttribute("class", kind);
    for (const [key, value] of Object.entries(values)) one.setAttribute(key, value);
    svg.append(one);
  }
  return svg;
};
const verdict = (title, kind) => {
  $("says").textContent = title;
  $("verdict").className = `verdict ${kind}`;
};
const failedRow = (row) => {
  const item = make("li", {}, make("b", {}, row.about), row.figures ? `: ${row.figures}` : "", row.where ? ` (${row.where})` : "");
  if (row.remedy) item.append(`. ${row.remedy[0].toUpperCase()}${row.remedy.slice(1)}. `);
  if (row.remedy?.endsWith("(tried: it then holds)")) {
    const button = make("button", {}, "Use this");
    button.onclick = () => send({ do: "fix", remedy: row.remedy });
    item.append(button);
  }
  return item;
};
const tellChecks = ({ count, failed, nearest, looking, cautions, notes }) => {
  if (failed.length) verdict(`${failed.length} of ${count} checks ${failed.length === 1 ? "fails" : "fail"}`, "fails");
  else verdict(`Holds so far: all ${count} checks of the plan`, "holds");
  $("limits").replaceChildren(make("ul", {}, ...nearest.map((row) => make("li", {}, share(row), make("b", {}, row.used === null ? "" : `${Math.floor(row.used * 100)} %`), `${row.about}: ${row.figures}`))));
  $("failed").replaceChildren(...failed.map(failedRow));
  if (looking) $("failed").append(make("li", {}, "Fixes are being tried…"));
  $("cautions").replaceChildren(...cautions.map((one) => make("li", {}, one)));
  $("notes").replaceChildren(...notes.map((one) => make("li", {}, one)));
  $("notes-box").hidden = notes.length === 0;
};
const tellFaults = () => {
  const faults = [...(state.answers.space_faults?.faults ?? []), ...(state.answers.faults?.faults ?? [])];
  const unique = [...new Map(faults.map((one) => [`${one.field}${one.why}`, one])).values()];
  const lacking = unique.length > 0 && unique.every((one) => ["cell", "cell.format", "series", "parallel"].includes(one.field) && one.why.startsWith("is missing"));
  fields.faults(lacking ? [] : unique);
  if (!unique.length) return;
  $("limits").replaceChildren();
  if (lacking) {
    verdict("Next: what must the battery do?", "");
    const button = make("button", { class: "main" }, "Go to step 3");
    button.onclick = () => { $("s3").scrollIntoView({ block: "center" }); $("volts").focus(); };
    $("failed").replaceChildren(make("li", {}, "Make the space as large as yours, then give the volts in step 3 and take a pack that fits. Or set the cell, series and parallel in step 4 yourself. ", button));
    $("facts").textContent = "";
    return;
  }
  verdict("Can't be planned as it is", "fails");
  $("failed").replaceChildren(...unique.slice(0, 8).map((one) => make("li", {}, make("b", {}, one.field), `: ${one.why}${one.value ? ` (${one.value})` : ""}; ${one.remedy}`)));
  if (state.answers.cells) $("failed").append(make("li", {}, "The plan shown is the last one that could be made."));
};

// --- the space's own form: built anew when its shape changes, filled otherwise

let shape = "";
const spaceForm = () => {
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
    if (other) { state.answers = {}; state.stands = null; shape = ""; bench.chosen = null; for (const id of ["rows", "most", "result", "limits", "failed", "cautions", "notes"]) $(id).replaceChildren(); $("faces").hidden = true; }
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

const tellMost = () => {
  const volts = numberOf($("volts").value);
  const of = (row) => {
    if (row.too_low) return "the space is too low";
    const series = Math.max(1, Math.round((typeof volts === "number" ? volts : 36) / 3.6));
    return row.count < series ? "too few for the volts" : `${series}S${Math.floor(row.count / series)}P`;
  };
  const head = make("tr", {}, ...["size", "cells", `as, at ${typeof volts === "number" ? volts : 36} V`].map((one, k) => make("th", { class: k === 1 ? "n" : "", scope: "col" }, one)));
  $("most").replaceChildren(make("table", {}, head, ...(state.most ?? []).map((row) => make("tr", {}, make("td", {}, `${row.format} (${row.diameter_mm} x ${row.length_mm} mm)`), make("td", { class: "n" }, row.too_low ? "0" : String(row.count)), make("td", {}, of(row))))));
};

const searched = (told) => {
  const runs = told.state === "runs";
  $("stop").hidden = !runs;
  $("search-bar").hidden = !runs;
  if (runs) { $("search-bar").value = told.share; $("searching").textContent = `${told.stage}…`; return; }
  if (told.state === "broke") { $("searching").textContent = told.text; return; }
  if (told.state === "early") { $("stop").hidden = false; $("search-bar").hidden = false; listRows(told.rows, true); return; }
  if (told.state !== "found") { if ($("searching").textContent.endsWith("…")) $("searching").textContent = ""; return; }
  const n = told.nearest;
  const none = n ? `Nothing fits. Nearest: ${n.pack}${n.gap > -200 ? `, ${(-n.gap).toFixed(0)} mm too large` : ""}. ${told.advice}` : `Nothing fits. ${told.advice || "No cell gives these volts: change them, or the cell."}`;
  $("searching").textContent = told.rows.length ? `${told.looked} packs looked at, ${told.planned} planned. ${told.assumed}` : none;
  listRows(told.rows, false);
  document.body.dataset.rows = told.rows.length;
};
const listRows = (rows, early) => {
  $("rows").replaceChildren(...rows.map((row, k) => {
    const form = { tub: "in a tub", fitted: "in a fitted enclosure", none: "cells alone, no enclosure" }[row.form];
    const gap = row.gap === null ? "by estimate, not planned" : `${row.gap} mm to spare`;
    const fails = early ? "; not checked yet" : row.failed.length ? `; ${row.failed.length} checks fail` : "";
    const button = make("button", { class: "pick" }, make("b", {}, `${row.name}, ${form}`), make("span", {}, `${row.volts} V, ${row.wh} Wh, ${row.amps} A, ${row.kg} kg; ${gap}${fails}`), make("span", { class: "why" }, row.reasons.join("; ")));
    button.onclick = () => { send({ do: "take", row: k }); $("verdict").scrollIntoView({ block: "start" }); };
    return button;
  }));
};

const size = (bytes) => (bytes < 1e6 ? `${Math.ceil(bytes / 1000)} kB` : `${(bytes / 1e6).toFixed(1)} MB`);
const making = (told) => {
  const runs = told.state === "runs";
  $("make").disabled = runs;
  $("cancel").hidden = !runs;
  $("make-bar").hidden = !runs;
  document.body.dataset.make = told.state;
  if (runs) { $("make-bar").value = told.share; $("making").textContent = `${told.stage}, ${told.took} s`; return; }
  if (told.state === "cancelled") { $("making").textContent = "Cancelled; the last good result is kept."; return; }
  if (told.state === "ended") { $("making").textContent = "Stopped without a result; the last good one is kept."; return; }
  if (told.state === "broke") { $("making").textContent = told.text ?? told.faults.map((one) => `${one.field}: ${one.why}; ${one.remedy}`).join(" "); return; }
  $("making").textContent = `Made in ${told.took} s in the folder ${told.folder}. ${told.failed.length ? `${told.failed.length} checks fail: see the report.` : "Everything holds."} ${told.printing}`;
  showResult(told);
};
const showResult = async ({ folder, failed }) => {
  const base = `/made/${encodeURIComponent(folder)}`;
  const { files } = await (await fetch(`/results/${encodeURIComponent(folder)}`)).json();
  const link = (name, words = name) => make("a", { href: `${base}/${name.split("/").map(encodeURIComponent).join("/")}`, target: "_blank", rel: "noopener" }, words);
  const pictures = files.filter(({ name }) => /^pictures\/.*\.png$/.test(name));
  const groups = Map.groupBy ? Map.groupBy(files, ({ name }) => (name.includes("/") ? name.split("/")[0] : "")) : new Map([["", files]]);
  $("result").replaceChildren(
    make("div", { class: "line" }, make("a", { class: "button", href: `${base}/report.html`, target: "_blank", rel: "noopener" }, "Open the report"), make("a", { class: "button", href: `${base}.zip`, download: "" }, "All files as one zip")),
    make("ol", {}, ...failed.map(failedRow)),
    make("div", { class: "pictures" }, ...pictures.map(({ name }) => make("img", { src: `${base}/${name}`, alt: name.includes("exploded") ? "The pack pulled apart" : "The pack cut open" }))),
    ...[...groups].map(([name, rows]) => make("details", {}, make("summary", {}, `${name || "report and lists"} (${rows.length} files)`), make("ul", { class: "plain" }, ...rows.map((row) => make("li", {}, link(row.name, row.name.slice(name ? name.length + 1 : 0)), ` ${size(row.bytes)}`))))),
  );
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
    set([[["space", "box_mm"], null], [["space", "outline_mm"], null], [["space", "holes_mm"], null], [["space", "file"], name], [["space", "height_mm"], flat ? height : null]]);
  } catch (error) { say(error.message); }
};
$("as-corners").onclick = () => {
  const [ring] = state.answers.space.free;
  set([[["space", "file"], null], [["space", "units"], null], [["space", "outline_mm"], ring], [["space", "height_mm"], state.answers.space.height]]);
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
  set([[["space", "box_mm"], null], [["space", "outline_mm"], outline], [["space", "height_mm"], height]]);
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
