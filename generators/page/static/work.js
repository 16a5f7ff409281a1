// What takes long: packs that fit, and making; and what goes in at most.
import { make, numberOf } from "/forms.js";
import { $, send, state } from "/link.js";
import { failedRow } from "/verdict.js";

export const tellMost = () => {
  const volts = numberOf($("volts").value);
  const of = (row) => {
    if (row.too_low) return "the space is too low";
    const series = Math.max(1, Math.round((typeof volts === "number" ? volts : 36) / 3.6));
    return row.count < series ? "too few for the volts" : `${series}S${Math.floor(row.count / series)}P`;
  };
  const head = make("tr", {}, ...["size", "cells", `as, at ${typeof volts === "number" ? volts : 36} V`].map((one, k) => make("th", { class: k === 1 ? "n" : "", scope: "col" }, one)));
  $("most").replaceChildren(make("table", {}, head, ...(state.most ?? []).map((row) => make("tr", {}, make("td", {}, `${row.format} (${row.diameter_mm} x ${row.length_mm} mm)`), make("td", { class: "n" }, row.too_low ? "0" : String(row.count)), make("td", {}, of(row))))));
};

export const searched = (told) => {
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
export const making = (told) => {
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
