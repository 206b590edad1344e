// Bad supplies: each with its verdict; the curves of the one looked at, its numbers, and what to do.

import { look } from "./chart.js";
import { fill, h } from "./dom.js";
import { dash, hue } from "./hues.js";
import { bare, judgedList, limits, more, notes, redrawn } from "./judged.js";
import { figures } from "./scale.js";
import { about, level, line, sheetOf } from "./timed.js";

export class SupplyView {
  constructor(desk, centre, side, pair) {
    Object.assign(this, { desk, centre, side, pair });
  }

  get clock() {
    return this.pair.clock;
  }

  show() {
    redrawn([this.centre, this.side], () => this.draw());
  }

  draw() {
    const { sentence, disturbances } = this.desk.judged.disturbances;
    const one = disturbances.find(({ key }) => key === this.chosen) ?? disturbances[0];
    this.chosen = one.key;
    const pick = (key) => { this.chosen = key; this.show(); };
    fill(this.side, h("div", { class: "verdicts" }, h("p", { class: "reason" }, sentence), judgedList(disturbances, one.key, pick, { name: "supply" }), this.details(one)));
    fill(this.centre, this.pair.node);
    this.desk.onScreen = `${one.key}.curves`;
    const [upper, lower] = one.panels.map((panel) => spec(panel, one));
    const timed = one.panels.filter(({ over_time: yes }) => yes);
    const end = Math.max(...timed.flatMap(({ traces }) => traces.map(({ x }) => x[x.length - 1])));
    this.pair.show({
      above: [h("h2", {}, one.title), h("p", {}, one.summary)],
      upper: upper ?? null,
      between: null,
      lower: lower ?? null,
      clock: timed.length ? { end, name: "Time of the disturbance", tell: (t) => reading(timed[0], t) } : null,
    });
  }

  /** Another study: nothing of the one before is looked at. */
  reset() {
    this.chosen = null;
  }

  /** Stepwise: the next or the one before. */
  reveal(by) {
    const keys = this.keys();
    this.chosen = keys[Math.min(Math.max(keys.indexOf(this.chosen) + by, 0), keys.length - 1)];
    this.show();
  }

  keys() {
    return this.desk.judged.disturbances.disturbances.map(({ key }) => key);
  }

  details(one) {
    const { tables } = this.desk.judged;
    return [
      h("h2", {}, one.title),
      one.actions.length > 0 && h("ol", { class: "actions" }, one.actions.map((words) => h("li", {}, words))),
      limits(one.title, one.criteria, (name) => this.desk.tell("explain", name), true),
      more("Numbers", [bare({ ...tables[`${one.key}/numbers`], note: "" })], true),
      notes(one.notes),
    ];
  }
}

/** One panel of the library as a sheet: curves, lines across for limits, uprights for times. */
function spec(panel, { title }) {
  const x = about(panel.traces.map((trace) => trace.x));
  const count = panel.traces.length;
  const sheet = () => {
    const curves = panel.traces.map((trace, k) => line(trace.label, trace.x, trace.y, trace.label === "load" ? look().ink : hue(k), count > 1 ? trace.label : null, { dash: k && trace.label !== "load" ? dash(k) : null, at: (k + 0.5) / count }));
    const across = panel.levels.map(({ words, value }) => level(words, x, value, words));
    const uprights = panel.marks.map(({ words, value }) => ({ x: value, label: words }));
    return sheetOf([...curves, ...across], { x, uprights });
  };
  const said = panel.traces.map(({ label, y }) => `${label} from ${figures(y.find(Number.isFinite))} to ${figures(y.findLast(Number.isFinite))}`).join(", ");
  return { words: { x: panel.x, left: panel.y }, sheet, description: `${title}: ${panel.y} over ${panel.x}: ${said}.`, ...(!panel.over_time && { follow: () => [null, []] }) };
}

/** What the first curve reads at a time. */
function reading({ traces, y }, t) {
  const { x, y: values } = traces[0];
  const k = x.findIndex((at) => at >= t);
  const unit = /, ([^,]*)$/.exec(y)?.[1] ?? "";
  return `${figures(values[k < 0 ? values.length - 1 : k], 3)} ${unit}`;
}
