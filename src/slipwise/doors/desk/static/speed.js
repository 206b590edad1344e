// The sheet of one way of speed control: a family of characteristics, the load, and the points of the duty.

import { dash, hue } from "./hues.js";
import { ending, range, twins } from "./scale.js";

/** `family`: {curves, load}; `points`: of the way; `number`: of the way; `sync`: synchronous speed; `ink`: colour of the load. */
export function familySheet(family, points, number, sync, ink) {
  const curves = [{ id: "load", x: family.load.speed, y: family.load.torque, colour: ink, width: 2.2, label: "load", prefer: 0.6 }];
  const count = family.curves.length;
  for (const [n, curve] of family.curves.entries()) {
    const prefer = 0.15 + (0.7 * n) / Math.max(1, count - 1);
    curves.push({ id: `torque ${n}`, x: curve.speed, y: curve.torque, colour: hue(number), width: 1.9, label: curve.label, prefer });
    curves.push({ id: `current ${n}`, axis: "right", x: curve.speed, y: curve.current, colour: hue(number), width: 1.1, dash: dash(number), alpha: 0.8 });
  }
  const served = points.filter(({ feasible, torque }) => feasible && torque !== null);
  const all = curves.flatMap(({ x }) => [x[0], x[x.length - 1]]);
  const most = Math.max(sync, ...all);
  const [left, right] = twins(span([...family.curves.map(({ torque }) => torque), family.load.torque]), span(family.curves.map(({ current }) => current)));
  const marks = served.map(({ name, speed, torque }) => ({ x: speed, y: torque, colour: ink, shape: "circle", label: name, key: `duty ${name}` }));
  return { x: most <= sync * 1.01 ? ending(sync) : range(0, most, 6), left, right, curves, points: marks, uprights: most > sync * 1.01 ? [{ x: sync }] : [] };
}

function span(series) {
  const values = series.flat().filter((value) => value !== null);
  const high = values.reduce((most, value) => Math.max(most, value), 1e-6);
  const low = values.reduce((least, value) => Math.min(least, value), 0);
  return [low < -0.04 * high ? Math.max(low, -high) : 0, high];
}
