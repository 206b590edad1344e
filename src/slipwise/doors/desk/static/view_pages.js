// The other views: speed control, heat and protection, the fit of the model to the plate, and teaching.

import { askLong, Newest } from "./api.js";
import { Chart, look } from "./chart.js";
import { choice, fill, h, table } from "./dom.js";
import { capital } from "./fields.js";
import { Pair } from "./pair.js";
import { timeCurrent } from "./protection.js";
import { familySheet } from "./speed.js";
import { GroupView } from "./view_group.js";
import { StoppingView } from "./view_stopping.js";
import { SupplyView } from "./view_supply.js";
import { Teaching } from "./view_teach.js";
import { criteria, SHORT } from "./ways.js";

/** What the views show that only some studies ask for: keys of a judged study. */
export const SECTIONS = { stopping: "stopping", supply: "disturbances", group: "group" };
const HEAT = /heat|thermal|protection|relay|starts_in_a_row|stall/;

export class Pages {
  constructor(desk, centre, side) {
    Object.assign(this, { desk, centre, side });
    this.asking = new Newest((question, signal) => desk.working(() => question(signal)));
    this.pair = new Pair();
    this.views = Object.fromEntries([["stopping", StoppingView], ["supply", SupplyView], ["group", GroupView]].map(([key, View]) => [key, new View(desk, centre, side, this.pair)]));
    this.teaching = new Teaching(this);
    this.drawing = new Newest((question, signal) => desk.working(() => this.draw(question, signal)));
    desk.addEventListener("judged", () => this.judged());
    desk.study.addEventListener("change", ({ detail }) => detail === "open" && Object.values(this.views).forEach((view) => view.reset()));
    desk.addEventListener("explain", ({ detail }) => {
      this.teaching.name = detail;
      desk.tell("view", "teach");
    });
  }

  /** The view of a part of the study that is being shown, or null. */
  get timed() {
    return (this.desk.judged?.[SECTIONS[this.desk.view]] && this.views[this.desk.view]) || null;
  }

  get open() {
    return this.desk.view !== "starting";
  }

  judged() {
    for (const part of [this.centre, this.side]) {
      part.style.opacity = this.desk.stale ? 0.6 : "";
      part.setAttribute("aria-busy", String(Boolean(this.desk.stale)));
    }
    if (this.open && !this.desk.stale) this.show(this.desk.view);
  }

  dress() {
    this.shown = null;
    if (this.open) this.show(this.desk.view);
  }

  show(key) {
    this.asking.cancel();
    this.drawing.cancel();
    this.pair.clock.pause();
    if (key === "starting") [this.centre, this.side].forEach((part) => fill(part)); // nothing of a closed view stays
    else if (!this.views[key]) this[key]?.();
    else if (this.desk.judged?.[SECTIONS[key]]) this.views[key].show();
    else this.waiting();
  }

  /** Pictures made by the library, one of them shown. */
  pictures(figures, none, host = this.centre) {
    if (!figures.length) {
      fill(host, h("p", { class: "quiet" }, none));
      return;
    }
    const chosen = figures.find(({ key }) => key === this.figure) ?? figures[0];
    this.figure = this.desk.onScreen = chosen.key;
    this.image = h("img", { alt: "", class: "picture" });
    const select = h("select", { "aria-label": "Figure", onchange: () => { this.figure = this.desk.onScreen = select.value; this.drawing.ask(select.value); } },
      figures.map(({ key, title }) => h("option", { value: key, selected: key === chosen.key }, title)));
    const row = figures.length > 5 ? select : choice("Figure", figures, chosen.key, (key) => { this.figure = key; this.pictures(figures, none, host); });
    fill(host, h("div", { class: "strip" }, row), this.image);
    this.titles = new Map(figures.map(({ key, title }) => [key, title]));
    this.drawing.ask(chosen.key);
  }

  async draw(key, signal) {
    const image = this.image;
    const mode = document.documentElement.dataset.mode === "dark" ? "dark" : "light";
    image.alt = `${this.titles.get(key)}: being drawn`;
    try {
      const found = await askLong("export", { ...this.desk.state, what: "figure", key, format: "svg", mode, size: "projector", transients: false }, signal);
      const loaded = new Promise((done) => { image.onload = image.onerror = done; });
      image.src = URL.createObjectURL(new Blob([Uint8Array.from(atob(found.base64), (letter) => letter.charCodeAt(0))], { type: "image/svg+xml" }));
      await loaded;
      URL.revokeObjectURL(image.src);
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
    const { speed } = judged;
    if (!speed) {
      fill(this.side);
      return fill(this.centre, h("p", { class: "quiet" }, "The study asks for no speed control. It is compared for the demands of a year, [[speed.duty]] in the study file: a speed, and its hours."),
        h("button", { type: "button", class: "deed", onclick: () => this.desk.append(this.duty()) }, "Add an example of a duty"),
        h("p", { class: "quiet" }, "Two demands at the load's own torque, made up to begin with: change their speeds and hours under Speed in the strip above. Undo takes them out again."));
    }
    const way = speed.ways.find(({ key }) => key === this.speedWay) ?? speed.ways.find(({ key }) => key === speed.recommendation.way) ?? speed.ways[0];
    this.speedWay = way.key;
    const upper = h("div", { class: "upper-half" });
    const lower = h("div", { class: "lower-half" });
    const names = choice("Way of speed control", speed.ways.map(({ key, title }) => ({ key, title })), way.key, (key) => { this.speedWay = key; this.speed(); });
    fill(this.centre, names, upper, lower);
    this.family(upper, speed, way);
    const figures = judged.figures.filter(({ key }) => key.startsWith(`${way.key}.`) && !key.includes(".family")).concat(judged.figures.filter(({ key }) => key.startsWith("speed_")));
    this.pictures(figures, "", lower);
    fill(this.side, this.speedTable(speed, way), this.tables(judged.tables, new RegExp(`^speed/(?!comparison)|^${way.key}/(points|losses|settings)`)));
    return null;
  }

  /** Lines of a made-up duty: rated speed and four fifths of it. */
  duty() {
    const { rated, units } = this.desk.data;
    const demand = (name, share) => ["[[speed.duty]]", `name = "${name}"`, `speed = "${Number((share * rated.speed).toPrecision(4))} ${units.speed}"`, "hours = 2000"];
    return ["# Example of a duty, not of this machine: change speeds and hours.", ...demand("rated speed", 1), "", ...demand("four fifths", 0.8)];
  }

  speedTable(speed, chosen) {
    const rows = speed.ways.map((way) => [way.title, SHORT[way.status] ?? way.status, way.year.energy_text, way.year.payback_text]);
    const columns = [{ title: "way" }, { title: "verdict" }, { title: "energy a year" }, { title: "payback" }];
    return [h("p", { class: "reason" }, speed.recommendation.sentence), table({ title: "Ways of speed control", note: "", columns, rows }),
      h("p", {}, `${chosen.title}: ${chosen.reason || chosen.status}`), speed.notes.map((note) => h("p", { class: "quiet" }, note))];
  }

  /** The characteristics of the chosen way, one family at a time. */
  family(host, speed, way) {
    if (!way.families.length) return fill(host, h("p", { class: "quiet" }, `${way.title} has no family of characteristics.`));
    const family = way.families.find(({ key }) => key === this.familyKey) ?? way.families[0];
    this.familyKey = family.key;
    const number = speed.ways.indexOf(way);
    const several = way.families.length > 1 && choice("Family", way.families, family.key, (key) => { this.familyKey = key; this.family(host, speed, way); });
    fill(host, several, family.note && h("p", { class: "quiet" }, family.note));
    const { units } = speed;
    this.sheetChart(host, { x: `speed, ${units.speed}`, left: `torque, ${units.torque} (solid); ${family.title}`, right: `line current, ${units.current} (dashed)` },
      () => familySheet(family, way.points, number, speed.synchronous_speed, look().ink),
      `${way.title}: ${family.title}; ${way.points.map(({ name, feasible, efficiency_text: text }) => `${name} ${feasible ? `efficiency ${text}` : "not served"}`).join(", ")}`);
    return null;
  }

  waiting() {
    fill(this.side);
    fill(this.centre, h("p", { class: "quiet" }, "Verdicts are being computed …"));
  }

  heat() {
    const { judged } = this.desk;
    if (!judged) return this.waiting();
    const way = judged.ways.find(({ key }) => key === this.desk.chosen);
    const upper = h("div", { class: "upper-half" });
    const lower = h("div", { class: "lower-half" });
    fill(this.centre, choice("Way of starting", judged.ways.filter(({ criteria: all }) => all.length), this.desk.chosen, (key) => { this.desk.pick(key); this.heat(); }), upper, lower);
    if (way?.time_current) this.protection(upper, way);
    else upper.remove();
    const mine = ({ key }) => HEAT.test(key) && (!key.includes(".") || key.startsWith(`${this.desk.chosen}.`));
    this.pictures(judged.figures.filter(mine), "The study gives no thermal data to draw.", lower);
    const rows = (way?.criteria ?? []).filter(({ key }) => /heat|stall|relay|trip|therm|protection|starts|temperature|duty/.test(key));
    fill(this.side, h("h2", {}, way?.title ?? ""), way?.protection && h("p", {}, `Overload relay: ${way.protection}`), way?.time_current?.trip?.words && h("p", {}, way.time_current.trip.words),
      rows.length ? this.criteria(rows) : null,
      this.tables(Object.fromEntries(Object.entries(judged.tables).filter(([key]) => !key.includes("/") || key.startsWith(`${this.desk.chosen}/`))), HEAT));
    return null;
  }

  /** The start against the relay and what the motor bears. */
  protection(host, way) {
    const { rated_text: rated } = way.time_current;
    this.sheetChart(host, { x: `line current, multiples of rated (${rated})`, left: "time, s", right: "" }, () => timeCurrent(way.time_current, this.desk.number, look()),
      `${way.title}: time over current of the start, of the overload relay and of what the motor bears. ${way.protection ?? ""}`);
  }

  /** One chart of this page, drawn anew. */
  sheetChart(host, words, sheet, description) {
    if (!this.chart) {
      this.chartHost = h("div", { class: "chart", role: "img" });
      this.chart = new Chart(this.chartHost, { x: "", left: "", right: "" });
    }
    host.append(this.chartHost);
    this.chartHost.setAttribute("aria-label", description);
    this.chart.words = words;
    this.chart.ready.then(() => {
      this.chart.two(Boolean(words.right));
      this.chart.dress();
      this.chart.draw(sheet());
    });
  }

  criteria(rows) {
    return criteria(rows, (name) => this.desk.tell("explain", name));
  }

  teach() {
    this.teaching.show();
  }

  fit() {
    const { judged, faults } = this.desk;
    if (!judged && !faults?.length) return this.waiting();
    const upload = h("input", { type: "file", multiple: true, "aria-label": "Recording of a start (CSV, COMTRADE)", onchange: () => this.identify([...upload.files]) });
    this.found = h("div", { class: "found" });
    fill(this.centre, judged && [h("h2", {}, "Plate against model"), this.plate(judged.plate)], h("h2", {}, "Fit a recording"),
      h("p", { class: "quiet" }, "A recorded start as CSV or COMTRADE; [motor.recording] in the study file says what its columns mean."), upload,
      h("button", { type: "button", class: "deed", onclick: () => this.identify([]) }, "Fit what the study says"), this.found);
    fill(this.side,
      table({ title: "Values of the motor", columns: [{ title: "value" }, { title: "", numeric: true }, { title: "origin" }], note: "",
        rows: this.desk.fields.filter(({ section, origin }) => section.startsWith("motor") && origin !== "absent").map((field) => [capital(field.label), field.written ? field.text : field.shown, [field.origin, field.range_text].filter(Boolean).join(", ")]) }));
    return null;
  }

  plate(rows) {
    return rows ? table({ ...rows, title: "" }) : h("p", { class: "quiet" }, "The motor is not described by a plate.");
  }

  async identify(files) {
    fill(this.found, h("p", {}, "Reading …"));
    const recording = await Promise.all(files.map(async (file) => ({ name: file.name, base64: await base64(file) })));
    this.asking.ask(async (signal) => {
      try {
        const found = await askLong("identify", { ...this.desk.state, recording }, signal, ({ words }) => fill(this.found, h("p", {}, `${words} …`)));
        this.identified(found);
      } catch (error) {
        if (error.name === "AbortError") throw error;
        fill(this.found, h("p", { class: "bad" }, error.message));
      }
    });
  }

  identified({ tables, figures, notes, block, adopted }) {
    const pictures = (figures ?? []).map(({ title, svg_base64: svg }) => h("figure", {}, h("figcaption", {}, capital(title)), h("img", { src: `data:image/svg+xml;base64,${svg}`, alt: capital(title), class: "fitted" })));
    const use = adopted && h("button", { type: "button", class: "deed", onclick: () => this.desk.working(() => this.desk.replace(adopted)) }, "Use these values in the study");
    const { plate, ...others } = tables; // that of the plate stands above already
    fill(this.found, use, this.tables(this.desk.judged?.plate ? others : tables), (notes ?? []).map((note) => h("p", { class: "quiet" }, note)), pictures, block && [h("h2", {}, "For the study file"), h("pre", {}, block)]);
  }
}

async function base64(file) {
  const bytes = new Uint8Array(await file.arrayBuffer());
  let binary = "";
  for (let at = 0; at < bytes.length; at += 32768) binary += String.fromCharCode(...bytes.subarray(at, at + 32768));
  return btoa(binary);
}
