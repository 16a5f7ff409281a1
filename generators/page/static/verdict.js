// The verdict: what holds, what fails and how it is mended, or what keeps the file from being planned.
import { make } from "/forms.js";
import { $, fields, send, state } from "/link.js";

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
export const verdict = (title, kind) => {
  $("says").textContent = title;
  $("verdict").className = `verdict ${kind}`;
};
export const failedRow = (row) => {
  const item = make("li", {}, make("b", {}, row.about), row.figures ? `: ${row.figures}` : "", row.where ? ` (${row.where})` : "");
  if (row.remedy) item.append(`. ${row.remedy[0].toUpperCase()}${row.remedy.slice(1)}. `);
  if (row.remedy?.endsWith("(tried: it then holds)")) {
    const button = make("button", {}, "Use this");
    button.onclick = () => send({ do: "fix", remedy: row.remedy });
    item.append(button);
  }
  return item;
};
export const tellChecks = ({ count, failed, nearest, looking, cautions, notes }) => {
  if (failed.length) verdict(`${failed.length} of ${count} checks ${failed.length === 1 ? "fails" : "fail"}`, "fails");
  else verdict(`Holds so far: all ${count} checks of the plan`, "holds");
  $("limits").replaceChildren(make("ul", {}, ...nearest.map((row) => make("li", {}, share(row), make("b", {}, row.used === null ? "" : `${Math.floor(row.used * 100)} %`), `${row.about}: ${row.figures}`))));
  $("failed").replaceChildren(...failed.map(failedRow));
  if (looking) $("failed").append(make("li", {}, "Fixes are being tried…"));
  $("cautions").replaceChildren(...cautions.map((one) => make("li", {}, one)));
  $("notes").replaceChildren(...notes.map((one) => make("li", {}, one)));
  $("notes-box").hidden = notes.length === 0;
};
export const tellFaults = () => {
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
