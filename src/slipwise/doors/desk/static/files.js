// Study files in and out: open, drop, save, link, export of what is on screen.

import { askLong } from "./api.js";
import { byId, download, fill, h } from "./dom.js";
import { packed, unpacked } from "./study.js";

const MOST = 400_000; // bytes of a study file

export class Files {
  constructor(desk, say) {
    Object.assign(this, { desk, say, mark: "" });
    this.input = byId("file");
    this.input.addEventListener("change", () => {
      if (this.input.files[0]) this.read(this.input.files[0]);
      this.input.value = "";
    });
    this.examples = h("select", { "aria-label": "Example studies", onchange: () => this.example() }, h("option", { value: "" }, "Examples"));
    fill(byId("files"), h("button", { type: "button", onclick: () => this.input.click() }, "Open"), this.examples,
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

  open(text, name, opened) {
    this.mark = "";
    return this.desk.open(text, name, opened);
  }

  /** Reads a file as it is, byte for byte: line ends and the byte order mark come back when it is saved. */
  read(file) {
    return this.desk.working(() => this.reading(file));
  }

  async reading(file) {
    if (file.size > MOST) return this.say(`${file.name}: ${file.size} bytes; a study file has at most ${MOST}.`);
    try {
      const text = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(await file.arrayBuffer());
      const mark = text.startsWith("\ufeff") ? "\ufeff" : "";
      if (await this.desk.open(text.slice(mark.length), file.name)) this.mark = mark;
    } catch {
      this.say(`${file.name}: this is no text in UTF-8; save it as UTF-8 and open it again.`);
    }
    return null;
  }

  save() {
    const { text, name } = this.desk.study;
    download(name, new Blob([this.mark, text], { type: "application/toml" }));
    this.say(`Saved as ${name}.`);
  }

  async link() {
    const url = new URL(location.href);
    url.hash = await packed(this.desk.study.text);
    history.replaceState(null, "", url);
    try {
      await navigator.clipboard.writeText(url.href);
      this.say("The link holds the whole study and is on the clipboard; the study stays in the browser.");
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
      const [file] = event.dataTransfer.files;
      if (file) this.read(file);
    });
  }

  /** What can leave the page, in a dialog. */
  exporting() {
    const dialog = byId("dialog");
    const figures = this.desk.judged?.figures ?? [];
    const mine = figures.find(({ key }) => key.includes(this.desk.chosen ?? "-") || key.includes((this.desk.chosen ?? "-").replaceAll("_", "-"))) ?? figures[0];
    const select = h("select", { "aria-label": "Figure" }, figures.map(({ key, title }) => h("option", { value: key, selected: key === mine?.key }, title)));
    const go = (what, format, key) => h("button", { type: "button", onclick: () => this.fetch({ what, format, key: key?.() ?? "", ...this.look() }) }, format.toUpperCase());
    fill(dialog, h("h2", { id: "dialog-title" }, "Export"),
      h("table", {}, h("tbody", {},
        figures.length ? h("tr", {}, h("th", { scope: "row" }, "Figure"), h("td", {}, select), h("td", {}, ["svg", "png", "pdf"].map((format) => go("figure", format, () => select.value)))) : null,
        h("tr", {}, h("th", { scope: "row" }, "Curves"), h("td", {}, "all ways and stages, CSV files in one archive"), h("td", {}, go("curves", "csv", () => this.desk.chosen))),
        h("tr", {}, h("th", { scope: "row" }, "Report"), h("td", {}, "verdicts, curves, assumptions, cautions"), h("td", {}, go("report", "pdf"))),
        h("tr", {}, h("th", { scope: "row" }, "Results"), h("td", {}, "every number, with its series, in one archive"), h("td", {}, go("results", "json"))),
        h("tr", {}, h("th", { scope: "row" }, "Study file"), h("td", {}, this.desk.study.name), h("td", {}, h("button", { type: "button", onclick: () => this.save() }, "TOML"))))),
      (this.told = h("p", { role: "status" })),
      h("div", { class: "strip" }, h("button", { type: "button", onclick: () => dialog.close() }, "Close")));
    dialog.onclose = () => this.control?.abort();
    dialog.showModal();
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
