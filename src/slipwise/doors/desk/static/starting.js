// The sheets of the starting view: torque and current against speed, and the traces of one start against time.

import { dash, hue } from "./hues.js";
import { ending, range, steady, twins } from "./scale.js";

const SHAPES = { operating: "circle", crawl: "square", breakdown: "triangle", changeover: "diamond", standstill: "circle" };

/**
 * Torque solid and current dashed of every way drawn, the load, and the points of the chosen way.
 * `data`: answer of /steady; `shown`: {chosen, hidden: Set, torque, current, revealed, ink, wash, quiet}; `pinned`: an earlier sheet or null.
 */
export function characteristics(data, shown, held, pinned) {
  const curves = [];
  const speed = data.speed;
  const drawn = data.ways.map((way, k) => ({ way, k })).filter(({ way }) => way.applies !== false && !shown.hidden.has(way.key));
  const chosen = drawn.find(({ way }) => way.key === shown.chosen);
  if (pinned) curves.push(...ghosts(pinned, shown));
  for (const [n, load] of data.loads.entries()) {
    curves.push({ id: `load ${n}`, x: speed, y: load.torque, colour: shown.ink, width: 2.2, label: load.name ? `load, ${load.name}` : "load", prefer: 0.55, order: 0 });
  }
  const merged = sharing(drawn, shown.chosen);
  for (const { way, k } of [...drawn.filter((one) => one !== chosen), ...(chosen ? [chosen] : [])]) {
    const mine = way.key === shown.chosen;
    for (const [n, stage] of way.stages.entries()) {
      const own = merged.get(`${way.key} ${n}`);
      if (!own) continue;
      const base = { x: speed, colour: hue(k), way: way.key, stage: n };
      if (mine && stage.used?.[1] > stage.used?.[0] && shown.torque) curves.push(path(speed, stage, k, shown));
      if (shown.torque) curves.push({ ...base, id: `${way.key} ${n} torque`, y: stage.torque, width: mine ? 3 : 1.7, label: own.label, prefer: 0.12 + 0.11 * (k % 5) });
      if (shown.current) {
        curves.push({ ...base, id: `${way.key} ${n} current`, axis: "right", y: stage.line_current, dash: dash(k), width: mine ? 2 : 1.3,
          label: mine || !shown.torque ? `${own.label}: current` : null, rank: 3, reach: 0.28, prefer: 0.2 + 0.12 * (k % 5) });
      }
    }
  }
  const limits = drawn.flatMap(({ way }) => way.stages).filter(({ fed }) => fed);
  const most = (pick) => [Math.min(0, ...limits.map((stage) => least(stage[pick]))), Math.max(...limits.map((stage) => largest(stage[pick])), 1e-6)];
  const torque = most("torque");
  torque[1] = Math.max(torque[1], ...data.loads.map((load) => largest(load.torque)));
  torque[0] = torque[0] < -0.04 * torque[1] ? Math.max(torque[0], -0.5 * torque[1]) : 0; // friction alone needs no axis below 0
  let [left, right] = twins(torque, most("line_current"));
  [left, right] = held ? [held.left, held.right] : [left, right];
  const visible = reveal(curves, shown.revealed);
  return { x: ending(data.synchronous_speed), left, right, curves: visible, points: shown.torque && shown.revealed === null ? points(data, drawn, shown, left) : [] };
}

/**
 * Which stages get a line of their own: a characteristic that several ways share is drawn once, and named for all. Of the ways
 * not looked at closely only the first stage and the running one are drawn.
 */
function sharing(drawn, chosen) {
  const seen = [];
  for (const { way } of drawn) {
    const live = way.stages.map((stage, n) => ({ stage, n })).filter(({ stage }) => stage.fed);
    for (const [place, { stage, n }] of live.entries()) {
      if (way.key !== chosen && place > 0 && place < live.length - 1) continue;
      const same = seen.find(({ stage: other }) => alike(other.torque, stage.torque) && alike(other.line_current, stage.line_current));
      const words = live.length > 1 ? `${way.title}, ${stage.name}` : way.title;
      if (same) same.names.set(way.title, same.names.has(way.title) ? way.title : words);
      else seen.push({ key: `${way.key} ${n}`, stage, names: new Map([[way.title, words]]) });
    }
  }
  return new Map(seen.map(({ key, names }) => [key, { label: named([...names.values()]) }]));
}

function named(names) {
  return names.length > 2 ? `${names[0]}, and ${names.length - 1} others when running` : names.join(" = ");
}

export function alike(one, other) {
  const size = largest(one) || 1;
  for (let k = 0; k < one.length; k += 8) if (Math.abs((one[k] ?? 0) - (other[k] ?? 0)) > 0.004 * size) return false;
  return true;
}

/** Where the chosen way runs, as a pale band under its curve. */
function path(speed, stage, k, shown) {
  const [from, to] = stage.used;
  const inside = speed.map((v) => v >= from && v <= to);
  return { id: `path ${stage.name}`, x: speed, y: stage.torque.map((v, n) => (inside[n] ? v : NaN)), colour: shown.wash, width: 13, way: shown.chosen, under: true };
}

function points(data, drawn, shown, left) {
  const found = [];
  const near = (a, b) => Math.abs(a.x - b.x) < 0.012 * data.synchronous_speed && Math.abs(a.y - b.y) < 0.02 * (left.high - left.low);
  const order = [...drawn].sort((a, b) => Number(b.way.key === shown.chosen) - Number(a.way.key === shown.chosen));
  for (const { way, k } of order) {
    const mine = way.key === shown.chosen;
    for (const point of way.points) {
      if (point.kind === "standstill" || (!mine && point.kind !== "operating" && point.kind !== "crawl")) continue;
      const spot = { x: point.speed, y: point.torque, shape: SHAPES[point.kind], colour: hue(k), hollow: point.kind !== "operating", key: `${way.key} ${point.kind} ${point.stage}`,
        label: mine || point.kind === "crawl" ? point.words : null, ...(point.kind === "operating" ? {} : { rank: 2, reach: 0.28 }), size: mine ? 0.75 : 0.6 };
      if (!found.some((other) => near(other, spot))) found.push(spot);
    }
  }
  return found;
}

/** The pinned state under the present one: thin, dotted, without points. */
function ghosts(pinned, shown) {
  return pinned.curves.filter((curve) => !curve.under && !curve.ghost && (curve.way === shown.chosen || curve.id.startsWith("load"))).map((curve) => (
    { ...curve, id: `pinned ${curve.id}`, ghost: true, colour: shown.quiet, width: 1.4, dash: curve.axis === "right" ? [1, 4] : [1, 2], label: curve.label && curve.axis !== "right" ? `pinned: ${curve.label}` : null }));
}

/** The first so many steps of a talk: the load, then each way's torque and current; null: everything. */
function reveal(curves, revealed) {
  if (revealed === null) return curves;
  const keys = steps(curves);
  const open = new Set(keys.slice(0, revealed));
  return curves.filter((curve) => open.has(stepOf(curve)));
}

export function steps(curves) {
  return [...new Set(curves.map(stepOf))].sort((a, b) => Number(b.startsWith("load")) - Number(a.startsWith("load")));
}

function stepOf(curve) {
  return curve.ghost ? "load" : curve.way ?? "load";
}

export const TRACES = [
  { key: "speed", title: "Speed" }, { key: "torque", title: "Torque" }, { key: "busbars", title: "Busbars" },
  { key: "transient", title: "Transient" }, { key: "heat", title: "Heat" },
];

/** Titles of the axes of a trace. */
export function traceWords(kind, { speed, torque, current }) {
  const amperes = `line current, ${current} (dashed)`;
  const [left, right] = {
    speed: [`speed, ${speed}`, amperes], torque: [`torque, ${torque}`, amperes], busbars: ["voltage, % of nominal", ""],
    transient: [`air-gap torque, ${torque}`, `line currents, ${current} (dashed)`], heat: ["temperature, °C", ""],
  }[kind];
  return { x: "time, s", left, right };
}

/** One start against time. `start`: answer of /start; `kind`: key of TRACES. null when it has nothing of the kind. */
export function traces(start, kind, number, shown, old, pinned) {
  const found = SHEETS[kind](start, number, shown);
  if (!found) return null;
  const { curves, base, own } = found;
  const before = pinned && pinned !== start ? SHEETS[kind](pinned, number, shown) : null;
  const under = (before?.curves ?? []).map((curve) => ({ ...curve, id: `pinned ${curve.id}`, colour: shown.quiet, width: 1.2, dash: [1, 3], label: null }));
  const side = (axis) => curves.filter((curve) => (curve.axis ?? "left") === axis);
  const span = (axis) => {
    const high = Math.max(...side(axis).map(({ y }) => largest(y)), 1e-6);
    const low = Math.min(...side(axis).map(({ y }) => least(y)), base ?? 0);
    return [low < 0 && low > -0.04 * high ? 0 : low, high]; // friction alone needs no axis below 0
  };
  const end = Math.max(...curves.map(({ x }) => x[x.length - 1]));
  const fresh = range(0, end, 6);
  const low = span("left");
  const [left, right] = side("right").length ? twins(low, span("right"), 4) : [base ? window_(low[0], low[1]) : range(...low, 4), range(0, 1, 4)];
  const upright = own ? [] : start.stages.slice(1).map(({ begin, name }) => ({ x: begin, label: name }));
  return { x: steady(old?.x, fresh), left: steady(old?.left, left), right: steady(old?.right, right), curves: [...under, ...curves], points: [], uprights: apart(upright, fresh) };
}

const SHEETS = {
  speed: ({ traces: t }, k, { ink }) => ({ curves: [line("speed", t.time, t.speed, ink, "speed", 0.5), current(t, k)] }),
  torque: ({ traces: t }, k, { ink }) => ({ curves: [line("torque", t.time, t.torque, hue(k), "torque", 0.4), line("load", t.time, t.load, ink, "load", 0.6), current(t, k)] }),
  busbars: ({ traces: t }) => ({ base: Math.min(...t.busbars.map(({ voltage }) => least(voltage))), curves: t.busbars.map(({ name, voltage }, n) => ({ ...line(name, t.time, voltage, hue(n + 5), name, 0.3 + 0.15 * n) })) }),
  transient: ({ transient: t }, k, { quiet }) => t && ({
    own: true,
    curves: [...t.line_currents.map((phase, n) => ({ id: `phase ${n}`, axis: "right", x: t.time, y: phase, colour: quiet, width: 1, alpha: 0.75, dash: [3, 2], label: `phase ${"abc"[n]}`, prefer: 0.1 + 0.2 * n })),
      line("torque", t.time, t.torque, hue(k), "torque", 0.4)],
  }),
  heat: ({ temperatures: t }) => t && ({ own: true, curves: [
    ...t.bodies.map((body, n) => line(body, t.time, t.temperature[n], hue(n + 5), body, 0.3 + 0.2 * n)),
    ...t.limits.flatMap((limit, n) => (limit === null ? [] : [{ id: `limit ${n}`, x: [0, t.time[t.time.length - 1]], y: [limit, limit], colour: hue(n + 5), width: 1.2, dash: [2, 3], label: `limit, ${t.bodies[n]}`, prefer: 0.8 }])),
  ] }),
};

function line(id, x, y, colour, label, prefer) {
  return { id, x, y, colour, width: 2.2, label, prefer };
}

function current(t, k) {
  return { id: "current", axis: "right", x: t.time, y: t.line_current, colour: hue(k), dash: dash(k), width: 1.8, label: "line current", prefer: 0.25 };
}

/** Voltages lie close to 100 %: a window in round steps that need not begin at 0. */
export function window_(low, high) {
  const steps = [0.5, 1, 2, 2.5, 5, 10, 20, 25];
  const step = steps.find((one) => Math.floor(low / one) * one + 4 * one >= high) ?? 25;
  const start = Math.floor(low / step) * step;
  const ticks = [0, 1, 2, 3, 4].map((n) => Number((start + n * step).toPrecision(10)));
  return { low: ticks[0], high: ticks[4], step, ticks };
}

/** Names of stages only where there is room for them. */
function apart(uprights, x) {
  let last = -Infinity;
  return uprights.map((one) => {
    const room = one.x - last > 0.09 * x.high;
    if (room) last = one.x;
    return room ? one : { x: one.x };
  });
}

export function largest(values) {
  let most = -Infinity;
  for (const value of values) if (value > most) most = value;
  return most === -Infinity ? 0 : most;
}

export function least(values) {
  let most = Infinity;
  for (const value of values) if (value !== null && value < most) most = value;
  return most === Infinity ? 0 : most;
}

/** Value of a trace at a time, between samples. */
export function valueAt(time, values, t) {
  let low = 0;
  let high = time.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (time[middle] <= t) low = middle;
    else high = middle;
  }
  const span = time[high] - time[low];
  const share = span > 0 ? Math.min(1, Math.max(0, (t - time[low]) / span)) : 0;
  return values[low] + share * (values[high] - values[low]);
}
