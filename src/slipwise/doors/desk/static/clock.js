// The time cursor: play, pause, scrub. Whoever shows something at a time is told of every move.

import { h } from "./dom.js";
import { figures } from "./scale.js";

const LENGTH = 8; // seconds of playing, whatever the start takes

export class Clock {
  constructor(moved) {
    this.moved = moved;
    this.end = 0;
    this.tell = () => "";
    this.time = 0;
    this.button = h("button", { type: "button", class: "play", onclick: () => this.toggle() }, "Play");
    this.range = h("input", { type: "range", min: 0, max: 1000, step: 1, "aria-label": "Time of the start", oninput: () => this.scrub() });
    this.words = h("output", { class: "time" });
    this.node = h("div", { class: "strip clock" }, this.button, h("div", { class: "wide" }, this.range), this.words);
  }

  /** A start of this length [s]; the cursor keeps its share of the way. */
  over(end, tell = () => "") {
    const share = this.end ? this.time / this.end : 0;
    Object.assign(this, { end, tell });
    this.go(share * end);
  }

  go(time) {
    this.time = Math.min(Math.max(time, 0), this.end);
    this.range.value = this.end ? Math.round((1000 * this.time) / this.end) : 0;
    const words = `${figures(this.time, 3)} s`;
    this.words.textContent = [words, this.tell(this.time)].filter(Boolean).join(", ");
    this.range.setAttribute("aria-valuetext", this.words.textContent);
    this.moved(this.time);
  }

  scrub() {
    this.pause();
    this.go((this.end * this.range.value) / 1000);
  }

  toggle() {
    if (this.playing) this.pause();
    else this.play();
  }

  play() {
    if (!this.end) return;
    if (this.time >= this.end * 0.999) this.go(0);
    this.playing = true;
    this.button.textContent = "Pause";
    const from = performance.now() - (1000 * LENGTH * this.time) / this.end;
    const frame = (now) => {
      if (!this.playing) return;
      this.go((this.end * (now - from)) / 1000 / LENGTH);
      if (this.time >= this.end) this.pause();
      else requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
  }

  pause() {
    this.playing = false;
    this.button.textContent = "Play";
  }
}
