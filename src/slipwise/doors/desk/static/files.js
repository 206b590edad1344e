// Study files in and out: open, drop, save, link, export of what is on screen.

import { askLong } from "./api.js";
import { companion, meant, unfit, unpackedFiles } from "./companions.js";
import { byId, download, fill, h } from "./dom.js";
import { packed, unpacked } from "./study.js";

const MOST = 400_000; // bytes of a study file

export class Files {
  constructor(desk, say) {
    Object.assign(this, { desk, say, mark: "" });
    this.input = byId("file");
    this.input.addEventListener("change", () => {
      if (this.input.files.length) this.read([...this.input.files]);
      this.input.value = "";
    });
    this.examples = h("select", { "aria-label": "Example studies", onchange: () => this.example() }, h("option", { value: "" }, "Examples"));
    fill(byId("files"), h("button", { type: "button", onclick: () => this.input.click() }, "Open"), this.examples,
      h("button", { type: "button", onclick: () => this.writing() }, "Text"),
      h("button", { type: "button", onclick: () => this.save() }, "Save"),
      h("button", { type: "button", onclick: () => this.link() }, "Link"),
      h("button", { type: "button", onclick: () => this.exporting() }, "Export"));
    this.dropping();
  }

  offer(studies) {
    this.studies = studies;
    this.examples.append(...studies.map(({ key, title }) => h("option", { value: key }, title)));
  }

  example() {
    const study = this.studies.find(({ key }) => key === this.examples.value);
    this.examples.value = "";
    if (study) this.open(study.text, `${study.key}.toml`);
  }

  open(text, name, opened, files) {
    this.mark = "";
    return this.desk.open(text, name, opened, files);
  }

  /** Plain names of the files that the open study asks for. */
  get wanted() {
    return this.desk.fields.map(({ file }) => file).filter(Boolean);
  }

  /** Lets a file that the study names be chosen, or a study. */
  choose() {
    this.input.click();
  }

  /** Files from the hand: what the open study names goes to it; else a study, and with it the files that it names. */
  read(files) {
    return this.desk.working(() => this.sorting(files));
  }

  async sorting(dropped) {
    let files = dropped;
    if (files.length === 1 && /\.zip$/i.test(files[0].name)) {
      try {
        files = await unpackedFiles(files[0]);
      } catch {
        return this.say(`${dropped[0].name}: this archive cannot be opened; unpack it and drop its files together.`);
      }
    }
    const wrong = unfit(files);
    if (wrong) return this.say(wrong);
    if (files.every(({ name }) => meant(name, this.wanted))) return this.handing(files);
    const studies = files.filter(({ name }) => /\.toml$/i.test(name));
    if (!studies.length) return this.say(`${files.map(({ name }) => name).join(", ")}: the study names no such file. A recording can be fitted under Fit.`);
    const texts = await Promise.all(studies.map((file) => file.text()));
    const main = studies[Math.max(0, texts.findIndex((text) => files.some(({ name }) => text.includes(name))))];
    return this.reading(main, files.filter((file) => file !== main));
  }

  async handing(files) {
    const wrong = unfit([...this.desk.files.filter(({ name }) => !files.some((file) => file.name === name)), ...files]);
    if (wrong) return this.say(wrong);
    return this.desk.hand(await Promise.all(files.map(companion)));
  }

  /** Reads a study file as it is, byte for byte: line ends and the byte order mark come back when it is saved. */
  async reading(file, beside) {
    if (file.size > MOST) return this.say(`${file.name}: ${file.size} bytes; a study file has at most ${MOST}.`);
    try {
      const text = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(await file.arrayBuffer());
      const mark = text.startsWith("\ufeff") ? "\ufeff" : "";
      const files = await Promise.all(beside.map(companion));
      if (await this.desk.open(text.slice(mark.length), file.name, undefined, files)) this.mark = mark;
    } catch (error) {
      if (!(error instanceof TypeError)) throw error;
      this.say(`${file.name}: this is no text in UTF-8; save it as UTF-8 and open it again.`);
    }
    return null;
  }

  /** The study file itself, to be written in: what has no control on the page is added here. */
  writing() {
    const dialog = byId("dialog");
    const text = this.desk.study.text;
    const area = h("textarea", { id: "text", spellcheck: "false", "aria-label": "Study file", "aria-describedby": "text-told", rows: 30, cols: 110 });
    const told = h("ul", { id: "text-told", role: "status", class: "bad" });
    area.value = this.draft?.of === text ? this.draft.text : text;
    dialog.onclose = () => { this.draft = { of: text, text: area.value }; }; // closed without being taken over: it stands there again
    const take = async () => {
      const written = text.includes("\r\n") ? area.value.replaceAll("\n", "\r\n") : area.value;
      const faults = await this.desk.working(() => this.desk.replacing(written));
      fill(told, faults.map(({ line, message }) => h("li", {}, `${line ? `line ${line}: ` : ""}${message}`)));
      if (faults.length && faults[0].line) this.point(area, faults[0].line);
      if (faults.length) return;
      dialog.onclose = this.draft = null;
      dialog.close();
    };
    fill(dialog, h("h2", { id: "dialog-title" }, this.desk.study.name), area, told,
      h("div", { class: "strip" }, h("button", { type: "button", onclick: take }, "Take over"), h("button", { type: "button", onclick: () => dialog.close() }, "Close")));
    dialog.showModal();
    area.setSelectionRange(0, 0);
    area.scrollTop = 0;
  }

  /** Selects a line of the text. */
  point(area, line) {
    const lines = area.value.split("\n");
    const from = lines.slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
    area.focus();
    area.setSelectionRange(from, from + (lines[line - 1] ?? "").length);
    area.scrollTop = (area.scrollHeight * (line - 6)) / lines.length;
  }

  save() {
    const { text, name } = this.desk.study;
    download(name, new Blob([this.mark, text], { type: "application/toml" }));
    this.say(`Saved as ${name}.${this.desk.files.length ? " The files it names are not in it; Export has all in one archive." : ""}`);
  }

  async link() {
    const url = new URL(location.href);
    this.linked = this.desk.study.text;
    url.hash = await packed(this.linked);
    history.replaceState(null, "", url);
    try {
      await navigator.clipboard.writeText(url.href);
      this.say(`The link holds the whole study${this.desk.files.length ? ", without the files it names," : ""} and is on the clipboard; the study stays in the browser.`);
    } catch {
      this.say("The link in the address line holds the whole study; copy it from there.");
    }
  }

  async fromLink() {
    try {
      const text = await unpacked(location.hash);
      return text === null ? false : await this.open(text, "study.toml");
    } catch {
      this.say("The link is damaged: it holds no study. What was open stays.");
      return false;
    }
  }

  dropping() {
    const over = (on) => document.body.classList.toggle("dropping", on);
    window.addEventListener("dragover", (event) => {
      event.preventDefault();
      over(true);
    });
    window.addEventListener("dragleave", (event) => event.relatedTarget ?? over(false));
    window.addEventListener("drop", (event) => {
      event.preventDefault();
      over(false);
      if (event.dataTransfer.files.length) this.read([...event.dataTransfer.files]);
    });
  }

  /** What can leave the page, in a dialog. */
  exporting() {
    const dialog = byId("dialog");
    const figures = this.desk.judged?.figures ?? [];
    const mine = (this.desk.view === "starting" ? undefined : figures.find(({ key }) => key === this.desk.onScreen)) ?? figures.find(({ key }) => key.includes(this.desk.chosen ?? "-") || key.includes((this.desk.chosen ?? "-").replaceAll("_", "-"))) ?? figures[0];
    const select = h("select", { "aria-label": "Figure" }, figures.map(({ key, title }) => h("option", { value: key, selected: key === mine?.key }, title)));
    const go = (what, format, key) => h("button", { type: "button", onclick: () => this.fetch({ what, format, key: key?.() ?? "", ...this.look() }) }, format.toUpperCase());
    fill(dialog, h("h2", { id: "dialog-title" }, "Export"),
      h("table", {}, h("tbody", {},
        figures.length ? h("tr", {}, h("th", { scope: "row" }, "Figure"), h("td", {}, select), h("td", {}, ["svg", "png", "pdf"].map((format) => go("figure", format, () => select.value)))) : null,
        h("tr", {}, h("th", { scope: "row" }, "Curves"), h("td", {}, "all ways and stages, CSV files in one archive"), h("td", {}, go("curves", "csv", () => this.desk.chosen))),
        h("tr", {}, h("th", { scope: "row" }, "Report"), h("td", {}, "verdicts, curves, assumptions, cautions"), h("td", {}, go("report", "pdf"))),
        h("tr", {}, h("th", { scope: "row" }, "Results"), h("td", {}, "every number, with its series, in one archive"), h("td", {}, go("results", "json"))),
        h("tr", {}, h("th", { scope: "row" }, "Study file"), h("td", {}, [this.desk.study.name, ...this.desk.study.files.keys()].join(", ")), h("td", {}, h("button", { type: "button", onclick: () => { this.save(); this.told.textContent = `Saved as ${this.desk.study.name}.`; } }, "TOML"), this.desk.files.length ? this.archive() : null)))),
      (this.told = h("p", { role: "status" })),
      h("div", { class: "strip" }, h("button", { type: "button", onclick: () => dialog.close() }, "Close")));
    dialog.onclose = () => this.control?.abort();
    dialog.showModal();
  }

  /** The study and the files that it names, in one archive. */
  archive() {
    const { text, name } = this.desk.study;
    return h("button", { type: "button", title: "The study with the files it names", onclick: () => this.fetch({ what: "study", format: "zip", key: name, text: this.mark + text }) }, "ZIP");
  }

  look() {
    return { mode: document.documentElement.dataset.mode === "dark" ? "dark" : "light", size: "projector", transients: false };
  }

  async fetch(wanted) {
    this.control?.abort();
    this.control = new AbortController();
    this.told.textContent = "Preparing …";
    try {
      const told = (progress) => { this.told.textContent = `${progress.words} …`; };
      const found = await askLong("export", { ...this.desk.state, ...wanted }, this.control.signal, told);
      download(found.name, new Blob([Uint8Array.from(atob(found.base64), (letter) => letter.charCodeAt(0))], { type: found.media_type }));
      this.told.textContent = `Saved as ${found.name}.`;
    } catch (error) {
      this.told.textContent = error.name === "AbortError" ? "" : error.message;
    }
  }
}
