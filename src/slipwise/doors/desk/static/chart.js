// One picture: curves, points and uprights on one or two vertical axes, labelled on the curves. BokehJS draws; labels lie
// over it in SVG so that they can dodge the curves.

import { place } from "./labels.js";

const Bokeh = window.Bokeh;
const SVG = "http://www.w3.org/2000/svg";
const LOOK = ["paper", "ink", "quiet", "faint", "wash"];

/** Colours and sizes of the page as it is now, from its stylesheet. */
export function look() {
  const style = getComputedStyle(document.documentElement);
  const found = Object.fromEntries(LOOK.map((name) => [name, style.getPropertyValue(`--${name}`).trim()]));
  const size = parseFloat(style.fontSize);
  return { ...found, size, heavy: Math.max(1, size / 15), font: getComputedStyle(document.body).fontFamily };
}

export class Chart {
  /** `host`: an element whose size the picture takes. `words`: {x, left, right}, titles of the axes with units. */
  constructor(host, words) {
    this.host = host;
    this.words = words;
    this.before = new Map();
    this.sheet = null;
    this.ready = this.build();
    new ResizeObserver(() => this.sheet && this.later()).observe(host);
  }

  async build() {
    const { Range1d, LinearAxis, ColumnDataSource, Plotting } = Bokeh;
    const at = look();
    this.ranges = { x: new Range1d({ start: 0, end: 1 }), left: new Range1d({ start: 0, end: 1 }), right: new Range1d({ start: 0, end: 1 }) };
    const figure = Plotting.figure({
      sizing_mode: "stretch_both", tools: "", toolbar_location: null, x_range: this.ranges.x, y_range: this.ranges.left,
      outline_line_color: null, background_fill_color: null, border_fill_color: null, min_border: 2, output_backend: "canvas",
    });
    figure.extra_y_ranges = { right: this.ranges.right };
    this.axes = { x: figure.below[0], left: figure.left[0] };
    this.axes.right = new LinearAxis({ y_range_name: "right" });
    figure.add_layout(this.axes.right, "right");
    this.grids = figure.center.filter((one) => one instanceof Bokeh.Grid);
    const blank = () => new ColumnDataSource({ data: { xs: [], ys: [], colour: [], dash: [], width: [], alpha: [] } });
    const dots = () => new ColumnDataSource({ data: { x: [], y: [], shape: [], colour: [], fill: [], size: [] } });
    this.bands = new ColumnDataSource({ data: { left: [], right: [], bottom: [], top: [] } });
    this.band = figure.quad({ field: "left" }, { field: "right" }, { field: "bottom" }, { field: "top" }, { source: this.bands, line_color: null });
    this.lines = { under: blank(), left: blank(), right: blank() };
    this.points = { left: dots(), right: dots() };
    for (const side of ["under", "right", "left"]) {
      const name = side === "right" ? { y_range_name: "right" } : {};
      figure.multi_line({ field: "xs" }, { field: "ys" }, {
        source: this.lines[side], line_color: { field: "colour" }, line_dash: { field: "dash" }, line_width: { field: "width" },
        line_alpha: { field: "alpha" }, line_join: "round", ...name,
      });
      if (side === "under") continue;
      figure.scatter({ field: "x" }, { field: "y" }, {
        source: this.points[side], marker: { field: "shape" }, size: { field: "size" }, line_color: { field: "colour" },
        fill_color: { field: "fill" }, line_width: 1.6, ...name,
      });
    }
    this.figure = figure;
    this.dress(at);
    this.view = await Plotting.show(figure, this.host);
    this.host.firstElementChild?.shadowRoot?.querySelector(".bk-Canvas")?.setAttribute("tabindex", "-1"); // a picture: nothing in it takes keys
    this.over = document.createElementNS(SVG, "svg");
    this.over.setAttribute("class", "over");
    this.over.setAttribute("aria-hidden", "true");
    this.host.append(this.over);
    return this;
  }

  /** Whether the right axis is used. */
  two(used) {
    if (this.axes.right.visible !== used) this.axes.right.visible = used;
  }

  /** Type and colours of the page; again after light, dark or lecture. */
  dress(at = look()) {
    this.at = at;
    this.figure.min_border_left = Math.round(3.9 * at.size);
    this.figure.min_border_right = Math.round((this.words.right === undefined ? 1.2 : 3.9) * at.size);
    const size = `${at.size.toFixed(1)}px`;
    for (const axis of Object.values(this.axes)) {
      Object.assign(axis, {
        axis_line_color: at.quiet, major_tick_line_color: at.quiet, minor_tick_line_color: null, major_tick_in: 0, major_tick_out: 4,
        major_label_text_color: at.ink, major_label_text_font: at.font, major_label_text_font_size: size, axis_label: null,
        major_label_standoff: 4,
      });
    }
    for (const grid of this.grids) Object.assign(grid, { grid_line_color: at.faint, grid_line_width: 1 });
    this.band.glyph.fill_color = at.wash;
    this.before.clear();
    if (this.sheet) this.draw(this.sheet);
  }

  /**
   * `sheet`: {x, left, right: {low, high, ticks, words}, curves: [{id, axis, x, y, colour, dash, width, alpha, label, prefer}],
   * points: [{axis, x, y, shape, colour, hollow, label}], uprights: [{x, label}], bands: [[from, to]]}. Repaints on the next frame.
   */
  draw(sheet) {
    const inside = ({ x, y, axis }) => x <= sheet.x.high && x >= sheet.x.low && y <= sheet[axis ?? "left"].high && y >= sheet[axis ?? "left"].low;
    this.sheet = { ...sheet, points: (sheet.points ?? []).filter(inside) }; // a point beyond the axes has no place, and no label
    this.limits(this.sheet);
    for (const side of ["under", "left", "right"]) {
      const curves = sheet.curves.filter((curve) => (curve.under ? "under" : curve.axis ?? "left") === side);
      this.lines[side].data = {
        xs: curves.map(({ x }) => x), ys: curves.map(({ y }) => y), colour: curves.map(({ colour }) => colour),
        dash: curves.map(({ dash }) => (dash ?? []).map((length) => length * this.at.heavy)), width: curves.map(({ width }) => (width ?? 2) * this.at.heavy), alpha: curves.map(({ alpha }) => alpha ?? 1),
      };
    }
    this.dots("left");
    this.dots("right");
    const bands = sheet.bands ?? [];
    this.bands.data = {
      left: bands.map(([from]) => from), right: bands.map(([, to]) => to),
      bottom: bands.map(() => sheet.left.low), top: bands.map(() => sheet.left.high),
    };
    this.later();
  }

  limits(sheet) {
    for (const [side, axis] of Object.entries(this.axes)) {
      const { low, high, ticks, words } = sheet[side];
      const key = `${low} ${high} ${ticks} ${words}`;
      if (axis.tag === key) continue;
      axis.tag = key;
      Object.assign(this.ranges[side], { start: low, end: high });
      axis.ticker = new Bokeh.FixedTicker({ ticks, minor_ticks: [] });
      axis.major_label_overrides = new Map(ticks.map((tick, k) => [tick, words?.[k] ?? String(tick).replace("-", "−")]));
      if (side === "x") this.grids[0].ticker = axis.ticker;
      if (side === "left") this.grids[1].ticker = axis.ticker;
    }
  }

  /** Of an upright axis with words of its own only those that do not touch; powers of ten before others. */
  thin(at) {
    const { ticks, words } = this.sheet.left;
    if (!words) return;
    const order = [...ticks.keys()].sort((a, b) => Number(words[b].replace(".", "").replace(/^0+/, "").startsWith("1")) - Number(words[a].replace(".", "").replace(/^0+/, "").startsWith("1")));
    const kept = [];
    for (const k of order) if (kept.every((one) => Math.abs(at.y(ticks[k]) - at.y(ticks[one])) > 1.1 * this.at.size)) kept.push(k);
    const key = kept.join(" ");
    if (this.thinned === key && this.axes.left.tag === this.thinnedOf) return;
    Object.assign(this, { thinned: key, thinnedOf: this.axes.left.tag });
    this.axes.left.major_label_overrides = new Map(ticks.map((tick, k) => [tick, kept.includes(k) ? words[k] : ""]));
  }

  dots(side) {
    const cursor = this.moving ?? [];
    const points = [...(this.sheet.points ?? []), ...cursor].filter((point) => (point.axis ?? "left") === side && Number.isFinite(point.y));
    this.points[side].data = {
      x: points.map(({ x }) => x), y: points.map(({ y }) => y), shape: points.map(({ shape }) => shape ?? "circle"),
      colour: points.map(({ colour }) => colour), size: points.map(({ size }) => (size ?? 0.62) * this.at.size),
      fill: points.map(({ hollow, colour }) => (hollow ? this.at.paper : colour)),
    };
  }

  /** Moves the time cursor: an upright at `x` (null for none) and points that ride on curves. Labels stay where they are. */
  cursor(x, points = []) {
    this.cursorAt = x;
    this.moving = points;
    if (!this.sheet || !this.over) return;
    this.dots("left");
    this.dots("right");
    this.upright();
  }

  later() {
    if (this.pending) return;
    this.pending = true;
    requestAnimationFrame(() => {
      this.pending = false;
      if (this.view && this.over) this.overlay();
      this.painted?.();
    });
  }

  /** Pixels of the frame, and how to get there. */
  frame() {
    const view = this.view.frame ?? this.view.frame_view;
    const { left, top, width, height } = view.bbox;
    const map = (axis, value, start, length, flip) => {
      const { low, high } = this.sheet[axis];
      const share = (value - low) / (high - low);
      return start + length * (flip ? 1 - share : share);
    };
    return { left, top, width, height, x: (v) => map("x", v, left, width, false), y: (v, axis = "left") => map(axis, v, top, height, true) };
  }

  overlay() {
    const at = this.frame();
    if (!(at.width > 40)) return;
    const size = `${at.width} ${at.height}`;
    if (size !== this.size) this.before.clear(); // where labels stood on another sheet says nothing
    this.size = size;
    this.thin(at);
    const nodes = [...this.titles(at)];
    const { wanted, words } = this.asked(at);
    const paths = this.sheet.curves.filter(({ under }) => !under).map((curve) => ({ id: curve.id, path: this.path(curve, at) }));
    for (const { x, label } of this.uprights(at)) {
      paths.push({ id: `upright ${x}`, path: [[at.x(x), at.top], [at.x(x), at.top + at.height]] });
      if (label) paths.push({ id: `upright ${x} name`, path: this.named(x, label, at) });
    }
    const points = (this.sheet.points ?? []).map((point) => ({ x: at.x(point.x), y: at.y(point.y, point.axis) }));
    const shift = ([x, y]) => [x - at.left, y - at.top];
    const found = place({ width: at.width, height: at.height }, paths.map(({ id, path }) => ({ id, path: path.map(shift) })),
      points.map(({ x, y }) => ({ x: x - at.left, y: y - at.top })), wanted, this.before);
    this.before = new Map(found.map((spot) => [spot.key, spot]));
    this.placed = found.map((spot) => ({ ...spot, ...words.get(spot.key) }));
    for (const spot of this.placed) {
      if (spot.leader) {
        const [x1, y1, x2, y2] = spot.leader;
        nodes.push(element("line", { x1: x1 + at.left, y1: y1 + at.top, x2: x2 + at.left, y2: y2 + at.top, stroke: spot.colour }));
      }
      nodes.push(element("text", { x: spot.x + at.left, y: spot.y + at.top + 0.8 * this.at.size, fill: spot.colour }, spot.words));
    }
    for (const { x, label } of this.uprights(at)) {
      nodes.push(element("line", { x1: at.x(x), x2: at.x(x), y1: at.top, y2: at.top + at.height, stroke: this.at.quiet, "stroke-dasharray": "2 3" }));
      const late = this.late(x, label ?? "", at);
      if (label) nodes.push(element("text", { x: at.x(x) + (late ? -3 : 3), y: at.top + at.height - 5, fill: this.at.quiet, "text-anchor": late ? "end" : "start" }, label));
    }
    this.mark = element("line", { class: "cursor", stroke: this.at.ink });
    this.over.replaceChildren(...nodes, this.mark);
    this.upright();
  }

  /** The uprights, named where the name before leaves room. */
  uprights(at) {
    let taken = -Infinity;
    return (this.sheet.uprights ?? []).map(({ x, label }) => {
      const wide = label ? 3 + this.wide(label) : 0;
      const from = label && this.late(x, label, at) ? at.x(x) - wide : at.x(x);
      if (label && from < taken + 4) return { x };
      if (label) taken = from + wide;
      return { x, label };
    });
  }

  /** Whether the name of an upright has no room to the right of it. */
  late(x, label, at) {
    return at.x(x) + 3 + this.wide(label) > at.left + at.width;
  }

  /** A line back and forth through the name of an upright, for labels to keep off. */
  named(x, label, at) {
    const from = at.x(x);
    const to = from + (this.late(x, label, at) ? -1 : 1) * (3 + this.wide(label));
    const low = at.top + at.height - 5;
    return [[from, low], [to, low], [to, low - 0.4 * this.at.size], [from, low - 0.4 * this.at.size], [from, low - 0.8 * this.at.size], [to, low - 0.8 * this.at.size]];
  }

  upright() {
    if (!this.mark) return;
    const at = this.frame();
    this.mark.setAttribute("visibility", this.cursorAt === null || this.cursorAt === undefined ? "hidden" : "visible");
    const shown = this.cursorAt !== null && this.cursorAt !== undefined;
    for (const [name, value] of Object.entries({ x1: shown ? at.x(this.cursorAt) : -9, x2: shown ? at.x(this.cursorAt) : -9, y1: at.top, y2: at.top + at.height })) {
      this.mark.setAttribute(name, value);
    }
  }

  *titles(at) {
    const up = at.top - 0.55 * this.at.size;
    const [left, right] = this.room([this.words.left, this.words.right], at);
    yield element("text", { x: at.left, y: up, fill: this.at.ink }, left);
    if (right) yield element("text", { x: at.left + at.width, y: up, fill: this.at.ink, "text-anchor": "end" }, right);
    yield element("text", { x: at.left + at.width / 2, y: at.top + at.height + 2.55 * this.at.size, fill: this.at.ink, "text-anchor": "middle" }, this.words.x);
  }

  /** Both titles as they are where they fit beside each other; else without what stands in brackets, that of the left first. */
  room([left, right], at) {
    const bare = (words) => words.replace(/ \([^)]*\)/g, "");
    const tries = right ? [[left, right], [bare(left), right], [bare(left), bare(right)]] : [[left, right]];
    return tries.find((titles) => this.wide(titles[0]) + this.wide(titles[1] ?? "") + this.at.size < at.width) ?? tries[tries.length - 1];
  }

  asked(at) {
    const words = new Map();
    const wanted = [];
    const ask = (key, text, colour, rest) => {
      words.set(key, { words: text, colour });
      wanted.push({ key, width: this.wide(text), height: 1.15 * this.at.size, ...rest });
    };
    for (const [k, point] of (this.sheet.points ?? []).entries()) {
      if (point.label) ask(point.key ?? `point ${k}`, point.label, point.colour, { rank: point.rank ?? 0, reach: point.reach, point: { x: at.x(point.x) - at.left, y: at.y(point.y, point.axis) - at.top } });
    }
    for (const curve of this.sheet.curves) {
      if (curve.label) ask(curve.id, curve.label, curve.colour, { rank: curve.rank ?? 1, reach: curve.reach, curve: curve.id, prefer: curve.prefer });
    }
    wanted.sort((one, other) => one.rank - other.rank);
    return { wanted, words };
  }

  path({ x, y, axis }, at) {
    const path = [];
    const step = Math.max(1, Math.floor(x.length / 160));
    for (let k = 0; k < x.length; k += k + step < x.length || k === x.length - 1 ? step : x.length - 1 - k) {
      const v = at.y(y[k], axis);
      if (Number.isFinite(v) && x[k] <= this.sheet.x.high && x[k] >= this.sheet.x.low) path.push([at.x(x[k]), Math.min(Math.max(v, at.top), at.top + at.height)]);
    }
    return path;
  }

  wide(text) {
    const pen = (Chart.pen ??= document.createElement("canvas").getContext("2d"));
    pen.font = `${this.at.size}px ${this.at.font}`;
    return pen.measureText(text).width;
  }
}

function element(name, attributes, words) {
  const node = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  if (words !== undefined) node.textContent = words;
  return node;
}
