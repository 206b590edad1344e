// The views: those every study has, those that only some ask for, and how the others are asked for.

import { byId, fill, h } from "./dom.js";
import { SECTIONS } from "./view_pages.js";

export const VIEWS = [
  { key: "starting", title: "Starting" }, { key: "speed", title: "Speed" }, { key: "stopping", title: "Stopping" },
  { key: "supply", title: "Bad supply" }, { key: "group", title: "Group" }, { key: "heat", title: "Heat and protection" },
  { key: "fit", title: "Fit" }, { key: "teach", title: "Teach" },
];

/** What can be asked for besides: section of the study file, what it answers, and lines to begin with. */
const ASKED = [
  { key: "stopping", station: "stopping", words: "[stopping]: every way of stopping the drive, its time, heat and stops an hour.",
    lines: ["[stopping]                      # stop_time, turns, stops_per_hour, load_case"] },
  { key: "supply", station: "disturbance", words: "[[disturbance]]: unbalance, an open line, dips, reclosing, a bus transfer, reversed phases, off-nominal voltage or frequency.",
    lines: ["# Examples of a bad supply, not of this network: change them.", "[[disturbance]]", 'kind = "open line"', "", "[[disturbance]]", 'kind = "voltage dip"', 'remaining_voltage = "60 %"', 'duration = "0.3 s"'] },
  { key: "group", station: "group", words: "[[group.motor]]: several motors on this supply path, which may be switched on together, and when.",
    lines: ["# Example of a group: two motors like this one.", "[[group.motor]]", 'name = "first"', "", "[[group.motor]]", 'name = "second"'] },
];

export class Nav {
  /** `row`: of the tabs, which are there already; `open(key)` opens a view. */
  constructor(desk, row, open) {
    Object.assign(this, { desk, row, open });
    this.more = h("button", { id: "more", type: "button", title: "What else a study can ask", onclick: () => this.ask() }, "More");
    row.after(this.more);
    for (const what of ["fields", "judged"]) desk.addEventListener(what, () => this.offer());
    this.offer();
  }

  /** Whether the study asks for a view, as its text says; once it is judged, as the answer says. */
  asks(key) {
    const { judged, stale, stations } = this.desk;
    if (judged && !stale) return Boolean(judged[SECTIONS[key]]);
    return stations.some((one) => one.key === ASKED.find((asked) => asked.key === key).station);
  }

  offer() {
    for (const { key } of ASKED) this.row.querySelector(`[data-key="${key}"]`).hidden = !this.asks(key);
    this.more.hidden = ASKED.every(({ key }) => this.asks(key));
    if (SECTIONS[this.desk.view] && !this.asks(this.desk.view)) this.open("starting");
  }

  ask() {
    const dialog = byId("dialog");
    const add = ({ key, lines }) => {
      dialog.close();
      this.desk.append(lines).then(() => this.asks(key) && this.open(key));
    };
    fill(dialog, h("h2", { id: "dialog-title" }, "What else a study can ask"), h("p", { class: "quiet" }, "Each adds lines to the study file, which Undo takes out again."),
      ASKED.filter(({ key }) => !this.asks(key)).map((asked) => h("div", { class: "asked" }, h("p", {}, asked.words), h("button", { type: "button", class: "deed", onclick: () => add(asked) }, `Add ${VIEWS.find(({ key }) => key === asked.key).title.toLowerCase()}`))),
      h("div", { class: "strip" }, h("button", { type: "button", onclick: () => dialog.close() }, "Close")));
    dialog.showModal();
  }
}
