// The other views: speed control, heat and protection, the fit of the model to the plate, and teaching.

import { askLong, Newest } from "./api.js";
import { choice, fill, h, table } from "./dom.js";

const HEAT = /heat|thermal|protection|relay|duty|limit-curve/;
const SPEED = /speed|famil|loss|year|duty|process|harmonic|envelope/;
const FIT = /fit|plate|residual|bench|identif|recording/;

export class Pages {
  constructor(desk, centre, side) {
    Object.assign(this, { desk, centre, side });
    this.asking = new Newest((question, signal) => question(signal));
    this.drawing = new Newest((question, signal) => this.draw(question, signal));
    desk.addEventListener("judged", () => this.judged());
    desk.addEventListener("explain", ({ detail }) => {
      this.name = detail;
      desk.tell("view", "teach");
    });
  }

  get open() {
    return this.desk.view !== "starting";
  }

  judged() {
    if (this.open && !this.desk.stale) this.show(this.desk.view);
  }

  dress() {
    this.shown = null;
    if (this.open) this.show(this.desk.view);
  }

  show(key) {
    this.asking.cancel();
    this.drawing.cancel();
    this[key]?.();
  }

  /** Pictures made by the library, one of them shown. */
  pictures(figures, none) {
    if (!figures.length) {
      fill(this.centre, h("p", { class: "quiet" }, none));
      return;
    }
    const chosen = figures.find(({ key }) => key === this.figure) ?? figures[0];
    this.figure = chosen.key;
    this.image = h("img", { alt: "", class: "picture" });
    const select = h("select", { "aria-label": "Figure", onchange: () => { this.figure = select.value; this.drawing.ask(select.value); } },
      figures.map(({ key, title }) => h("option", { value: key, selected: key === chosen.key }, title)));
    const row = figures.length > 5 ? select : choice("Figure", figures, chosen.key, (key) => { this.figure = key; this.pictures(figures, none); });
    fill(this.centre, h("div", { class: "strip" }, row), this.image);
    this.titles = new Map(figures.map(({ key, title }) => [key, title]));
    this.drawing.ask(chosen.key);
  }

  async draw(key, signal) {
    const image = this.image;
    const mode = document.documentElement.dataset.mode === "dark" ? "dark" : "light";
    image.alt = `${this.titles.get(key)}: being drawn`;
    try {
      const found = await askLong("export", { ...this.desk.state, what: "figure", key, format: "svg", mode, size: "projector", transients: false }, signal);
      image.onload = () => URL.revokeObjectURL(image.src);
      image.src = URL.createObjectURL(new Blob([Uint8Array.from(atob(found.base64), (letter) => letter.charCodeAt(0))], { type: "image/svg+xml" }));
      image.alt = this.titles.get(key);
    } catch (error) {
      if (error.name === "AbortError") throw error;
      image.alt = error.message;
    }
  }

  /** Tables of the library whose key is of this kind. */
  tables(tables, kind = /./) {
    return Object.entries(tables ?? {}).filter(([key, one]) => kind.test(key) && one.rows.length).map(([, one]) => table(one));
  }

  speed() {
    const { judged } = this.desk;
    if (!judged) return this.waiting();
    const figures = (judged.figures ?? []).filter(({ key }) => SPEED.test(key));
    this.pictures(judged.speed ? figures : [], "The study asks for no speed control: give a duty, [[speed.duty]], in the study file.");
    if (!judged.speed) return fill(this.side);
    const rows = judged.speed.ways.map((way) => [way.title, way.status, way.binding?.margin_text ?? "", way.year.energy_text, way.year.payback_text]);
    fill(this.side, h("p", { class: "reason" }, judged.speed.recommendation.sentence),
      table({ title: "Ways of speed control", note: judged.speed.notes.join(" "), columns: [{ title: "way" }, { title: "verdict" }, { title: "margin", numeric: true }, { title: "energy a year", numeric: true }, { title: "payback", numeric: true }], rows }),
      this.tables(judged.tables, SPEED));
    return null;
  }

  waiting() {
    fill(this.side);
    fill(this.centre, h("p", { class: "quiet" }, "Verdicts are being computed …"));
  }

  heat() {
    const { judged } = this.desk;
    if (!judged) return this.waiting();
    this.pictures((judged.figures ?? []).filter(({ key }) => HEAT.test(key)), "The study gives no thermal data to draw.");
    const way = judged.ways.find(({ key }) => key === this.desk.chosen);
    const rows = (way?.criteria ?? []).filter(({ key }) => /heat|stall|relay|trip|therm|protection|starts/.test(key));
    fill(this.side, h("h2", {}, way?.title ?? ""), rows.length ? this.criteria(rows) : null, this.tables(judged.tables, HEAT));
    return null;
  }

  criteria(rows) {
    return table({ title: "", note: "", columns: [{ title: "criterion" }, { title: "value", numeric: true }, { title: "limit", numeric: true }, { title: "margin", numeric: true }, { title: "" }],
      rows: rows.map((row) => [row.title, this.number(row.value_text, row.explain), row.limit_text, row.margin_text, row.status]) });
  }

  /** A number that can be asked why. */
  number(text, name) {
    return name ? h("button", { type: "button", title: "Why this number?", onclick: () => this.desk.tell("explain", name) }, text) : text;
  }

  fit() {
    const { judged } = this.desk;
    if (!judged) return this.waiting();
    const upload = h("input", { type: "file", multiple: true, "aria-label": "Recording of a start (CSV, COMTRADE)", onchange: () => this.identify([...upload.files]) });
    this.found = h("div", { class: "found" });
    fill(this.centre, h("h2", {}, "Plate against model"), this.plate(judged.plate), h("h2", {}, "Fit a recording"),
      h("p", { class: "quiet" }, "A recorded start as CSV or COMTRADE, described under [motor.recording] in the study file."), upload, this.found);
    fill(this.side, this.tables(judged.tables, FIT),
      table({ title: "Values of the motor", columns: [{ title: "value" }, { title: "", numeric: true }, { title: "origin" }], note: "",
        rows: this.desk.fields.filter(({ section, origin }) => section.startsWith("motor") && origin !== "absent").map((field) => [field.label, field.shown, [field.origin, field.range_text].filter(Boolean).join(", ")]) }));
    return null;
  }

  plate(rows) {
    return rows ? table({ ...rows, title: "" }) : h("p", { class: "quiet" }, "The motor is not described by a plate.");
  }

  async identify(files) {
    if (!files.length) return;
    fill(this.found, h("p", {}, "Reading …"));
    const recording = await Promise.all(files.map(async (file) => ({ name: file.name, base64: await base64(file) })));
    this.asking.ask(async (signal) => {
      try {
        const found = await askLong("identify", { ...this.desk.state, recording }, signal, (progress) => this.desk.tell("progress", progress));
        fill(this.found, this.tables(found.tables), found.block && [h("h2", {}, "For the study file"), h("pre", {}, found.block)]);
      } catch (error) {
        if (error.name === "AbortError") throw error;
        fill(this.found, h("p", { class: "bad" }, error.message));
      }
    });
  }

  teach() {
    const { judged } = this.desk;
    const explanations = judged?.explanations ?? [];
    if (!explanations.length) return fill(this.centre, h("p", { class: "quiet" }, "Numbers are being computed …"));
    this.name = explanations.some(({ name }) => name === this.name) ? this.name : explanations[0].name;
    const list = h("ul", { class: "numbers" }, explanations.map(({ name, title, shown }) => h("li", {}, h("button", { type: "button", "aria-pressed": String(name === this.name), onclick: () => { this.name = name; this.teach(); } }, title), h("span", { class: "number" }, shown))));
    const scroll = this.side.querySelector(".numbers")?.scrollTop;
    fill(this.side, h("h2", {}, "Numbers of this study"), list);
    if (scroll) list.scrollTop = scroll;
    list.querySelector('[aria-pressed="true"]').scrollIntoView({ block: "nearest" });
    this.asking.ask(async (signal) => {
      try {
        const { items } = await askLong("explain", { ...this.desk.state, name: this.name }, signal);
        fill(this.centre, items.map((item) => this.steps(item)));
      } catch (error) {
        if (error.name === "AbortError") throw error;
        fill(this.centre, h("p", { class: "bad" }, error.message));
      }
    });
    return null;
  }

  formula(mathml, text) {
    const node = h("div", { class: "math" });
    if (mathml) node.innerHTML = mathml; // made by the library from its own formulas, never from a study's text
    else node.textContent = text;
    return node;
  }

  steps(item) {
    const lines = [[item.formula_mathml, item.formula_text], [item.numbers_mathml, item.numbers_text]].filter(([mathml, text]) => mathml || text);
    return h("article", { class: "worked" }, h("h2", {}, item.title), h("p", { class: "result" }, item.shown), lines.map((line) => this.formula(...line)),
      table({ title: "", note: "", columns: [{ title: "symbol" }, { title: "quantity" }, { title: "value", numeric: true }, { title: "origin" }], rows: item.inputs.map(({ symbol, name, shown, origin }) => [symbol, name, shown, origin]) }),
      item.method && h("p", {}, item.method), item.source && h("p", { class: "quiet" }, `Source: ${item.source}`));
  }
}

async function base64(file) {
  const bytes = new Uint8Array(await file.arrayBuffer());
  let binary = "";
  for (let at = 0; at < bytes.length; at += 32768) binary += String.fromCharCode(...bytes.subarray(at, at + 32768));
  return btoa(binary);
}
