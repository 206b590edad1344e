// Puts the page together.

import { ask } from "./api.js";
import { Desk } from "./desk.js";
import { arrows, byId, fill, h } from "./dom.js";
import { Field, Fields } from "./fields.js";
import { Files } from "./files.js";
import { Lecture } from "./lecture.js";
import { Nav, VIEWS } from "./nav.js";
import { Path } from "./path.js";
import { Study } from "./study.js";
import { Pages } from "./view_pages.js";
import { StartingView } from "./view_starting.js";

const CAUTION = "A calculation on stated data. Maker, network operator, local code and a licensed engineer decide.";

const REFUSED = "Not taken, as told beside the values; what is shown is of the study before.";

const desk = new Desk();
const root = document.documentElement;
const status = byId("status");
const say = (words) => {
  status.textContent = words;
  clearTimeout(say.later);
  if (!status.classList.contains("bad")) say.later = setTimeout(() => { if (status.textContent === words) status.textContent = ""; }, 12000);
};
const tell = (path, value, final, how) => desk.edit(path, value, final, how);

root.dataset.mode = remembered() ?? (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light");
const centre = byId("figure");
const startingCentre = h("div", { class: "view" });
const startingSide = h("div", { class: "view" });
const pageCentre = h("div", { class: "view page", hidden: true });
const pageSide = h("div", { class: "view page", hidden: true });
centre.append(startingCentre, pageCentre);
byId("side").append(startingSide, pageSide);

const fields = new Fields(byId("fields"), tell, { mends: () => !desk.data, held: (name) => desk.study.files.get(name), choose: () => files.choose() });
const path = new Path(byId("path"), (key) => {
  desk.section = key;
  showFields();
});
const files = new Files(desk, say);
const starting = new StartingView(desk, startingCentre, startingSide);
const pages = new Pages(desk, pageCentre, pageSide);
const lecture = new Lecture(desk, { starting, pages, files, views: VIEWS, dress, live });
let liveField = null;

tabs();
new Nav(desk, byId("views"), view);
tools();
byId("caution").textContent = CAUTION;
byId("keep").addEventListener("click", () => desk.keep());
desk.addEventListener("fields", showFields);
desk.addEventListener("faults", ({ detail }) => faults(detail));
desk.addEventListener("progress", ({ detail }) => say(detail ? `${detail.words} …` : ""));
desk.addEventListener("steady", dips);
desk.addEventListener("steady", ({ detail }) => detail.final || fields.follow(desk.data?.moved ?? []));
desk.addEventListener("judged", () => (desk.section === "starting" ? showFields() : dips()));
desk.addEventListener("start", dips);
desk.addEventListener("study", studied);
desk.addEventListener("view", ({ detail }) => view(detail));
desk.addEventListener("busy", ({ detail }) => { root.dataset.busy = detail ? "yes" : "no"; });
desk.addEventListener("fields", () => lecture.on && live(true));
window.desk = { desk, starting, pages, lecture, files }; // for scripts that drive the page
await boot();

function remembered() {
  try {
    return localStorage.getItem("slipwise mode");
  } catch {
    return null;
  }
}

function tabs() {
  const row = byId("views");
  fill(row, VIEWS.map(({ key, title }) => h("button", { type: "button", role: "tab", id: `tab-${key}`, "data-key": key, "aria-controls": "centre", onclick: () => view(key) }, title)));
  arrows(row);
  view("starting");
}

function view(key) {
  desk.view = key;
  document.body.dataset.view = key;
  for (const tab of byId("views").children) {
    tab.setAttribute("aria-selected", String(tab.dataset.key === key));
    tab.tabIndex = tab.dataset.key === key ? 0 : -1;
  }
  const first = key === "starting";
  startingCentre.hidden = startingSide.hidden = !first;
  pageCentre.hidden = pageSide.hidden = first;
  pages.show(key);
}

function tools() {
  const undo = h("button", { type: "button", onclick: () => desk.study.undo() }, "Undo");
  const redo = h("button", { type: "button", onclick: () => desk.study.redo() }, "Redo");
  const mode = h("button", { type: "button", onclick: () => lecture.mode() });
  const talk = h("button", { type: "button", onclick: () => lecture.toggle() }, "Lecture");
  fill(byId("tools"), undo, redo, mode, talk, h("button", { type: "button", onclick: () => lecture.help() }, "Keys"));
  const told = () => {
    undo.disabled = !desk.study.canUndo;
    redo.disabled = !desk.study.canRedo;
    mode.textContent = root.dataset.mode === "dark" ? "Light" : "Dark";
    talk.setAttribute("aria-pressed", String(lecture.on));
  };
  lecture.told = told;
  desk.addEventListener("study", told);
  told();
}

function studied() {
  byId("title").textContent = desk.title || desk.study.name;
  byId("title").title = byId("title").textContent;
  document.title = `${desk.title || desk.study.name}: slipwise desk`;
  if (desk.study.at > 0 && /[#&]study=/.test(location.hash) && desk.study.text !== files.linked) history.replaceState(null, "", location.pathname); // a link to what stands here no longer
}

function showFields() {
  const kinds = new Map([["motor", "motor"], ["load", "load"]]);
  for (const { name, shown } of desk.others ?? []) if (name.endsWith("].kind")) kinds.set(name.replace(/\.kind$/, ""), shown);
  const busbars = new Map(desk.fields.filter(({ key, written }) => key === "busbar" && written).map(({ section, text }) => [section, text]));
  for (const station of desk.stations) if (station.title === "Element") station.title = kinds.get(station.key) ?? "element";
  path.show(desk.stations, desk.section, kinds, busbars);
  const station = desk.stations.find(({ key }) => key === desk.section);
  const dials = station?.key === "starting" ? desk.dials() : [];
  if (dials.length) fields.show([...desk.fields.filter(({ path: at }) => !dials.some((dial) => dial.path === at)), ...dials], { ...station, sections: [...new Set([...station.sections, dials[0].section])] }, desk.opened, desk.moved);
  else if (station) fields.show(desk.fields, station, desk.opened, desk.moved);
  if (desk.faults?.length) fields.faults(desk.faults);
  studied();
  dips();
}

/** Greatest dip of the start, nominal; beside it that of the worst case while the verdicts are of the present study. */
function dips() {
  const { start, judged, stale, chosen } = desk;
  const run = start?.way === chosen ? start.traces.busbars : [];
  const rows = judged?.ways.find(({ key }) => key === chosen)?.criteria ?? [];
  const limits = new Map((desk.data?.ways ?? []).flatMap((way) => way.dips ?? []).map(({ busbar, limit }) => [busbar, limit]));
  const still = desk.way()?.dips ?? []; // none where what is drawn is no connection to the supply as it is: a soft starter, an inverter
  const known = still.length ? still : run.map(({ name, dip, dip_text: shown }) => ({ busbar: name, dip, shown, limit: limits.get(name) ?? null }));
  path.dips(known.map(({ busbar, dip: standstill, shown: standing, limit }) => {
    const ran = run.find(({ name }) => name === busbar);
    const worst = rows.find(({ key, case: name }) => key === `dip:${busbar}` && name !== "nominal");
    const words = [ran ? "Greatest dip during the start, nominal case" : "Dip at standstill, nominal case", worst && !stale && `greatest of the ${worst.case} case ${worst.value_text}`, limit && "against its limit"];
    return { busbar, limit, shown: ran?.dip_text ?? standing, worst: worst && (stale ? "…" : worst.value_text), words: words.filter(Boolean).join("; "),
      over: limit !== null && ((ran?.dip ?? standstill) > limit || (!stale && worst?.margin < 0)) };
  }));
}

function faults(found) {
  const named = found.filter(({ name }) => name);
  if (named.length) return refused(named);
  const rest = fields.faults(found);
  status.classList.toggle("bad", found.length > 0);
  document.body.classList.toggle("refused", found.length > 0);
  byId("keep").hidden = !found.length || !desk.pending;
  if (found.length) say(rest.length ? rest.map(({ line, message }) => `${line ? `line ${line}: ` : ""}${message}`).join("  ") : desk.data ? REFUSED : "The study has faults, told beside its values.");
  else if (status.textContent) say("");
  status.title = status.textContent;
  return null;
}

/** A file that cannot be read: everything that is wrong with it, and where. */
function refused(found) {
  const dialog = byId("dialog");
  fill(dialog, h("h2", { id: "dialog-title" }, `${found[0].name} is not opened; what was open stays`),
    h("ul", {}, found.map(({ name, line, message }) => h("li", {}, `${name}${line ? `:${line}` : ""}: ${message}`))),
    h("div", { class: "strip" }, h("button", { type: "button", onclick: () => dialog.close() }, "Close")));
  dialog.showModal();
}

function dress() {
  starting.dress();
  pages.dress();
}

/** In a lecture the value moved last stays at hand. */
function live(on) {
  const wanted = desk.fields.find(({ path: at, slider }) => at === desk.last && slider) ?? desk.fields.find(({ slider, section, written }) => slider && written && section === "load") ?? desk.fields.find(({ slider }) => slider);
  if (!on || !wanted) {
    fill(byId("live"));
    liveField = null;
    return;
  }
  if (liveField?.path !== wanted.path) {
    liveField = new Field(wanted, tell, `live-${wanted.path}`);
    fill(byId("live"), liveField.node);
  }
  liveField.show(wanted, desk.opened.get(wanted.path) ?? null, desk.moved.get(wanted.path));
}

async function boot() {
  await starting.ready;
  const kept = Study.kept();
  const { studies } = await ask("studies");
  files.offer(studies);
  const opened = (await files.fromLink()) || (kept && (await files.open(kept.text, kept.name, kept.opened, kept.files)));
  if (!opened) await files.open(studies[0].text, `${studies[0].key}.toml`);
  window.addEventListener("hashchange", () => files.fromLink());
  root.dataset.ready = "yes";
}
