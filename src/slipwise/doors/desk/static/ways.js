// The ways side by side: verdict, what binds, margin, run-up; which are drawn, and which one is looked at closely.

import { fill, h, table } from "./dom.js";
import { dash, hue } from "./hues.js";

export const SHORT = { "passes with a condition": "on a condition", "does not apply": "not here" };
const SVG = "http://www.w3.org/2000/svg";

export class Ways {
  /** `pick(key)`: look at this way closely; `toggle(key)`: draw it or not; `explain(name)`: why this number; `last`: column. */
  constructor(host, { pick, toggle, explain, last = { title: "run-up", key: "run_up_text" } }) {
    Object.assign(this, { host, pick, toggle, explain, last });
    this.body = h("tbody");
    this.note = h("p", { class: "reason" });
    fill(host, this.note, h("table", { class: "ways" }, h("thead", {}, h("tr", {}, h("th", { scope: "col", colspan: 2 }, "drawn"),
      h("th", { scope: "col" }, "way"), h("th", { scope: "col" }, "verdict"), h("th", { scope: "col", class: "number" }, "margin"),
      h("th", { scope: "col", class: "number" }, last.title))), this.body), (this.all = h("details")));
    this.sheet = this.body.parentElement;
  }

  /** `ways`: of the steady answer; `judged`: the last verdicts or null; `stale`: they are of an earlier state; `pinned`: those of the pinned state. */
  show(ways, judged, chosen, hidden, stale, pinned = null) {
    const found = new Map((judged?.ways ?? []).map((way) => [way.key, way]));
    this.pinned = new Map((pinned === judged ? [] : pinned?.ways ?? []).map((way) => [way.key, way]));
    const focused = this.body.contains(document.activeElement) ? document.activeElement.dataset.focus : null;
    fill(this.body, ways.map((way, k) => this.rows(way, k, found.get(way.key), way.key === chosen, hidden.has(way.key))));
    this.sheet.hidden = !ways.length;
    if (focused) this.body.querySelector(`[data-focus="${focused}"]`)?.focus();
    this.note.textContent = judged ? judged.recommendation.sentence : "";
    const close = found.get(chosen);
    this.all.hidden = !close?.criteria.length;
    if (close) fill(this.all, h("summary", {}, `All limits of ${close.title}`), criteria(close.criteria, this.explain));
    this.host.setAttribute("aria-busy", String(stale));
    this.host.style.opacity = stale ? 0.6 : "";
  }

  rows(way, k, judged, chosen, hidden) {
    const fails = judged?.status === "fails";
    const drawn = h("input", { type: "checkbox", "data-focus": `drawn ${way.key}`, "aria-label": `draw ${way.title}`, disabled: way.applies === false, onchange: () => this.toggle(way.key) });
    drawn.checked = !hidden && way.applies !== false;
    const name = h("button", { type: "button", "data-focus": `way ${way.key}`, "aria-pressed": String(chosen), onclick: () => this.pick(way.key) }, way.title);
    const status = way.applies === false ? "does not apply" : judged?.status ?? "…";
    const row = h("tr", { class: `way${chosen ? " chosen" : ""}${hidden ? " hidden-way" : ""}`, "data-way": way.key },
      h("td", {}, drawn), h("td", {}, swatch(k)), h("td", {}, name), h("td", { class: fails ? "bad" : null }, SHORT[status] ?? status),
      h("td", { class: "number" }, judged?.binding?.margin_text ?? ""), h("td", { class: "number" }, judged?.[this.last.key] ?? ""));
    const words = way.applies === false ? way.reason : judged?.binding ? binding(judged.binding) : judged?.reason ?? "";
    return [row, h("tr", { class: "why" }, h("td", { class: "binds", colspan: 2 }), h("td", { class: "binds", colspan: 4 }, judged?.place && h("b", {}, `${judged.place}; `), words, this.before(way.key)))];
  }

  /** Verdict, margin and the last column of the pinned state, to be compared with the present ones. */
  before(key) {
    const way = this.pinned.get(key);
    return way && h("div", { class: "pinned" }, `pinned: ${[SHORT[way.status] ?? way.status, way.binding?.margin_text, way[this.last.key]].filter(Boolean).join(", ")}`);
  }
}

/** What binds, in one line. */
export function binding(row) {
  return [`${row.title} ${row.value_text}`, row.limit_text].filter(Boolean).join(", ");
}

/** The line of a way as it is drawn: torque solid, current dashed. */
export function swatch(number) {
  const picture = document.createElementNS(SVG, "svg");
  picture.setAttribute("viewBox", "0 0 40 14");
  picture.setAttribute("aria-hidden", "true");
  picture.innerHTML = `<path d="M4 4H38" fill="none" stroke="${hue(number)}" stroke-width="2.4"/><path d="M4 11H38" fill="none" stroke="${hue(number)}" stroke-width="1.6" stroke-dasharray="${dash(number)}"/>`;
  return picture;
}

/** A criterion that is judged in several cases is named with its own. */
function titled(row, rows) {
  return rows.some((other) => other !== row && other.title === row.title) && row.case ? `${row.title}, ${row.case}` : row.title;
}

/** Criteria of a way; a number that is explained can be asked why. */
export function criteria(rows, explain) {
  const number = (text, name) => (name ? h("button", { type: "button", class: "why-number", title: "Why this number?", onclick: () => explain(name) }, text) : text);
  const told = rows.filter(({ status, condition }) => status !== "passes" && condition).map((row) => h("p", { class: "quiet" }, `${titled(row, rows)}: ${row.condition}.`));
  return [told, table({ title: "", note: "", columns: [{ title: "criterion" }, { title: "value", numeric: true }, { title: "limit", numeric: true }, { title: "margin", numeric: true }, { title: "verdict" }],
    rows: rows.map((row) => [titled(row, rows), number(row.value_text, row.explain), row.limit_text, row.margin_text, SHORT[row.status] ?? row.status]) })];
}
