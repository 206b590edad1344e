// Stopping: the speed of every way over time above, one stop closely below, verdicts and the power circuit beside them.

import { askLong } from "./api.js";
import { look } from "./chart.js";
import { Circuit, lettering } from "./circuit.js";
import { choice, fill, h } from "./dom.js";
import { dash, hue } from "./hues.js";
import { bare, more, notes, redrawn } from "./judged.js";
import { valueAt } from "./starting.js";
import { about, line, sheetOf } from "./timed.js";
import { Ways } from "./ways.js";

const KINDS = [{ key: "torque", title: "Torque" }, { key: "cases", title: "Cases" }, { key: "braking", title: "Against speed" }, { key: "busbars", title: "Busbars" }];
const SLOW = 8; // times the quickest stop: what takes longer is cut off at the end of the axis
const ROOM = 1.12; // beyond the slowest stop shown

/** The power circuit with the contacts of a stage of stopping closed. */
class StopCircuit extends Circuit {
  async picture(state, way, stage, signal) {
    const found = await askLong("export", { ...state, what: "circuit", key: `stop_${way}/${stage}`, format: "svg", lettering: lettering() }, signal);
    return new Blob([Uint8Array.from(atob(found.base64), (letter) => letter.charCodeAt(0))], { type: found.media_type });
  }
}

export class StoppingView {
  constructor(desk, centre, side, pair) {
    Object.assign(this, { desk, centre, side, pair, kind: "torque", hidden: new Set() });
    const pick = (key) => { this.chosen = key; this.hidden.delete(key); this.show(); };
    const toggle = (key) => { if (!this.hidden.delete(key)) this.hidden.add(key); this.show(); };
    this.verdicts = h("div", { class: "verdicts" });
    this.list = h("div");
    this.rest = h("div");
    this.verdicts.append(this.list, this.rest);
    this.ways = new Ways(this.list, { pick, toggle, explain: (name) => desk.tell("explain", name), last: { title: "stop", key: "stop_time_text" } });
    this.circuitHost = h("div", { class: "circuit lesser" });
    this.circuit = new StopCircuit(this.circuitHost);
  }

  get found() {
    return this.desk.judged.stopping;
  }

  get clock() {
    return this.pair.clock;
  }

  show() {
    redrawn([this.centre, this.side], () => this.draw());
  }

  draw() {
    const { found } = this;
    const can = found.ways.filter(({ applies }) => applies);
    const way = can.find(({ key }) => key === this.chosen) ?? can.find(({ key }) => key === found.recommendation.way) ?? can[0] ?? found.ways[0];
    this.chosen = way?.key;
    const listed = found.ways.map((one) => ({ ...one, applies: one.applies || one.status === "fails" }));
    this.ways.show(listed, found, this.chosen, this.hidden, false);
    fill(this.rest, this.details(way, found));
    fill(this.side, this.verdicts, this.circuitHost);
    if (!way?.applies) return fill(this.centre, notes([way?.reason ?? found.recommendation.reason]));
    fill(this.centre, this.pair.node);
    const kinds = KINDS.filter(({ key }) => this.sheets(way, found, key));
    if (!kinds.some(({ key }) => key === this.kind)) this.kind = "torque";
    this.desk.onScreen = `stop_${way.key}.${this.kind === "braking" ? "braking" : "stop"}`;
    const { stages } = way.stop;
    this.pair.show({
      above: null,
      upper: this.all(can, way, found),
      between: [choice("One stop", kinds, this.kind, (key) => { this.kind = key; this.show(); }), h("p", { class: "quiet" }, `${way.title}, nominal case`)],
      lower: this.sheets(way, found, this.kind),
      clock: { end: way.stop.time.at(-1), name: "Time of the stop", tell: (t) => (stages.find(({ end }) => t < end) ?? stages.at(-1))?.name ?? "" },
      told: (t) => this.circuit.at(t),
    });
    this.contacts(way, stages);
    return null;
  }

  /** Another study: nothing of the one before is looked at. */
  reset() {
    Object.assign(this, { chosen: null, revealed: null });
    this.hidden.clear();
  }

  /** Stepwise: one way more or less; Infinity: all of them; -Infinity: the first alone. */
  reveal(by) {
    const all = this.found.ways.filter(({ applies }) => applies).length;
    const next = Math.max(1, (this.revealed ?? all) + by);
    this.revealed = next >= all ? null : next;
    this.show();
  }

  contacts(way, stages) {
    this.circuitHost.hidden = !way.circuit;
    const closed = stages.map((stage) => ({ ...stage, contacts: stage.contacts.length ? stage.contacts : way.contacts.closed[way.contacts.stages.indexOf(stage.name)] ?? [] }));
    if (way.circuit) this.desk.working(() => this.circuit.show(this.desk.state, way.key, way.title, closed));
    else this.circuit.clear();
  }

  /** Speed of every way over time. */
  all(can, chosen, found) {
    const { units } = found;
    const words = { x: `time, ${units.time}`, left: `speed, ${units.speed}` };
    const sheet = () => {
      const end = this.end(can);
      const drawn = can.filter(({ key }, n) => (this.revealed ? n < this.revealed : !this.hidden.has(key) || key === chosen.key));
      const curves = [];
      for (const way of drawn) {
        const same = curves.find(({ of }) => alike(of, way) && of !== chosen);
        if (same && way !== chosen) {
          same.label = `${same.label.split(": ")[0]}, ${way.title}: ${way.stop_time_text}`;
          continue;
        }
        const k = found.ways.indexOf(way);
        const { time, speed, stop_time: until } = way.stop;
        const last = until === null ? time.length : time.findIndex((t) => t > until) + 1 || time.length;
        const mine = way === chosen;
        curves.push(line(way.key, time.slice(0, last), speed.slice(0, last), hue(k), `${way.title}: ${way.stop_time_text}`,
          { of: way, width: mine ? 3 : 1.7, dash: mine ? null : dash(k), at: 0.25 + 0.12 * (k % 5), still: !mine }));
      }
      return sheetOf(curves, { x: about([[0, end]]) });
    };
    const description = `Speed over time of each way of stopping, nominal case: ${can.map(({ title, stop_time_text: text }) => `${title} ${text}`).join(", ")}.`;
    return { words, sheet, description };
  }

  /** Time shown: all stops that pass, none more than SLOW times the quickest. */
  end(can) {
    const times = (some) => some.map(({ stop }) => stop.stop_time).filter((time) => time !== null);
    const known = times(can.filter(({ status }) => status !== "fails"));
    const all = known.length ? known : times(can);
    return all.length ? ROOM * Math.min(Math.max(...all), SLOW * Math.min(...all)) : Math.max(...can.map(({ stop }) => stop.time.at(-1)));
  }

  sheets(way, found, kind) {
    const { units } = found;
    const { stop, slowest, characteristics: curves } = way;
    const k = found.ways.indexOf(way);
    const time = `time, ${units.time}`;
    const uprights = stop.stages.slice(1).map(({ begin, name }) => ({ x: begin, label: name }));
    const { ink, quiet } = look();
    const made = {
      torque: () => ({
        words: { x: time, left: `torque, ${units.torque} (below zero it brakes)`, right: `motor current, ${units.current} (dashed)` },
        sheet: () => sheetOf([line("torque", stop.time, stop.torque, hue(k), "motor", { at: 0.4 }), line("load", stop.time, stop.load, ink, "load", { at: 0.7, width: 1.6 }),
          line("current", stop.time, stop.motor_current, hue(k), "motor current", { axis: "right", dash: dash(k), width: 1.8, at: 0.25 })], { uprights }),
      }),
      cases: () => slowest && ({
        words: { x: time, left: `speed, ${units.speed}` },
        sheet: () => sheetOf([line("slowest", slowest.time, slowest.speed, quiet, `${slowest.case}: ${slowest.stop_time_text}`, { width: 1.6, dash: [6, 3], at: 0.65 }),
          line("nominal", stop.time, stop.speed, hue(k), `nominal: ${way.stop_time_text}`, { at: 0.35 })], { uprights }),
      }),
      braking: () => curves.length && ({
        words: { x: `speed, ${units.speed}`, left: `torque, ${units.torque} (solid; below zero it brakes)`, right: `motor current, ${units.current} (dashed)` },
        sheet: () => this.against(way, k, ink),
        follow: (t) => [null, [{ x: valueAt(stop.time, stop.speed, t), y: valueAt(stop.time, stop.torque, t), colour: hue(k), shape: "circle", size: 1 }]],
      }),
      busbars: () => stop.busbars.length && ({
        words: { x: time, left: "voltage, % of nominal" },
        sheet: () => sheetOf(stop.busbars.map(({ name, voltage }, n) => line(name, stop.time, voltage, hue(n + 5), name, { dash: n ? dash(n) : null, at: 0.3 + 0.2 * n })), { close: true, uprights }),
      }),
    }[kind]();
    return made ? { ...made, description: `${way.title}: ${made.words.left}, over ${made.words.x}. Stop time ${way.stop_time_text}. ${way.words.join(" ")}` } : null;
  }

  /** What brakes over speed, the load, and as a pale band the path of this stop. */
  against({ characteristics, stop }, k, ink) {
    const curves = [{ id: "path", x: stop.speed, y: stop.torque, colour: look().wash, width: 13, under: true }];
    for (const [n, { stage, speed, torque, motor_current: current }] of characteristics.entries()) {
      curves.push(line(`torque ${n}`, speed, torque, hue(k + n), `${stage}: torque`, { at: 0.5 }));
      curves.push(line(`current ${n}`, speed, current, hue(k + n), `${stage}: current`, { axis: "right", dash: dash(k + n), width: 1.6, at: 0.3 }));
    }
    const { speed, load } = characteristics[0];
    curves.push(line("load", speed, load, ink, "load", { width: 1.6, at: 0.75 }));
    return sheetOf(curves, { x: about(characteristics.map((one) => one.speed)) });
  }

  /** Everything else about the way, under lines that open it. */
  details(way, found) {
    const { tables } = this.desk.judged;
    if (!way) return notes(found.notes);
    const own = (key) => bare(tables[`stop_${way.key}/${key}`], "");
    const parts = tables[`stop_${way.key}/parts`];
    return [
      notes(way.words, ""),
      more(`Settings and parts of ${way.title}`, [own("settings"), parts && bare(parts, "What it takes")]),
      more(`Each case of ${way.title}`, [own("cases"), own("stages")]),
      more("Heat of one stop, stops an hour", [bare(tables.stopping_heat)]),
      h("p", { class: "quiet" }, `Running ${found.direction} at ${found.running_text} before the stop.`),
      notes(found.notes),
    ];
  }
}

function alike(one, other) {
  const [a, b] = [one.stop.stop_time, other.stop.stop_time];
  return a !== null && b !== null && Math.abs(a - b) < 1e-3 * Math.max(a, b) && one.status === other.status;
}
