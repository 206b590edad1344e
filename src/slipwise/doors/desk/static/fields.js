// The values of one station of the path: each a slider and a number box with its unit, the given value marked.

import { fill, h } from "./dom.js";

const NUMBER = /^\s*[-+−]?\d[\d.]*(?:[eE][-+]?\d+)?\s*$/;
const UNSURE = new Set(["assumed", "estimated"]);

/** One value. `tell(path, value, final, how)` hears of every move (final false) and of what it ends with (final true). */
export class Field {
  constructor(field, tell, id = field.path, hands = null) {
    Object.assign(this, { path: field.path, tell, hands });
    const name = `f-${id}`;
    this.label = h("label", { for: name });
    const several = field.kind === "names";
    this.box = several ? h("textarea", { id: name, rows: 2, spellcheck: "false", title: `any of ${field.choices.join(", ")}`, onchange: () => this.entered() })
      : field.choices?.length
      ? h("select", { id: name, onchange: () => this.entered() }, field.choices.map((word) => h("option", { value: word }, word)))
      : h("input", { id: name, type: "text", class: field.kind === "line" && field.number === null ? "words" : null, spellcheck: "false", autocomplete: "off", onchange: () => this.entered() });
    this.clean = true; // nothing typed in it that is not handed on
    this.box.addEventListener("input", () => { this.clean = false; });
    this.unit = h("span", { class: "unit" });
    this.note = h("p", { class: "note", id: `${name}-note` });
    this.error = h("p", { class: "error", id: `${name}-error`, role: "alert", hidden: true });
    this.reset = h("button", { type: "button", class: "reset", onclick: () => this.back() }, "reset");
    this.range = h("input", { type: "range", oninput: () => this.moved(false), onchange: () => this.moved(true) });
    this.given = h("span", { class: "given", hidden: true });
    this.slider = h("div", { class: "slider" }, h("div", { class: "track" }, this.given, this.range), this.reset);
    this.box.setAttribute("aria-describedby", `${name}-note ${name}-error`);
    this.node = h("div", { class: "field", "data-path": field.path }, this.label, this.box, this.box.tagName === "INPUT" && !this.box.className ? this.unit : null, this.slider, this.note, this.error);
    this.hand = field.file && hands ? h("p", { class: "note" }) : null;
    if (this.hand) this.node.append(this.hand);
  }

  /** Shows the value as it is now; `opened`: the same field in the study as it was opened, or null; `moved`: what it followed, or null. */
  show(field, opened, moved = null) {
    Object.assign(this, { field, opened, followed: moved?.text === field.text ? moved : null });
    const absent = field.origin === "absent";
    const numeric = field.number !== null && field.number !== undefined;
    this.label.textContent = capital(field.label);
    this.label.title = field.doc ?? "";
    this.unit.textContent = numeric ? field.unit_text ?? "" : "";
    this.node.classList.toggle("long-unit", this.unit.textContent.length > 8);
    if (document.activeElement !== this.box || this.clean) this.write(absent ? "" : numeric ? (field.written ? plain(field.number) : String(Number(field.number.toPrecision(4)))) : field.text);
    if (absent && this.box.tagName === "SELECT" && this.box.value) this.box.value = "";
    if (absent) this.box.placeholder = String(field.example ?? "").replaceAll('"', "");
    this.node.classList.toggle("assumed", UNSURE.has(field.origin));
    this.slide(numeric ? field.slider : null);
    this.range.title = field.along ? `${field.along.label} goes along: ${field.along.why}` : "";
    this.tellOrigin();
    if (this.hand) this.tellFile(field.file);
    this.fault(null);
  }

  write(text) {
    this.box.value = text;
  }

  slide(slider) {
    this.range.parentElement.hidden = !slider;
    this.slider.hidden = !slider && !this.changed();
    this.reset.disabled = !this.changed();
    this.reset.hidden = !this.changed();
    this.reset.setAttribute("aria-label", `Reset ${this.field.label} to ${this.opened?.written ? this.opened.text : "what is assumed"}`);
    if (!slider) return;
    const { min, max, step } = slider;
    if (!this.held) Object.assign(this.range, { min, max, step });
    if (!this.held) this.range.value = this.field.number;
    this.range.setAttribute("aria-label", `${capital(this.field.label)}, ${this.field.unit_text || "slider"}`);
    this.range.setAttribute("aria-valuetext", `${plain(Number(this.range.value))} ${this.field.unit_text ?? ""}`.trim());
    const mark = this.opened && this.opened.unit_text === this.field.unit_text ? this.opened.number : null;
    const share = mark === null || mark === undefined ? NaN : (mark - this.range.min) / (this.range.max - this.range.min);
    this.given.hidden = !(share >= 0 && share <= 1);
    this.given.style.left = `calc(0.475rem + (100% - 0.95rem) * ${share})`;
    this.given.title = `as opened: ${this.opened?.shown ?? ""}`;
  }

  changed() {
    const { field, opened } = this;
    return Boolean(field.written) !== Boolean(opened?.written) || (field.written && field.text !== opened?.text);
  }

  tellOrigin() {
    const { field } = this;
    const words = this.followed ? [followedWords(this.followed)] : [];
    if (UNSURE.has(field.origin)) words.push([field.origin, field.range_text].filter(Boolean).join(", "), field.why);
    else if (field.origin === "derived") words.push("derived", field.why);
    this.note.textContent = words.filter(Boolean).join("; ");
    this.note.hidden = !this.note.textContent;
  }

  /** Whether the file that this value names is at hand. */
  tellFile(name) {
    const held = this.hands.held(name);
    if (held) return fill(this.hand, `at hand, ${held.size < 1000 ? `${held.size} bytes` : `${Math.round(held.size / 1000)} kB`}`);
    return fill(this.hand, name && h("button", { type: "button", class: "deed", onclick: () => this.hands.choose() }, `Choose ${name}`), name && " or drop it on the page");
  }

  /** While another value is dragged that this one belongs to. */
  follow(moved) {
    const number = moved.text.replace(` ${this.field.unit_text}`, "");
    this.write(number);
    this.range.value = number;
    this.note.textContent = followedWords(moved);
    this.note.hidden = false;
  }

  moved(final) {
    const value = Number(this.range.value);
    this.held = !final;
    const text = `${plain(value)} ${this.field.unit_text ?? ""}`.trim();
    this.write(plain(value));
    this.range.setAttribute("aria-valuetext", text);
    this.tell(this.path, text, final, { along: Boolean(this.field.along) });
  }

  entered() {
    const typed = this.box.value.trim();
    const unit = this.field.unit_text ?? "";
    const bare = NUMBER.test(typed) && unit;
    this.clean = true;
    this.tell(this.path, typed === "" ? null : bare ? `${typed.replace("−", "-")} ${unit}` : typed, true, { needed: Boolean(this.field.along) });
  }

  back() {
    this.clean = true;
    this.tell(this.path, this.opened?.written ? this.opened.text : null, true, { needed: Boolean(this.field.along), reset: true });
    this.box.focus();
  }

  /** Says beside the value what is wrong with it; null: nothing. */
  fault(fault) {
    this.error.hidden = !fault;
    this.error.textContent = fault ? [fault.value && `${fault.value}:`, fault.reason, fault.remedy && `; ${fault.remedy}`].filter(Boolean).join(" ").replace(" ;", ";") || fault.message : "";
    if (fault && this.field.written && this.hands?.mends()) this.error.append(" ", h("button", { type: "button", class: "why-number", onclick: () => this.tell(this.path, null, true) }, "take it out"));
    if (fault) this.box.setAttribute("aria-invalid", "true");
    else this.box.removeAttribute("aria-invalid");
  }
}

/** The values of the chosen section; the ones not given stand folded at the end. */
export class Fields {
  /** `hands`: {held(name), choose()} for files that a value names; mends(): whether the study has faults and is being mended. */
  constructor(host, tell, hands = null) {
    Object.assign(this, { host, tell, hands });
    this.rows = new Map();
  }

  /** `all`: every field of the study; `station`: {title, sections}; `opened`: Map path -> field as opened; `moved`: Map path -> what it followed. */
  show(all, station, opened, moved = new Map()) {
    const fields = all.filter((field) => station.sections.includes(field.section));
    const shape = `${station.key} ${fields.map((field) => `${field.path} ${field.origin === "absent"} ${field.choices?.length} ${Boolean(field.file)}`).join(" ")}`;
    if (shape !== this.shape) this.build(station, fields, shape);
    for (const field of fields) this.rows.get(field.path).show(field, opened.get(field.path) ?? null, moved.get(field.path));
  }

  build(station, fields, shape) {
    const focused = document.activeElement?.id;
    const wasOpen = this.more?.open && this.station === station.key;
    Object.assign(this, { shape, station: station.key });
    this.rows = new Map(fields.map((field) => [field.path, new Field(field, this.tell, field.path, this.hands)]));
    const rows = (section, absent) => fields.filter((field) => field.section === section && (field.origin === "absent") === absent).map((field) => this.rows.get(field.path).node);
    const groups = station.sections.map((section) => ({ title: heading(section, station), known: rows(section, false), rest: rows(section, true) })).filter(({ known, rest }) => known.length + rest.length);
    const rest = groups.filter((group) => group.rest.length).map((group) => [groups.length > 1 && h("h3", {}, group.title), group.rest]);
    const count = groups.reduce((sum, group) => sum + group.rest.length, 0);
    this.more = count ? h("details", { open: wasOpen }, h("summary", {}, `${count} more that can be given`), rest) : null;
    fill(this.host, groups.filter(({ known }) => known.length).map((group) => [h("h2", {}, group.title), group.known]), this.more);
    if (focused?.startsWith("f-")) document.getElementById(focused)?.focus();
  }

  /** Values that follow the one being dragged. */
  follow(moved) {
    for (const one of moved) this.rows.get(one.path)?.follow(one);
  }

  /** Shows faults beside their values; answers those that belong to no value shown here. */
  faults(faults) {
    for (const row of this.rows.values()) row.fault(null);
    return faults.filter((fault) => {
      const row = this.rows.get(fault.field);
      row?.fault(fault);
      if (row && this.more?.contains(row.node)) this.more.open = true;
      return !row;
    });
  }
}

/** A number as one types it: no grouping, no more digits than it has. */
export function plain(value) {
  return String(Number(value.toPrecision(10)));
}

function followedWords({ by, was }) {
  return `moved with ${by.split(".").pop().replaceAll("_", " ")}; it was ${was}`;
}

function heading(section, station) {
  if (!section) return "Study";
  const own = section.replace(station.key, "").replace(/^\./, "").replaceAll("_", " ").replaceAll(".", ", ").replace(/\[(\d+)\]/g, " $1");
  return capital(section === station.key || !own ? station.title : own.startsWith(" ") ? station.title + own : own);
}

export function capital(words) {
  return words.charAt(0).toUpperCase() + words.slice(1);
}
