// What the page knows: the study, the answers of the library to it, and what is being looked at. Views listen for changes.

import { ask, askLong, Latest, Newest, Refused } from "./api.js";
import { RECORDED } from "./companions.js";
import { stations } from "./path.js";
import { Study } from "./study.js";

export class Desk extends EventTarget {
  constructor() {
    super();
    this.study = new Study();
    this.fields = [];
    this.stations = [];
    this.opened = new Map();
    this.hidden = new Set();
    this.moved = new Map();
    this.typed = [];
    this.view = "starting";
    this.section = null;
    this.chosen = null;
    this.judged = null;
    this.start = null;
    this.steadily = new Latest((question) => this.working(() => this.steady(question)));
    this.tracing = new Latest((question) => this.working(() => this.trace(question)));
    this.judging = new Newest((question, signal) => this.working(() => this.judge(question, signal)));
    this.running = new Newest((question, signal) => this.working(() => this.run(question, signal)));
    this.study.addEventListener("change", ({ detail }) => this.refresh(detail));
  }

  tell(what, detail) {
    this.dispatchEvent(new CustomEvent(what, { detail }));
  }

  /** Counts what is under way, so that the page can say when it is at rest. */
  async working(task) {
    this.count = (this.count ?? 0) + 1;
    this.tell("busy", true);
    try {
      return await task();
    } finally {
      this.count -= 1;
      this.tell("busy", this.count > 0);
    }
  }

  /** Opens a text that the library can read; otherwise its faults are told and everything stays as it is. */
  open(text, name, opened = text, files = []) {
    return this.working(() => this.opening(text, name, opened, files));
  }

  async opening(text, name, opened, files) {
    try {
      await this.fitted(text, files);
      const [now, then] = await Promise.all([ask("fields", { text, edits: [], files }), opened === text ? null : ask("fields", { text: opened, edits: [], files })]);
      if (now.faults?.length && !now.fields.length) throw new Refused(now.faults);
      this.opened = new Map((then ?? now).fields.map((field) => [field.path, field]));
      this.take(now);
      Object.assign(this, { chosen: null, judged: null, start: null, data: null, section: null });
      this.hidden.clear();
      this.moved.clear();
      this.typed = [];
      this.judging.cancel();
      this.running.cancel();
      this.here();
      if (this.faults.length) this.tell("steady", { final: true }); // nothing of the earlier study stays
      this.study.open(text, name, opened, files);
      return true;
    } catch (error) {
      this.refused(error, name);
      return false;
    }
  }

  /** Files that the study names, handed over now. */
  hand(files) {
    return this.working(async () => {
      for (const file of files) this.study.files.set(file.name, file);
      this.study.keep();
      await this.fitted(this.study.text, this.files);
      await this.steadily.ask({ edits: [], final: true });
    });
  }

  get files() {
    return [...this.study.files.values()];
  }

  /** A recorded start is fitted where long work is done and its progress told, before anything quick is asked of it. */
  async fitted(text, files) {
    if (!files.some(({ name }) => RECORDED.test(name))) return;
    try {
      await askLong("identify", { text, edits: [], files }, undefined, ({ words }) => this.tell("progress", { words: `${words}: fitting the recorded start` }));
    } catch (error) {
      if (!(error instanceof Refused)) throw error; // the study itself tells of it, beside the value
    } finally {
      this.tell("progress", null);
    }
  }

  take({ fields, sections, others, title, faults = [] }) {
    if (!fields) return;
    Object.assign(this, { fields, others, title, faults, stations: stations(sections) });
    if (!this.stations.some(({ key }) => key === this.section)) this.section = this.stations.some(({ key }) => key === "motor") ? "motor" : this.stations[0]?.key;
    this.tell("fields");
  }

  /** The study changed as a whole: everything anew. */
  refresh(how) {
    this.tell("study");
    if (how !== "commit") this.steadily.ask({ edits: [], final: true, whole: true });
  }

  /**
   * One value moved. final: the move is over and becomes part of the study. along: what belongs to it on the plate goes along;
   * needed: only if the study is refused without; reset: back to the value as opened.
   */
  edit(path, value, final, { along = false, needed = false, reset = false } = {}) {
    this.last = path;
    this.moving = !final;
    const edits = [{ path, value, ...(along && { along }), ...(reset && value === null && { emptied: this.added(path) }) }];
    if (reset) edits.push(...this.back(path));
    if (!final) {
      this.judging.cancel();
      this.running.cancel();
    }
    return this.steadily.ask({ edits, final, path, needed });
  }

  /** Whether the table of a value was not there when the study was opened. */
  added(path) {
    const table = path.slice(0, path.lastIndexOf("."));
    const header = new RegExp(`^[ \\t]*\\[[ \\t]*${table.replaceAll(".", "[ \\t]*\\.[ \\t]*")}[ \\t]*\\]`, "m");
    return !table.includes("[") && !header.test(this.study.opened);
  }

  /** With a value that is reset, what followed it goes back too. */
  back(path) {
    return [...this.moved].filter(([at, { by, text }]) => by === path && this.fields.find((field) => field.path === at)?.text === text).map(([at, { was }]) => ({ path: at, value: was }));
  }

  /** Notes what followed a value; of several moves in a row the first tells how it was. */
  follows(moved) {
    for (const one of moved ?? []) {
      const before = this.moved.get(one.path);
      this.moved.set(one.path, before?.by === one.by && before.text === one.was ? { ...one, was: before.was } : one);
    }
  }

  async steady({ edits: asked, final, path, needed = false }) {
    const before = this.study.text;
    const edits = final ? this.after(asked) : asked;
    const body = { text: before, edits, files: this.files, points: final ? 161 : 121, fields: final };
    if (!final && this.data) body.held = this.held;
    try {
      const data = filled(await ask("steady", body));
      if (this.study.text !== before) return null; // undone meanwhile
      this.data = data;
      if (final) this.held = Object.fromEntries(data.ways.filter(({ held }) => held).map(({ key, held }) => [key, held]));
      this.choose();
      if (final) {
        this.follows(data.moved);
        if (needed || edits[0]?.kept) this.typed = [...this.typed.filter((one) => one !== path), path].slice(-3);
        this.study.commit(data.text);
        this.take(data);
        this.later();
      }
      this.pending = null;
      if (final) this.here();
      this.tell("steady", { final });
      this.tell("faults", []);
      if (!final && !this.steadily.waiting.length) this.tracing.ask(edits[0]);
    } catch (error) {
      if (this.study.text !== before) return null; // undone meanwhile
      if (final && needed && this.data && error instanceof Refused && !error.away) return this.steady({ edits: edits.map((edit) => ({ ...edit, along: true, kept: this.typed.filter((one) => one !== path) })), final, path });
      if (error.away) this.away(final ? edits : []);
      else if (final) this.here();
      if ((!final || error.away) && error instanceof Refused) this.tell("faults", error.faults);
      else if (final && error instanceof Refused && !this.data) await this.mend(before, edits);
      else {
        this.pending = final && path && error instanceof Refused ? edits : null;
        this.refused(error, "", path);
      }
      if (final) this.tell("steady", { final });
    }
    return null;
  }

  /** The server is gone: it is looked for until it is back, and then asked for what it missed. */
  away(edits = []) {
    this.missed = this.after(edits);
    this.looking ??= setInterval(async () => {
      const back = await fetch("/api/v1/studies").then(({ ok }) => ok, () => false);
      if (back && this.looking) this.steadily.ask({ edits: [], final: true });
    }, 2000);
  }

  here() {
    clearInterval(this.looking);
    Object.assign(this, { looking: null, missed: [] });
  }

  /** What was missed while the server was gone, and then these. */
  after(edits) {
    return [...(this.missed ?? []).filter(({ path }) => !edits.some((one) => one.path === path)), ...edits];
  }

  /** Takes what was refused last all the same: what does not go with it stands there with its fault, until it is mended. */
  keep() {
    const edits = this.pending;
    this.judging.cancel();
    this.running.cancel();
    Object.assign(this, { pending: null, data: null, judged: null, start: null });
    return this.working(async () => {
      await this.mend(this.study.text, edits);
      this.tell("steady", { final: true });
    });
  }

  /** A study with faults has no curves; its values can be changed until it has none. */
  async mend(text, edits) {
    const now = await ask("fields", { text, edits, files: this.files });
    this.take(now);
    this.study.commit(now.text);
    this.tell("faults", now.faults);
  }

  /** Adds a section at the end of the text, with the line ends it has. */
  append(lines) {
    const text = this.study.text;
    const end = text.includes("\r\n") ? "\r\n" : "\n";
    return this.working(() => this.replace(`${text.trimEnd()}${end}${end}${lines.join(end)}${end}`));
  }

  /** Another text in place of the present one, when the library can read it; it can be undone. */
  async replace(text) {
    const faults = await this.replacing(text);
    if (faults.length) this.refused(new Refused(faults));
  }

  /** The same; answers what stands against the text. */
  async replacing(text) {
    try {
      const now = await ask("fields", { text, edits: [], files: this.files });
      if (now.faults.length) return now.faults;
      this.study.commit(now.text);
      await this.steadily.ask({ edits: [], final: true });
      return [];
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      return error.faults;
    }
  }

  choose() {
    if (!this.data) return;
    const apply = this.data.ways.filter(({ applies }) => applies !== false);
    if (apply.some(({ key }) => key === this.chosen)) return;
    const best = this.judged?.recommendation.way;
    this.chosen = apply.some(({ key }) => key === best) ? best : apply[0]?.key ?? null;
    this.byItself = true;
  }

  pick(key) {
    this.chosen = key;
    this.byItself = false;
    this.hidden.delete(key);
    this.tell("steady", { final: true });
    this.tell("judged");
    this.running.ask(key);
  }

  toggle(key) {
    if (this.hidden.has(key)) this.hidden.delete(key);
    else this.hidden.add(key);
    this.tell("steady", { final: true });
    this.tell("judged");
  }

  get state() {
    return { text: this.study.text, edits: [], files: this.files };
  }

  get number() {
    return Math.max(0, this.data?.ways.findIndex(({ key }) => key === this.chosen) ?? 0);
  }

  way(key = this.chosen) {
    return this.data?.ways.find((way) => way.key === key) ?? null;
  }

  /** What the design chose for the way that is looked at, as values of the form; one that is typed over goes into the study. */
  dials() {
    const written = new Set(this.fields.filter((field) => field.written).map(({ path }) => path));
    return (this.way()?.settings ?? []).filter(({ path }) => !written.has(path)).map(({ path, key, title, shown, origin, why }) => {
      const found = /^(-?[\d.]+)(?:\u202f(\S+))?$/.exec(shown.replace("\u2212", "-"));
      const field = this.fields.find((one) => one.path === path);
      return { ...field, path, key, label: title, origin, why, written: false, section: path.slice(0, path.lastIndexOf(".")), kind: field?.kind ?? "line", choices: field?.choices ?? [],
        text: shown, shown, number: found ? Number(found[1]) : null, unit_text: found?.[2] ?? "", range_text: "", slider: null };
    });
  }

  /** What takes longer: the start of the way that is looked at, and verdicts; then the start as it was judged, if it differs. */
  later() {
    this.stale = true;
    this.running.ask(this.chosen);
    this.judging.ask();
  }

  async judge(_, signal) {
    this.tell("judged");
    try {
      const judged = await askLong("judge", { ...this.state, transients: false }, signal, (progress) => this.tell("progress", progress));
      if (!this.data) return; // another study is being opened
      this.judged = judged;
      this.stale = false;
      if (this.byItself && judged.recommendation.way) this.chosen = judged.recommendation.way;
      this.choose();
      this.tell("judged");
      this.tell("steady", { final: true });
    } catch (error) {
      if (error.name === "AbortError") throw error;
      this.refused(error);
    } finally {
      this.tell("progress", null);
    }
    this.running.ask(this.chosen);
  }

  async run(way, signal) {
    const question = JSON.stringify([this.study.text, way, this.settled(way), this.wantsTransient === true]);
    if (!way || (this.start && question === this.ran)) return;
    try {
      this.began(await this.started(way, [], signal));
      this.ran = question;
    } catch (error) {
      if (error.name === "AbortError") throw error;
      this.refused(error);
    }
  }

  /** The start of the chosen way follows a slider as the curves do. */
  async trace(edit) {
    if (!this.chosen || !this.start) return;
    try {
      const start = await this.started(this.chosen, [edit], undefined, { quick: true, points: 1500 });
      if (this.moving) this.began(start);
      this.ran = null;
    } catch (error) {
      if (!(error instanceof Refused)) throw error; // the steady curves tell of it
    }
  }

  /** Settings of the design of a way: as judged, or as the curves have them while verdicts are on their way. */
  settled(way) {
    return (this.stale ? null : this.judged?.ways.find(({ key }) => key === way)?.held) ?? this.held?.[way];
  }

  started(way, edits, signal, more = {}) {
    const held = this.settled(way);
    const body = { ...this.state, edits, way, case: "nominal", transient: this.wantsTransient === true, held: held ? { [way]: held } : {}, ...more };
    return ask("start", body, signal);
  }

  began(start) {
    this.start = start;
    this.tell("start");
  }

  refused(error, name = "", path = null) {
    if (!(error instanceof Refused)) throw error;
    if (error.away && this.data && !name) this.away();
    this.tell("faults", error.faults.map((fault) => ({ ...fault, name, field: fault.field || path })));
  }
}

/** Stages that are fed like an earlier one come without numbers of their own; they get those of the other. */
function filled(data) {
  for (const way of data.ways) {
    for (const [n, stage] of way.stages.entries()) {
      if (!stage.same_as) continue;
      const [k, m] = stage.same_as;
      way.stages[n] = { ...data.ways[k].stages[m], ...stage };
    }
  }
  return data;
}
