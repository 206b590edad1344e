// Several motors on one path: the sequences side by side, and the one looked at over time with currents and busbars.

import { choice, fill, h } from "./dom.js";
import { capital } from "./fields.js";
import { dash, hue } from "./hues.js";
import { bare, judgedList, limits, more, redrawn } from "./judged.js";
import { alike } from "./starting.js";
import { line, sheetOf } from "./timed.js";

export class GroupView {
  constructor(desk, centre, side, pair) {
    Object.assign(this, { desk, centre, side, pair, case: "nominal" });
  }

  get clock() {
    return this.pair.clock;
  }

  show() {
    redrawn([this.centre, this.side], () => this.draw());
  }

  draw() {
    const group = this.desk.judged.group;
    const all = [...group.sequences, ...(group.dip ? [group.dip] : [])].map((one) => ({ ...one, last: one.runs[0].total_text || "–" }));
    const one = all.find(({ key }) => key === this.chosen) ?? all[0];
    this.chosen = one.key;
    const run = one.runs.find((found) => found.case === this.case) ?? one.runs[0];
    const pick = (key) => { this.chosen = key; this.show(); };
    fill(this.side, h("div", { class: "verdicts" }, h("p", { class: "reason" }, group.sentence), judgedList(all, one.key, pick, { name: "sequence", last: "all at speed" }),
      h("p", { class: "quiet" }, group.words), this.details(one)));
    fill(this.centre, this.pair.node);
    this.desk.onScreen = `group.${one.key}`;
    const cases = one.runs.map(({ case: key }) => ({ key, title: `${capital(key)} case` }));
    this.pair.show({
      above: [h("h2", {}, one.title), h("p", {}, one.words)],
      upper: this.motors(one, run, group.units),
      between: cases.length > 1 && choice("Case", cases, run.case, (key) => { this.case = key; this.show(); }),
      lower: this.busbars(one, run),
      clock: { end: run.time.at(-1), name: "Time of the sequence", tell: (t) => on(run, t) },
    });
  }

  /** Speed of each motor, solid, and its line current, dashed. */
  motors({ title }, run, units) {
    const sheet = () => sheetOf(together(run.motors).flatMap(({ names, k, speed, current, peak_text: peak, switch_on: at }) => {
      const where = place(at, run, k);
      return [line(`speed ${k}`, run.time, speed, hue(k), names, { at: where }),
        line(`current ${k}`, run.time, current, hue(k), `${names}: up to ${peak}`, { axis: "right", dash: dash(k), width: 1.5, at: where })];
    }), { uprights: moments(run) });
    const said = run.motors.map(({ name, switch_on: at, peak_text: peak, outcome }) => `${name} ${at === null ? "runs already" : `switched on at ${at} s`}, up to ${peak}, ${outcome}`).join("; ");
    return { words: { x: `time, ${units.time}`, left: `speed, ${units.speed} (solid)`, right: `line current, ${units.current} rms (dashed)` }, sheet, description: `${title}, ${run.case} case: ${said}.` };
  }

  busbars({ title }, run) {
    const sheet = () => sheetOf(run.busbars.map(({ name, voltage, dip_text: dip }, n) => line(name, run.time, voltage, hue(n + 5), `${name}: dips by ${dip}`, { dash: n ? dash(n) : null, at: (n + 0.4) / run.busbars.length })),
      { close: true, uprights: moments(run) });
    return { words: { x: "time, s", left: "busbar voltage, % of nominal" }, sheet, description: `${title}, ${run.case} case, dips: ${run.busbars.map(({ name, dip_text: dip }) => `${name} ${dip}`).join(", ")}.` };
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
    const { sequences, dip } = this.desk.judged.group;
    return [...sequences, ...(dip ? [dip] : [])].map(({ key }) => key);
  }

  details(one) {
    const { tables } = this.desk.judged;
    return [
      limits(one.title, one.criteria, (name) => this.desk.tell("explain", name)),
      more(`${one.title}, motor by motor`, [bare(tables[`group/${one.key}`])], true),
      more("Motors of the group", [bare(tables["group/motors"])]),
    ];
  }
}

/** Motors that do the same over the whole time have one curve with all their names. */
function together(motors) {
  const found = [];
  for (const [k, motor] of motors.entries()) {
    const same = found.find((one) => alike(one.speed, motor.speed) && alike(one.current, motor.current));
    if (same) same.names += `, ${motor.name}`;
    else found.push({ ...motor, k, names: motor.name });
  }
  return found;
}

/** When motors are switched on and when contactors fall out. */
function moments(run) {
  const found = new Map();
  const add = (t, words) => t !== null && t !== undefined && found.set(t, [...(found.get(t) ?? []), words]);
  for (const { name, switch_on: begin, dropped } of run.motors) {
    add(begin, `${name} on`);
    add(dropped, `${name} falls out`);
  }
  return [...found].sort(([a], [b]) => a - b).map(([x, words]) => ({ x, label: words.join(", ") }));
}

/** Which motors are on at a time. */
function on(run, t) {
  const names = run.motors.filter(({ switch_on: begin, dropped }) => (begin === null || begin <= t) && (dropped === null || t < dropped)).map(({ name }) => name);
  return names.length ? `${names.join(", ")} on` : "none on";
}

/** Where along the time the name of a motor stands best: a little after it is switched on. */
function place(at, run, k) {
  return at === null ? 0.15 + 0.2 * k : Math.min(0.9, at / run.time.at(-1) + 0.05);
}
