// Two pictures, one over the other, and the time cursor that goes through both.

import { Chart } from "./chart.js";
import { Clock } from "./clock.js";
import { fill, h } from "./dom.js";
import { valueAt } from "./starting.js";

export class Pair {
  constructor() {
    this.above = h("div", { class: "above" });
    this.between = h("div", { class: "strip" });
    this.clock = new Clock((time) => this.at(time));
    this.hosts = [h("div", { class: "chart", role: "img" }), h("div", { class: "chart", role: "img" })];
    this.lower = h("div", { class: "lower" }, this.between, this.hosts[1], this.clock.node);
    this.node = h("div", { class: "view pair" }, this.above, this.hosts[0], this.lower);
    this.specs = [null, null];
  }

  /** The charts are made when they are first shown. */
  made() {
    this.charts ??= this.hosts.map((host) => new Chart(host, { x: "", left: "", right: "" }));
    return Promise.all(this.charts.map(({ ready }) => ready));
  }

  /**
   * `above`, `between`: nodes; `upper`, `lower`: {words, sheet(), description, follow(t)} or null; `clock`: {end, tell, name} or null.
   * follow: [x of the upright or null, points] at a time; left out, the cursor rides on the curves of a sheet over time.
   */
  show({ above, upper, between, lower, clock, told = () => {} }) {
    fill(this.above, above);
    fill(this.between, between);
    Object.assign(this, { specs: [upper, lower], told });
    this.hosts.forEach((host, k) => {
      host.hidden = !this.specs[k];
      if (this.specs[k]) host.setAttribute("aria-label", this.specs[k].description);
    });
    this.lower.hidden = !lower && !clock;
    this.clock.node.hidden = !clock;
    this.clock.pause();
    if (clock) this.clock.range.setAttribute("aria-label", clock.name);
    return this.made().then(() => {
      this.charts.forEach((chart, k) => this.specs[k] && this.draw(chart, this.specs[k]));
      this.clock.over(clock?.end ?? 0, clock?.tell);
      if (!clock) this.charts.forEach((chart) => chart.cursor(null));
    });
  }

  draw(chart, { words, sheet }) {
    chart.words = words;
    chart.sheet = null;
    chart.two(Boolean(words.right));
    chart.dress();
    chart.draw(sheet());
  }

  /** Upright, riders, and whoever else shows the state at a time. */
  at(t) {
    this.charts?.forEach((chart, k) => {
      const spec = this.specs[k];
      if (!spec || !chart.sheet) return;
      chart.cursor(...(spec.follow ? spec.follow(t) : [t, riders(chart.sheet, t)]));
    });
    this.told?.(t);
    this.node.dataset.time = t;
  }
}

/** Points on the curves at a time; hollow on those of the right axis. */
export function riders({ curves }, t) {
  return curves.filter(({ still, x }) => !still && t >= x[0] && t <= x[x.length - 1])
    .map(({ x, y, axis, colour }) => ({ x: t, y: valueAt(x, y, t), axis, colour, hollow: axis === "right" }));
}
