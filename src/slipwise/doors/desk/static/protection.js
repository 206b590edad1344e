// The time-current picture: the start, the relay's tripping times and what the motor bears, over current, both axes logarithmic.

import { hue } from "./hues.js";

const DIGITS = [1, 2, 5];

/** `found`: time_current of a judged way; `number`: of the way. Times in s over multiples of rated current. */
export function timeCurrent(found, number, { ink, quiet }) {
  const curves = [];
  const add = (id, current, time, rest) => {
    const known = current.map((value, k) => [value, time[k]]).filter(([value, seconds]) => value > 0 && seconds > 0);
    if (known.length > 1) curves.push({ id, x: known.map(([value]) => Math.log10(value)), y: known.map(([, seconds]) => Math.log10(seconds)), width: 1.8, ...rest });
  };
  add("start", found.start.current, found.start.time, { colour: hue(number), width: 3, label: "this start", prefer: 0.6 });
  if (found.relay) {
    const { current, quick_cold: quickCold, slow_cold: slowCold, quick_hot: quickHot, slow_hot: slowHot } = found.relay;
    add("cold fast", current, quickCold, { colour: ink, width: 1.2, label: "relay from cold, fastest", prefer: 0.3 });
    add("cold slow", current, slowCold, { colour: ink, label: "relay from cold, slowest", prefer: 0.25 });
    add("hot fast", current, quickHot, { colour: quiet, dash: [5, 3], width: 1.2, label: "relay from hot, fastest", prefer: 0.5 });
    add("hot slow", current, slowHot, { colour: quiet, dash: [5, 3], label: "relay from hot, slowest", prefer: 0.6 });
  }
  const points = (found.stalls ?? []).flatMap(({ label, current, hot, cold }) => [["hot", hot], ["cold", cold]].filter(([, seconds]) => seconds > 0).map(([state, seconds]) => (
    { x: Math.log10(current), y: Math.log10(seconds), colour: hue(7), shape: "square", hollow: state === "cold", rank: 2, label: `${label}, ${state}`, key: `${label} ${state}` })));
  const uprights = found.trip ? [{ x: Math.log10(found.trip.current), label: "instantaneous trip" }] : [];
  return { x: decades([...curves.flatMap(({ x }) => x), ...points.map(({ x }) => x)]), left: decades([...curves.flatMap(({ y }) => y), ...points.map(({ y }) => y)]), right: { low: 0, high: 1, ticks: [] }, curves, points, uprights };
}

/** A logarithmic axis: ticks at 1, 2 and 5 of each decade, from below the least to above the greatest. */
function decades(values) {
  const [least, most] = values.reduce(([low, high], value) => [Math.min(low, value), Math.max(high, value)], [0, 0]);
  const all = [];
  for (let power = Math.floor(least); power <= Math.ceil(most); power += 1) for (const digit of DIGITS) all.push({ at: Math.log10(digit) + power, value: digit * 10 ** power });
  const from = all.findLastIndex(({ at }) => at <= least + 1e-9);
  const to = all.findIndex(({ at }) => at >= most - 1e-9);
  const ticks = all.slice(Math.max(0, from), to < 0 ? undefined : to + 1);
  return { low: ticks[0].at, high: ticks[ticks.length - 1].at, ticks: ticks.map(({ at }) => at), words: ticks.map(({ value }) => String(Number(value.toPrecision(2)))) };
}
