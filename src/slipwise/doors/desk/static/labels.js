// Labels on the curves in place of a legend. The sheet is a raster on which curves, points and earlier labels are marked;
// a running sum over it tells at once whether a box is free. A label goes to the free spot that is close to its own curve,
// far from any other, near where it stood before; without room close by it gets a thin leader.

const CELL = 4; // pixels
const MOST = 4000; // cells along a line
const TEXT = 60; // what a leader across another label costs, in times of a curve

class Raster {
  constructor(width, height) {
    this.columns = Math.ceil(width / CELL) + 1;
    this.rows = Math.ceil(height / CELL) + 1;
    this.cells = new Uint8Array(this.columns * this.rows);
    this.sum = new Int32Array((this.columns + 1) * (this.rows + 1));
  }

  mark(x, y, weight = 1) {
    const column = Math.floor(x / CELL);
    const row = Math.floor(y / CELL);
    if (column >= 0 && row >= 0 && column < this.columns && row < this.rows) this.cells[row * this.columns + column] = weight;
  }

  line(x0, y0, x1, y1) {
    const parts = Math.min(MOST, Math.max(1, Math.ceil(Math.hypot(x1 - x0, y1 - y0) / CELL)));
    for (let k = 0; k <= parts; k += 1) this.mark(x0 + ((x1 - x0) * k) / parts, y0 + ((y1 - y0) * k) / parts);
  }

  /** How many taken cells a line would cross, its ends left out. */
  crossed(x0, y0, x1, y1) {
    const parts = Math.min(MOST, Math.ceil(Math.hypot(x1 - x0, y1 - y0) / CELL));
    let found = 0;
    for (let k = 2; k < parts - 1; k += 1) {
      const column = Math.floor((x0 + ((x1 - x0) * k) / parts) / CELL);
      const row = Math.floor((y0 + ((y1 - y0) * k) / parts) / CELL);
      found += this.cells[row * this.columns + column] || 0;
    }
    return found;
  }

  /** weight: what a leader across it costs, in times of a curve. */
  box(x, y, width, height, weight = 1) {
    for (let v = y; v <= y + height + CELL / 2; v += CELL) for (let u = x; u <= x + width + CELL / 2; u += CELL) this.mark(u, v, weight);
  }

  total() {
    const wide = this.columns + 1;
    for (let row = 0; row < this.rows; row += 1) {
      let along = 0;
      for (let column = 0; column < this.columns; column += 1) {
        along += this.cells[row * this.columns + column];
        this.sum[(row + 1) * wide + column + 1] = this.sum[row * wide + column + 1] + along;
      }
    }
  }

  /** How many cells under a box are taken; boxes that leave the sheet count as full. */
  taken(x, y, width, height) {
    const left = Math.floor(x / CELL);
    const top = Math.floor(y / CELL);
    const right = Math.floor((x + width) / CELL) + 1;
    const bottom = Math.floor((y + height) / CELL) + 1;
    if (left < 0 || top < 0 || right > this.columns || bottom > this.rows) return 1e6;
    const wide = this.columns + 1;
    return this.sum[bottom * wide + right] - this.sum[top * wide + right] - this.sum[bottom * wide + left] + this.sum[top * wide + left];
  }
}

/**
 * Places labels. `sheet`: {width, height}; `curves`: [{id, path: [[x, y], …]}] in pixels; `points`: [{x, y}];
 * `wanted`: [{key, words, width, height, curve | point, prefer, reach}] in their order of worth; reach: longest leader, as a
 * share of the width, of a label that may be left out; `before`: Map key -> {x, y} of the last time.
 * Answers [{key, x, y, leader: [x0, y0, x1, y1] | null}], upper left corners; a label without any room is left out.
 */
export function place(sheet, curves, points, wanted, before) {
  const raster = new Raster(sheet.width, sheet.height);
  for (const { path } of curves) for (let k = 1; k < path.length; k += 1) raster.line(...path[k - 1], ...path[k]);
  for (const { x, y } of points) raster.box(x - 7, y - 7, 14, 14);
  const paths = new Map(curves.map(({ id, path }) => [id, thinned(path)]));
  const found = [];
  for (const label of wanted) {
    raster.total();
    const own = label.point ? [[label.point.x, label.point.y]] : paths.get(label.curve) ?? [];
    const others = [...paths].filter(([id]) => id !== label.curve && !label.point).map(([, path]) => path);
    const spot = own.length ? best(raster, sheet, label, own, others, before.get(label.key)) : null;
    if (!spot) continue;
    raster.box(spot.x - 2, spot.y - 1, label.width + 4, label.height + 2, TEXT);
    if (spot.leader) raster.line(...spot.leader);
    found.push({ key: label.key, ...spot });
  }
  return found;
}

function best(raster, sheet, label, own, others, before) {
  const near = candidates(own, label);
  if (before) near.unshift([before.x, before.y]);
  let choice = cheapest(raster, near, label, own, others, before);
  if (!choice) choice = cheapest(raster, everywhere(sheet, label), label, own, others, before);
  if (!choice) return null;
  const [x, y] = choice;
  const line = leader(own, x, y, label);
  const length = Math.hypot(line[2] - line[0], line[3] - line[1]);
  if (length > (label.reach ?? Infinity) * sheet.width || (label.reach && length > label.height && raster.crossed(...line) >= TEXT)) return null;
  const far = length > label.height;
  return { x, y, leader: far ? line : null };
}

/** From the edge of a label to the nearest point of its curve. */
function leader(own, x, y, label) {
  const end = nearest(own, x, y, label);
  return [Math.min(Math.max(end[0], x), x + label.width), Math.min(Math.max(end[1], y), y + label.height), ...end];
}

function candidates(own, { width, height, point }) {
  const spots = [];
  const gap = point ? 10 : 5;
  for (const [x, y] of own) {
    for (const [u, v] of [[x - width / 2, y - height - gap], [x - width / 2, y + gap], [x + gap + 2, y - height / 2],
      [x - width - gap - 2, y - height / 2], [x + gap, y - height - gap], [x - width - gap, y - height - gap],
      [x + gap, y + gap], [x - width - gap, y + gap]]) spots.push([u, v]);
  }
  return spots;
}

function everywhere(sheet, { width, height }) {
  const spots = [];
  for (let y = 2; y < sheet.height - height; y += 8) for (let x = 2; x < sheet.width - width; x += 16) spots.push([x, y]);
  return spots;
}

function cheapest(raster, spots, label, own, others, before) {
  let least = Infinity;
  let choice = null;
  const wanted = label.prefer === undefined ? null : own[Math.round(label.prefer * (own.length - 1))];
  for (const [x, y] of spots) {
    if (raster.taken(x - 2, y - 1, label.width + 4, label.height + 2)) continue;
    const far = distance(own, x, y, label);
    let cost = far;
    if (wanted) cost += 0.1 * Math.abs(x + label.width / 2 - wanted[0]);
    if (before) cost += Math.min(12, 0.2 * Math.hypot(x - before.x, y - before.y));
    if (cost >= least) continue;
    for (const path of others) cost += 3 * Math.max(0, far + 6 - distance(path, x, y, label));
    if (cost < least && far > label.height) cost += 5 * raster.crossed(...leader(own, x, y, label));
    if (cost < least) [least, choice] = [cost, [x, y]];
  }
  return choice;
}

function distance(path, x, y, { width, height }) {
  let least = Infinity;
  for (const [u, v] of path) {
    const across = Math.max(x - u, 0, u - x - width);
    const up = Math.max(y - v, 0, v - y - height);
    least = Math.min(least, across * across + up * up);
  }
  return Math.sqrt(least);
}

function nearest(path, x, y, { width, height }) {
  let least = Infinity;
  let choice = path[0];
  for (const spot of path) {
    const beside = Math.hypot(Math.max(x - spot[0], 0, spot[0] - x - width), Math.max(y - spot[1], 0, spot[1] - y - height));
    const away = beside + 0.05 * Math.hypot(spot[0] - x - width / 2, spot[1] - y - height / 2);
    if (away < least) [least, choice] = [away, spot];
  }
  return choice;
}

/** At most 36 points of a path, for distances. */
function thinned(path) {
  const step = Math.max(1, Math.floor(path.length / 36));
  return path.filter((_, k) => k % step === 0 || k === path.length - 1);
}
