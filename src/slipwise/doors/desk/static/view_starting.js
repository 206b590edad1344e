// The starting view: characteristics above, one start against time below, verdicts and the power circuit beside them.

import { Chart, look } from "./chart.js";
import { Circuit } from "./circuit.js";
import { Clock } from "./clock.js";
import { choice, fill, h } from "./dom.js";
import { hue } from "./hues.js";
import { figures } from "./scale.js";
import { characteristics, steps, TRACES, traces, traceWords, valueAt } from "./starting.js";
import { Ways } from "./ways.js";

const CASE = "nominal case"; // the one that is drawn against time; the worst case is judged
const NOTHING = {
  heat: "No temperatures of this start yet.",
  transient: "The electrical transient of this start is being computed …",
};

export class StartingView {
  constructor(desk, centre, side) {
    this.desk = desk;
    this.show = { torque: true, current: true };
    this.kind = "speed";
    this.revealed = null;
    const upper = h("div", { class: "chart", role: "img" });
    const lower = h("div", { class: "chart", role: "img" });
    this.clock = new Clock((time) => this.at(time));
    this.kinds = h("div");
    this.thermal = h("div", { hidden: true }, h("p", { class: "quiet" }, "Temperatures need the section [thermal] in the study file. What it leaves out is estimated and listed."),
      h("button", { type: "button", class: "deed", onclick: () => desk.append(["[thermal]                       # insulation, rise, time_constant"]) }, "Add it"));
    this.which = h("p", { class: "quiet which" });
    this.lower = h("div", { class: "lower" }, h("div", { class: "strip" }, this.kinds, this.which), this.thermal, lower, this.clock.node);
    fill(centre, h("div", { class: "strip upper" }, this.switches()), upper, this.lower);
    this.upper = new Chart(upper, { x: "speed, r/min; the axis ends at synchronous speed", left: "torque, N m (solid)", right: "line current, A (dashed)" });
    this.trace = new Chart(lower, traceWords("speed", { speed: "r/min", current: "A" }));
    this.ready = Promise.all([this.upper.ready, this.trace.ready]);
    const verdicts = h("div", { class: "verdicts" });
    const circuit = h("div", { class: "circuit" });
    fill(side, verdicts, circuit);
    this.ways = new Ways(verdicts, { pick: (key) => desk.pick(key), toggle: (key) => desk.toggle(key), explain: (name) => desk.tell("explain", name) });
    this.circuit = new Circuit(circuit);
    this.kindChoice();
    this.ready.then(() => this.all());
    desk.addEventListener("steady", ({ detail }) => this.steady(detail.final));
    desk.addEventListener("judged", () => this.verdicts());
    desk.addEventListener("start", () => this.started());
  }

  switches() {
    const box = (key, words) => {
      const input = h("input", { type: "checkbox", checked: true, onchange: () => { this.show[key] = input.checked; this.steady(true); } });
      return h("label", {}, input, ` ${words} `);
    };
    this.pinning = h("button", { type: "button", "aria-pressed": "false", onclick: () => this.pin() }, "Pin to compare");
    return [box("torque", "torque"), box("current", "current"), this.pinning];
  }

  kindChoice() {
    this.which.textContent = { transient: `${CASE} only, switched at 0°`, heat: "" }[this.kind] ?? CASE;
    fill(this.kinds, choice("Against time", TRACES, this.kind, (key) => {
      this.kind = key;
      this.desk.wantsTransient = key === "transient";
      this.kindChoice();
      if (this.desk.wantsTransient && !this.desk.start?.transient) this.desk.running.ask(this.desk.chosen);
      this.sheet = null;
      this.started();
    }));
  }

  shown() {
    return { ...this.show, ...look(), chosen: this.desk.chosen, hidden: this.desk.hidden, revealed: this.revealed };
  }

  steady(final) {
    const { data, faults } = this.desk;
    if (!this.upper.view) return;
    this.upper.host.classList.toggle("nothing", !data);
    this.upper.host.dataset.nothing = faults?.length ? "No curves: the study has faults, told below and beside its values." : "";
    if (!data) this.blank();
    if (!data) return;
    const held = final ? null : this.axes;
    const sheet = characteristics(data, this.shown(), held, this.pinned?.sheet);
    this.axes = { left: sheet.left, right: sheet.right };
    this.sheetNow = sheet;
    const { torque, current, speed } = data.units;
    const amperes = this.show.current && data.ways.some(({ key, applies }) => applies !== false && !this.desk.hidden.has(key));
    this.upper.words = { x: `speed, ${speed}; the axis ends at synchronous speed`, left: `torque, ${torque} (solid)`, right: amperes ? `line current, ${current} (dashed)` : "" };
    this.upper.two(amperes);
    this.upper.draw(sheet);
    if (!data.ways.length) this.without();
    this.upper.host.setAttribute("aria-label", this.words(data));
    if (final) this.at(this.clock.time);
    if (final) this.verdicts();
    else this.ways.host.style.opacity = 0.6;
  }

  /** Nothing of an earlier study stays on screen. */
  blank() {
    this.trace.host.classList.add("nothing");
    this.ways.show([], null, null, this.desk.hidden, false);
    this.circuit.clear();
    this.clock.over(0);
  }

  /** A study that asks for no way of starting: the load alone. */
  without() {
    this.blank();
    this.trace.host.dataset.nothing = "The study asks for no way of starting; [starting] in its file does.";
  }

  words(data) {
    const way = this.desk.way();
    const points = (way?.points ?? []).map(({ words }) => words).join(", ");
    return `Torque and line current against speed, up to ${figures(data.synchronous_speed)} r/min: ${data.ways.filter(({ applies }) => applies !== false).map(({ title }) => title).join(", ")}. ${way ? `${way.title}: ${points}.` : ""}`;
  }

  verdicts() {
    const { data, judged, chosen, hidden, stale } = this.desk;
    if (data) this.ways.show(data.ways, judged, chosen, hidden, stale, this.pinned?.judged);
  }

  started() {
    const { start } = this.desk;
    if (!start || !this.trace.view) return;
    this.trace.host.dataset.nothing = NOTHING[this.kind] ?? "Nothing to draw for this start.";
    const k = this.desk.number;
    const temperatures = this.desk.judged?.ways.find(({ key }) => key === start.way)?.heat?.starts;
    if (this.of !== this.desk.study.opened) this.sheet = null; // another study: its axes are its own
    this.of = this.desk.study.opened;
    const sheet = traces({ ...start, temperatures }, this.kind, k, this.shown(), this.sheet, this.pinned?.start);
    this.trace.words = traceWords(this.kind, start.units);
    this.trace.host.classList.toggle("nothing", !sheet);
    this.thermal.hidden = this.kind !== "heat" || Boolean(sheet) || this.desk.stale || this.desk.fields.some(({ section }) => section === "thermal");
    this.trace.host.hidden = !this.thermal.hidden;
    if (sheet) {
      this.sheet = sheet;
      this.trace.two(Boolean(this.trace.words.right));
      this.trace.draw(sheet);
      this.trace.host.setAttribute("aria-label", `${this.desk.way()?.title}: ${this.trace.words.left} over time. ${start.outcome}${start.run_up_text ? `, ${start.run_up_text}` : ""}.`);
    }
    const { time } = this.kind === "transient" && start.transient ? start.transient : start.traces;
    this.clock.over(time[time.length - 1], (t) => this.stageAt(t)?.name ?? "");
    this.desk.working(() => this.circuit.show(this.desk.state, start.way, this.desk.way(start.way)?.title ?? "", start.stages));
  }

  stageAt(t) {
    const stages = this.desk.start?.stages ?? [];
    return stages.find(({ end }) => t < end) ?? stages[stages.length - 1];
  }

  /** Everything that shows the state at a time: the upright, the points on the curves, the contacts. */
  at(t) {
    const { start } = this.desk;
    if (!start || !this.trace.sheet) return;
    const { time, speed, torque, line_current } = start.traces;
    const colour = hue(this.desk.number);
    const value = (series) => valueAt(time, series, t);
    this.trace.cursor(t, this.riders(t));
    if (this.upper.sheet) {
      const spot = { x: value(speed), colour, shape: "circle", size: 1 };
      const riders = { torque: { ...spot, y: value(torque) }, current: { ...spot, axis: "right", y: value(line_current), hollow: true } };
      this.upper.cursor(null, Object.keys(riders).filter((key) => this.show[key] && !this.desk.hidden.has(start.way)).map((key) => riders[key]));
    }
    this.circuit.at(t);
    this.lower.dataset.time = t;
  }

  riders(t) {
    return this.trace.sheet.curves.filter(({ id }) => !String(id).startsWith("pinned")).map(({ x, y, axis, colour }) => ({ x: t, y: valueAt(x, y, t), axis, colour, hollow: axis === "right" }));
  }

  pin() {
    this.pinned = this.pinned ? null : { sheet: this.sheetNow, start: this.desk.start, judged: this.desk.stale ? null : this.desk.judged };
    this.pinning.setAttribute("aria-pressed", String(Boolean(this.pinned)));
    this.pinning.textContent = this.pinned ? "Unpin" : "Pin to compare";
    this.all();
  }

  /** Stepwise reveal: one way more or less; Infinity: all of them; -Infinity: the load alone. */
  reveal(by) {
    const all = steps(characteristics(this.desk.data, { ...this.shown(), revealed: null }, this.axes, null).curves).length;
    const next = Math.max(1, (this.revealed ?? all) + by);
    this.revealed = next >= all ? null : next;
    this.steady(false);
  }

  dress() {
    this.upper.dress();
    this.trace.dress();
    this.all();
  }

  all() {
    this.steady(true);
    this.sheet = null;
    this.started();
  }
}
