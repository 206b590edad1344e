// The way the power goes, from the source to the load, and what else is asked: each station opens its values.

import { arrows, fill, h } from "./dom.js";
import { capital } from "./fields.js";
import { figures } from "./scale.js";

const SVG = "http://www.w3.org/2000/svg";
const LINE = '<path d="M0 15H3000"/>';
const SYMBOLS = {
  network: '<path d="M28 15H3000"/><circle cx="16" cy="15" r="11"/><path d="M9 15c3.5-7 4-7 7 0s3.5 7 7 0"/>',
  generator: '<path d="M28 15H3000"/><circle cx="16" cy="15" r="11"/><text x="16" y="19">G</text>',
  transformer: '<path d="M0 15H26M58 15H3000"/><circle cx="36" cy="15" r="9.5"/><circle cx="48" cy="15" r="9.5"/>',
  cable: `${LINE}<path d="M30 7h26M30 23h26" stroke-dasharray="3 3"/>`,
  line: `${LINE}<path d="M36 22 48 8"/>`,
  reactor: '<path d="M0 15H28c0-10 9-10 9 0c0-10 9-10 9 0c0-10 9-10 9 0H3000"/>',
  motor: '<path d="M0 15H18"/><circle cx="30" cy="15" r="12"/><text x="30" y="19">M</text><path d="M42 13H3000M42 17H3000"/>',
  load: '<path d="M0 13H14M0 17H14"/><path d="M14 4h26v22H14z"/>',
};

/** Stations from the sections of a study: the elements of the supply in their order, motor, load, and then the rest. */
export function stations(sections) {
  const found = new Map();
  for (const { key } of sections) {
    const own = /^supply\.path\[\d+\]/.exec(key)?.[0] ?? (["", "limits", "tolerances"].includes(key) ? "limits" : key.split(".")[0].replace(/\[\d+\]$/, ""));
    if (!found.has(own)) found.set(own, { key: own, title: own.startsWith("supply.path") ? "Element" : own === "disturbance" ? "bad supply" : own.replaceAll("_", " "), sections: [] });
    found.get(own).sections.push(key);
  }
  const rank = (key) => (key.startsWith("supply") ? 0 : { motor: 1, load: 2, limits: 3 }[key] ?? 4);
  return [...found.values()].sort((a, b) => rank(a.key) - rank(b.key));
}

export class Path {
  /** `pick(key)` is told which section to show. */
  constructor(host, pick) {
    this.host = host;
    this.pick = pick;
    arrows(host);
  }

  /** `sections`: [{key, title}]; `kinds`: Map section -> kind of element; `busbars`: Map section -> name. */
  show(sections, chosen, kinds, busbars) {
    const shape = JSON.stringify([sections, [...kinds], [...busbars]]);
    if (shape !== this.shape) {
      this.shape = shape;
      const had = this.host.contains(document.activeElement) ? document.activeElement.dataset.key : null;
      fill(this.host, sections.map((section) => this.station(section, kinds.get(section.key), busbars.get(section.key))));
      if (had) this.host.querySelector(`[data-key="${CSS.escape(had)}"]`)?.focus();
    }
    for (const tab of this.host.children) {
      const mine = tab.dataset.key === chosen;
      tab.setAttribute("aria-selected", String(mine));
      tab.tabIndex = mine ? 0 : -1;
    }
  }

  station(section, kind, busbar) {
    const picture = document.createElementNS(SVG, "svg");
    picture.setAttribute("viewBox", "0 0 100 30");
    picture.setAttribute("preserveAspectRatio", "xMinYMid meet");
    picture.setAttribute("aria-hidden", "true");
    picture.innerHTML = SYMBOLS[kind] ?? (busbar ? LINE : "");
    return h("button", { type: "button", role: "tab", "data-key": section.key, "aria-controls": "fields", onclick: () => this.pick(section.key) },
      picture, busbar && h("span", { class: "bus" }), h("b", {}, busbar ?? capital(section.title)), h("small", { "data-busbar": busbar }));
  }

  /** The dip of the chosen way beside each busbar. `dips`: [{busbar, shown, worst, limit, over, words}]. */
  dips(dips) {
    for (const note of this.host.querySelectorAll("small[data-busbar]")) {
      const dip = dips.find(({ busbar }) => busbar === note.dataset.busbar);
      const bare = (text) => text.replace(/\s*%$/, "");
      const values = dip ? [bare(dip.shown), dip.worst && `worst\u00a0${bare(dip.worst)}`].filter(Boolean).join(", ") : "";
      note.textContent = dip ? `dip\u00a0${values}${dip.limit ? `\u00a0of\u00a0${figures(dip.limit)}` : ""}\u202f%${dip.over ? ", over" : ""}` : "";
      note.title = dip?.words ?? "";
      note.classList.toggle("bad", Boolean(dip?.over));
    }
  }
}
