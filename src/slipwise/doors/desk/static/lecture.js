// In front of an audience: large type, little else, curves shown one after the other, light or dark, full screen.

import { byId, fill, h } from "./dom.js";

const ROOT = document.documentElement;
const SHOWS = ["curves", "traces", "circuit", "verdicts"];

export const KEYS = [
  ["L", "lecture on and off"], ["D", "light or dark"], ["F", "full screen"], ["N, Page Down", "show one way more; the next supply or sequence"],
  ["Shift+N, Page Up", "show one way less"], ["H", "hide all but the load"], ["A", "show all curves"], ["1 2 3 4", "in a lecture: curves; with traces; with the power circuit; with verdicts"],
  ["Space", "play or pause"], ["[ and ]", "step in time"], ["P", "pin the present state"], ["Ctrl+Z, Ctrl+Y", "undo, redo"],
  ["Ctrl+O, Ctrl+S", "open, save"], ["Alt+1 to Alt+8", "views"], ["?", "these keys"],
];

export class Lecture {
  constructor(desk, { starting, pages, files, views, dress, live }) {
    Object.assign(this, { desk, starting, pages, files, views, dress, live });
    window.addEventListener("keydown", (event) => this.key(event));
  }

  get on() {
    return ROOT.hasAttribute("data-lecture");
  }

  toggle(on = !this.on) {
    ROOT.toggleAttribute("data-lecture", on);
    ROOT.dataset.shows = "curves";
    if (!on) this.starting.revealed = this.pages.views.stopping.revealed = null;
    this.live(on);
    this.dress();
    this.told?.();
  }

  mode(dark = ROOT.dataset.mode !== "dark") {
    ROOT.dataset.mode = dark ? "dark" : "light";
    try {
      localStorage.setItem("slipwise mode", ROOT.dataset.mode);
    } catch {
      /* without storage the mode lasts as long as the page */
    }
    this.dress();
    this.told?.();
  }

  full() {
    if (document.fullscreenElement) document.exitFullscreen();
    else ROOT.requestFullscreen().catch(() => {});
  }

  help() {
    const dialog = byId("dialog");
    fill(dialog, h("h2", { id: "dialog-title" }, "Keys"), h("dl", { class: "keys" }, KEYS.map(([key, words]) => [h("dt", {}, key), h("dd", {}, words)])),
      h("div", { class: "strip" }, h("button", { type: "button", onclick: () => dialog.close() }, "Close")));
    dialog.showModal();
  }

  key(event) {
    const { key, target } = event;
    if (byId("dialog").open) return;
    const action = event.ctrlKey || event.metaKey ? this.command(key, event.shiftKey) : event.altKey ? this.alternative(key) : this.single(key, target);
    if (!action) return;
    event.preventDefault();
    action();
  }

  command(key, shift) {
    const { study } = this.desk;
    if (key === "z" && !shift) return () => study.undo();
    if (key === "y" || (key.toLowerCase() === "z" && shift)) return () => study.redo();
    if (key === "s") return () => this.files.save();
    if (key === "o") return () => this.files.input.click();
    return null;
  }

  alternative(key) {
    const view = this.views[Number(key) - 1];
    return view && !byId(`tab-${view.key}`).hidden ? () => this.desk.tell("view", view.key) : null;
  }

  single(key, target) {
    if (target.matches?.('input[type="text"], select, textarea')) return null;
    if (key === " " && target.matches?.("button, summary, input[type=checkbox], a")) return null;
    const { starting } = this;
    const shown = this.pages.timed ?? starting;
    const { clock } = shown;
    const step = clock.end / 50;
    return {
      l: () => this.toggle(), d: () => this.mode(), f: () => this.full(), n: () => shown.reveal(1), N: () => shown.reveal(-1),
      PageDown: this.on ? () => shown.reveal(1) : null, PageUp: this.on ? () => shown.reveal(-1) : null, a: () => shown.reveal(Infinity), h: () => shown.reveal(-Infinity),
      " ": () => clock.toggle(), "[": () => clock.go(clock.time - step), "]": () => clock.go(clock.time + step),
      p: () => starting.pin(), "?": () => this.help(), Escape: this.on ? () => this.toggle(false) : null,
      ...Object.fromEntries(SHOWS.map((what, k) => [String(k + 1), this.on ? () => this.shows(what) : null])),
    }[key] ?? null;
  }

  shows(what) {
    ROOT.dataset.shows = what;
    this.dress();
  }
}
