// The study file is the state of the page: its text, the text before each change, what was opened, and the files it names.

import { keepable } from "./companions.js";

const KEY = "slipwise desk";
const PLACES = ["sessionStorage", "localStorage"]; // two pages side by side do not take each other's study when one is loaded again

export class Study extends EventTarget {
  constructor() {
    super();
    this.past = [];
    this.at = -1;
    this.files = new Map();
  }

  get text() {
    return this.past[this.at] ?? "";
  }

  /** A study from a file, an example, a link or the browser's storage: what it holds counts as given. */
  open(text, name = "study.toml", opened = text, files = []) {
    Object.assign(this, { name, opened, files: new Map(files.map((file) => [file.name, file])) });
    this.past = [text];
    this.at = 0;
    this.changed("open");
  }

  /** A change by hand; can be undone. */
  commit(changed) {
    const text = changed.trimEnd() === this.opened.trimEnd() ? this.opened : changed; // all put back: the file as it was, to the last blank
    if (text === this.text) return;
    this.past.splice(this.at + 1, Infinity, text);
    if (this.past.length > 200) this.past.shift();
    this.at = this.past.length - 1;
    this.changed("commit");
  }

  get canUndo() {
    return this.at > 0;
  }

  get canRedo() {
    return this.at < this.past.length - 1;
  }

  undo() {
    if (this.canUndo) this.step(-1);
  }

  redo() {
    if (this.canRedo) this.step(1);
  }

  step(by) {
    this.at += by;
    this.changed("undo");
  }

  /** Keeps it in the browser's own storage: for this page, and for the next one that is opened. */
  keep() {
    const kept = JSON.stringify({ text: this.text, name: this.name, opened: this.opened, files: keepable([...this.files.values()]) });
    for (const place of PLACES) {
      try {
        window[place].setItem(KEY, kept);
      } catch {
        /* storage is full or forbidden: the file can still be saved by hand */
      }
    }
  }

  changed(how) {
    this.keep();
    this.dispatchEvent(new CustomEvent("change", { detail: how }));
  }

  /** What this page, or else this browser, kept from the last time, or null. */
  static kept() {
    for (const place of PLACES) {
      try {
        const kept = JSON.parse(window[place].getItem(KEY) ?? "null");
        if (kept && typeof kept.text === "string" && kept.text) return { files: [], ...kept };
      } catch {
        /* forbidden or damaged: as if nothing were kept */
      }
    }
    return null;
  }
}

/** The study in the fragment of a link, which no browser sends to a server. */
export async function packed(text) {
  const bytes = await through(new Blob([text]).stream(), new CompressionStream("deflate-raw"));
  const binary = Array.from(bytes, (byte) => String.fromCharCode(byte)).join("");
  return `study=${btoa(binary).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "")}`;
}

/** The study in a fragment; null when there is none; an Error when it is damaged. */
export async function unpacked(fragment) {
  const found = /(?:^#?|&)study=([\w-]+)/.exec(fragment);
  if (!found) return null;
  const binary = atob(found[1].replaceAll("-", "+").replaceAll("_", "/"));
  const bytes = await through(new Blob([Uint8Array.from(binary, (letter) => letter.charCodeAt(0))]).stream(), new DecompressionStream("deflate-raw"));
  return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
}

async function through(stream, change) {
  return new Uint8Array(await new Response(stream.pipeThrough(change)).arrayBuffer());
}
