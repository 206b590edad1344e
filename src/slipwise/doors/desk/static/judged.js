// What is judged, one under another: name, verdict, margin, and beneath what binds; one of them is looked at closely.

import { h, table } from "./dom.js";
import { binding, criteria, SHORT } from "./ways.js";

/** `items`: [{key, title, place, status, binding, reason, last}]; `last`: title of the last column or null; `pick(key)` is told. */
export function judgedList(items, chosen, pick, { name, last = null }) {
  const head = h("tr", {}, h("th", { scope: "col" }, name), h("th", { scope: "col" }, "verdict"), h("th", { scope: "col", class: "number" }, "margin"), last && h("th", { scope: "col", class: "number" }, last));
  const rows = items.map((item) => [
    h("tr", { class: `way${item.key === chosen ? " chosen" : ""}`, "data-judged": item.key },
      h("td", {}, h("button", { type: "button", "data-focus": `judged ${item.key}`, "aria-pressed": String(item.key === chosen), onclick: () => pick(item.key) }, item.title)),
      h("td", { class: item.status === "fails" ? "bad" : null }, SHORT[item.status] ?? item.status),
      h("td", { class: "number" }, item.binding?.margin_text ?? ""), last && h("td", { class: "number" }, item.last ?? "")),
    h("tr", { class: "why" }, h("td", { class: "binds", colspan: last ? 4 : 3 }, item.place && h("b", {}, `${item.place}; `), item.binding ? binding(item.binding) : item.reason)),
  ]);
  return h("table", { class: "ways" }, h("thead", {}, head), h("tbody", {}, rows));
}

/** Criteria under a line that opens them. */
export function limits(title, rows, explain, open = false) {
  return rows.length ? more(`All limits of ${title}`, [criteria(rows, explain)], open) : null;
}

/** What stands under a line that opens it; nothing when there is nothing. */
export function more(words, parts, open = false) {
  const kept = parts.flat().filter(Boolean);
  return kept.length ? h("details", { open }, h("summary", {}, words), kept) : null;
}

/** A table of the library without its title, or nothing. */
export function bare(found, title = "") {
  return found?.rows.length ? table({ ...found, title }) : null;
}

/** Puts parts anew; what had the focus has it again. */
export function redrawn(roots, draw) {
  const had = document.activeElement;
  const key = roots.some((root) => root.contains(had)) ? had.dataset.focus ?? had.dataset.key : null;
  draw();
  if (!key) return;
  for (const root of roots) {
    const again = root.querySelector(`[data-focus="${CSS.escape(key)}"], [data-key="${CSS.escape(key)}"]`);
    if (again) return again.focus();
  }
}

/** Words of a list as small paragraphs. */
export function notes(words, kind = "quiet") {
  return words.map((one) => h("p", { class: kind }, one));
}

