// Sheets over time or over any axis, for the views that show what the library computed: stops, bad supplies, groups.

import { look } from "./chart.js";
import { range, twins } from "./scale.js";
import { largest, least, window_ } from "./starting.js";

const ABOVE = 0.4; // of what the left axis shows below zero: what it shows above it at least

/**
 * A sheet from its curves. `x`: {low, high, ticks} or null for one from 0 to the end of the curves; `close`: the left axis is a
 * window about the curves that need not begin at 0; `span`: what the left axis has to hold besides.
 */
export function sheetOf(curves, { x = null, uprights = [], points = [], close = false, span = [], parts = 4 } = {}) {
  const side = (axis) => curves.filter((curve) => (curve.axis ?? "left") === axis);
  const ends = (axis) => {
    const values = [...side(axis).flatMap(({ y }) => [least(y), largest(y)]), ...(axis === "left" ? span : [])];
    const high = Math.max(...values, close ? -Infinity : 1e-9);
    const low = Math.min(...values, close ? Infinity : 0);
    return [low < 0 && low > -0.04 * high ? 0 : low, high]; // friction alone needs no axis below 0
  };
  const low = ends("left");
  if (side("right").length) low[1] = Math.max(low[1], -ABOVE * low[0]); // for the currents, above zero
  const [left, right] = side("right").length ? twins(low, ends("right"), parts) : [close ? window_(...low) : range(...low, parts), range(0, 1, parts)];
  const across = x ?? about(curves.map(({ x: at }) => at));
  if (right.ticks.length && Math.min(...side("right").flatMap(({ y }) => least(y)), 0) >= 0) right.words = right.ticks.map((tick) => (tick < 0 ? "" : String(tick)));
  return { x: across, left, right, curves, points, uprights: apart(uprights, across) };
}

/** A solid line; `rest`: what is different about it; `rest.at`: the share of its length at which its name stands best. */
export function line(id, xs, ys, colour, label, { at = 0.5, ...rest } = {}) {
  const [x, y] = filled(xs, ys);
  const place = x.findIndex((value) => value >= x[0] + at * (x[x.length - 1] - x[0]));
  return { id, x, y, colour, width: 2.2, label, prefer: Math.max(place, 0) / Math.max(1, x.length - 1), ...rest };
}

/** The same line with points on its long straight parts too, where names may stand. */
function filled(xs, ys) {
  const widest = Math.abs(xs[xs.length - 1] - xs[0]) / 60;
  const x = [xs[0]];
  const y = [ys[0]];
  for (let k = 1; k < xs.length; k += 1) {
    const parts = widest > 0 && Number.isFinite(ys[k]) && Number.isFinite(ys[k - 1]) ? Math.max(1, Math.ceil(Math.abs(xs[k] - xs[k - 1]) / widest)) : 1;
    for (let part = 1; part <= parts; part += 1) {
      const share = part / parts;
      x.push(xs[k - 1] + share * (xs[k] - xs[k - 1]));
      y.push(parts === 1 ? ys[k] : ys[k - 1] + share * (ys[k] - ys[k - 1]));
    }
  }
  return [x, y];
}

/** A line across the whole axis, for a limit. */
export function level(id, x, value, label, prefer = 0.8) {
  const along = Array.from({ length: 25 }, (_, k) => x.low + ((x.high - x.low) * k) / 24); // a label may stand anywhere along it
  return { id, x: along, y: along.map(() => value), colour: look().quiet, width: 1, dash: [2, 3], label, prefer, still: true };
}

/** An axis from 0 or below that holds all of these arrays, in the number of steps that leaves least room over. */
export function about(arrays) {
  const low = Math.min(0, ...arrays.map(least));
  const high = Math.max(...arrays.map(largest)) * 0.998; // a curve may end a hair beyond its last tick
  return [6, 5, 4, 7].map((parts) => range(low, high, parts)).reduce((one, other) => (other.high - other.low < one.high - one.low - 1e-9 ? other : one));
}

/** Names of uprights only where there is room for them. */
function apart(uprights, x) {
  let last = -Infinity;
  return uprights.map((one) => {
    const room = one.x - last > 0.09 * (x.high - x.low);
    if (room) last = one.x;
    return room ? one : { x: one.x };
  });
}
