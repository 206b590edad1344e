// Teaching: the numbers of a study, and behind the one picked its formula, the same with numbers put in, and its source.

import { askLong } from "./api.js";
import { fill, h, table } from "./dom.js";
import { capital } from "./fields.js";

const PARTS = ["speed", "stopping", "group"]; // whose numbers are named by their way or sequence behind the part

export class Teaching {
  constructor(pages) {
    const { desk, centre, side } = pages;
    Object.assign(this, { pages, desk, centre, side, name: null });
  }

  show() {
    const { judged } = this.desk;
    const explanations = judged?.explanations ?? [];
    if (!explanations.length) return fill(this.centre, h("p", { class: "quiet" }, "Numbers are being computed …"));
    this.name = explanations.some(({ name }) => name === this.name) ? this.name : explanations[0].name;
    const list = h("div", { class: "numbers" }, this.groups(explanations).map(([title, rows]) => [h("h3", {}, title), h("ul", {}, rows.map((row) => this.entry(row)))]));
    const scroll = this.side.querySelector(".numbers")?.scrollTop;
    fill(this.side, h("h2", {}, "Numbers of this study"), list);
    if (scroll) list.scrollTop = scroll;
    this.pages.asking.ask(async (signal) => {
      try {
        const { items } = await askLong("explain", { ...this.desk.state, name: this.name }, signal);
        const lower = h("div", { class: "lower-half" });
        fill(this.centre, h("div", { class: "worked-half", tabindex: 0, role: "region", "aria-label": "Steps" }, items.map((item) => this.steps(item))), lower);
        const mine = judged.figures.filter(({ key }) => key.startsWith(drawn(this.name)));
        this.pages.pictures(mine.length ? mine : judged.figures.filter(({ key }) => key === "comparison"), "", lower);
      } catch (error) {
        if (error.name === "AbortError") throw error;
        fill(this.centre, h("p", { class: "bad" }, error.message));
      }
    });
    return null;
  }

  /** The numbers by what they belong to: the motor, a way of starting, of speed control or of stopping, a bad supply, a sequence. */
  groups(explanations) {
    const found = new Map();
    for (const row of explanations) found.set(owner(row.name), [...(found.get(owner(row.name)) ?? []), row]);
    return [...found].map(([key, rows]) => [this.title(key), rows]);
  }

  title(key) {
    const { speed, stopping, disturbances, group } = this.desk.judged;
    const [part, own] = key.split(".");
    const those = { speed: speed?.ways, stopping: stopping?.ways, group: [...(group?.sequences ?? []), ...(group?.dip ? [group.dip] : [])] }[own ? part : ""];
    const found = those?.find((one) => one.key === own) ?? this.desk.way(key) ?? disturbances?.disturbances.find((one) => one.key === key);
    return capital(`${{ stopping: "stopping: ", group: "group: " }[own ? part : ""] ?? ""}${found?.title ?? key.replaceAll("_", " ")}`);
  }

  entry({ name, title, shown }) {
    const where = name.includes(":") ? `, ${name.split(":").slice(1).join(":")}` : "";
    return h("li", {}, h("button", { type: "button", "aria-pressed": String(name === this.name), onclick: () => { this.name = name; this.show(); } }, capital(title) + where), h("span", { class: "number" }, shown));
  }

  /** A path of the study file in the words of its field. */
  label(path) {
    const field = this.desk.fields.find((one) => one.path === path);
    return field ? capital(field.label) : path;
  }

  formula(mathml, text) {
    const node = h("div", { class: "math" });
    if (mathml) node.innerHTML = mathml; // made by the library from its own formulas, never from a study's text
    else node.textContent = text;
    return node;
  }

  steps(item) {
    const lines = [[item.formula_mathml, item.formula_text], [item.numbers_mathml, item.numbers_text]].filter(([mathml, text]) => mathml || text);
    return h("article", { class: "worked" }, h("h2", {}, item.title), lines.map((line) => this.formula(...line)), h("p", { class: "result" }, lines.length ? `= ${item.shown}` : item.shown),
      item.inputs.length > 0 && table({ title: "", note: "", columns: [{ title: "symbol" }, { title: "quantity" }, { title: "value", numeric: true }, { title: "origin" }], rows: item.inputs.map(({ symbol, name, shown, origin }) => [symbol, this.label(name), shown, origin]) }),
      item.method && h("p", {}, capital(item.method)), item.source && h("p", { class: "quiet" }, `Source: ${item.source}`));
  }
}

/** What a number belongs to, from its name. */
function owner(name) {
  const words = name.split(".");
  return words.slice(0, PARTS.includes(words[0]) ? 2 : 1).join(".");
}

/** How the keys of the figures begin that show what a number belongs to. */
function drawn(name) {
  const [part, own] = owner(name).split(".");
  return { speed: `${own}.`, stopping: `stop_${own}.`, group: `group.${own}` }[part] ?? `${part}.`;
}
