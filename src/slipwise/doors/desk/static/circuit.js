// The power circuit of the chosen way, with the contacts of the stage at the time cursor closed.

import { askPicture, Newest } from "./api.js";
import { fill, h } from "./dom.js";

const LEGIBLE = 0.66; // of its own size: smaller than that a tall circuit is scrolled, not shrunk

/** By which the type of a circuit is enlarged. */
export function lettering() {
  return document.documentElement.hasAttribute("data-lecture") ? 1.75 : 1;
}

export class Circuit {
  constructor(host) {
    this.pictures = [];
    this.title = h("h2", {}, "Power circuit");
    this.image = h("img", { alt: "", onload: () => { this.image.style.minHeight = `${LEGIBLE * this.image.naturalHeight}px`; } });
    this.closed = h("p", { class: "quiet" });
    fill(host, this.title, this.closed, h("div", { class: "drawn", tabindex: 0, role: "region", "aria-label": "Power circuit" }, this.image));
    this.fetching = new Newest((question, signal) => this.fetch(question, signal));
  }

  /** Fetches the picture of each stage. `stages`: [{name, begin, end, contacts}]. */
  show(state, way, title, stages) {
    const key = JSON.stringify([way, lettering(), stages.map(({ name, contacts }) => [name, contacts])]);
    this.stages = stages;
    if (key === this.key) return Promise.resolve();
    Object.assign(this, { key, way: title });
    return this.fetching.ask({ state, way, stages }).catch(() => {
      this.key = null;
      this.image.alt = "The power circuit could not be drawn.";
    });
  }

  async fetch({ state, way, stages }, signal) {
    const pictures = [];
    for (const { name } of stages) pictures.push(await this.picture(state, way, name, signal));
    for (const { url } of this.pictures) URL.revokeObjectURL(url);
    this.pictures = pictures.map((blob, k) => ({ url: URL.createObjectURL(blob), stage: stages[k] }));
    this.stage = null;
    this.at(this.time ?? 0);
  }

  picture(state, way, stage, signal) {
    return askPicture("circuit", { ...state, way, stage, lettering: lettering() }, signal);
  }

  clear() {
    this.fetching.cancel();
    this.key = null;
    this.image.removeAttribute("src");
    this.image.alt = "";
    this.title.textContent = "Power circuit";
    this.closed.textContent = "";
  }

  at(time) {
    this.time = time;
    if (!this.pictures.length || this.pictures.length !== this.stages.length) return;
    let k = this.stages.findIndex(({ end }) => time < end);
    if (k < 0) k = this.stages.length - 1;
    if (this.stage === k) return;
    this.stage = k;
    const { url, stage } = this.pictures[k];
    this.image.src = url;
    this.image.alt = `Power circuit, ${this.way}, stage ${stage.name}; closed: ${(stage.contacts ?? []).join(", ") || "none"}`;
    this.title.textContent = `Power circuit, stage ${stage.name}`;
    this.closed.textContent = `closed: ${(stage.contacts ?? []).join(", ") || "none"}`;
  }
}
