// Axis ranges: round steps, the same number of divisions on both sides so that both meet one grid, and no jumping about.

const STEPS = [1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10];

/** Smallest round number that is not below `value` (above 0). */
export function roundUp(value) {
  const power = 10 ** Math.floor(Math.log10(value));
  return power * STEPS.find((step) => step * power >= value * (1 - 1e-9));
}

/** Range with `divisions` equal round steps that holds everything from `low` to `high`; 0 is always a tick. */
export function range(low, high, divisions = 5) {
  const least = Math.min(0, low);
  const most = Math.max(0, high, least === 0 ? 1e-9 : 0);
  let step = roundUp((most - least) / divisions);
  for (let tries = 0; tries < 12; tries += 1) {
    const below = Math.ceil(-least / step - 1e-9);
    if (below + Math.ceil(most / step - 1e-9) <= divisions) return spread(-below * step, step, divisions);
    step = roundUp(step * 1.01);
  }
  return spread(least, (most - least) / divisions, divisions);
}

/** Two ranges with one zero line and the same divisions. Each argument: [low, high]. */
export function twins(one, other, divisions = 5) {
  const first = range(...one, divisions);
  const below = Math.round(-first.low / first.step);
  const least = Math.min(0, other[0]);
  const most = Math.max(0, other[1], 1e-9);
  const needs = Math.max(most / Math.max(1, divisions - below), below ? -least / below : 0);
  if (least < 0 && !below) return [first, range(...other, divisions)];
  const step = roundUp(needs || 1);
  return [first, spread(-below * step, step, divisions)];
}

function spread(low, step, divisions) {
  const ticks = Array.from({ length: divisions + 1 }, (_, k) => tidy(low + k * step));
  return { low: ticks[0], high: ticks[divisions], step, ticks };
}

/** An axis from 0 that ends exactly at `end` (synchronous speed) and has a tick there. */
export function ending(end, start = 0) {
  const length = end - start;
  for (const parts of [5, 6, 4, 8, 10]) {
    const step = length / parts;
    const power = 10 ** Math.floor(Math.log10(step));
    if (Math.abs(step / power - Math.round((step / power) * 2) / 2) < 1e-9) return spread(tidy(start), step, parts);
  }
  const step = roundUp(length / 6);
  const ticks = [];
  for (let at = start; at < end - 0.5 * step; at += step) ticks.push(tidy(at));
  return { low: start, high: end, step, ticks: [...ticks, tidy(end)] };
}

function tidy(value) {
  return Number(value.toPrecision(12));
}

/** Keeps `old` while it still serves: holds the data and is filled by at least half; otherwise takes `fresh`. */
export function steady(old, fresh) {
  const serves = old && old.ticks.length === fresh.ticks.length && old.high >= fresh.high && old.low <= fresh.low;
  return serves && fresh.high - fresh.low > 0.45 * (old.high - old.low) ? old : fresh;
}

/** A number to four significant figures at most, as a person writes it. */
export function figures(value, digits = 4) {
  if (value === null || value === undefined || !Number.isFinite(value)) return "–";
  if (value === 0) return "0";
  const size = Math.abs(value);
  if (size >= 1e6 || size < 1e-4) return value.toExponential(digits - 1).replace(/\.?0+e/, "e").replace("-", "−");
  const places = Math.max(0, digits - 1 - Math.floor(Math.log10(size)));
  return value.toFixed(Math.min(places, 8)).replace(/(\.\d*?)0+$/, "$1").replace(/\.$/, "").replace("-", "−");
}
