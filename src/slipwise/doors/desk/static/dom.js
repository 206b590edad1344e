// Small helpers to build the page.

/** An element: h("td", {class: "number", onclick: f}, "words", node, …). Unknown-to-HTML values false, null are left out. */
export function h(tag, attributes = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === false || value === null || value === undefined) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else node.setAttribute(name, value === true ? "" : value);
  }
  node.append(...children.flat(3).filter((child) => child !== null && child !== undefined && child !== false));
  return node;
}

export const byId = (id) => document.getElementById(id);

/** Puts children in place of what is there. */
export function fill(node, ...children) {
  node.replaceChildren(...children.flat(3).filter((child) => child !== null && child !== undefined && child !== false));
}

/** A row of buttons of which one is pressed. `choices`: [{key, title}]; `pick(key)` is told. */
export function choice(label, choices, chosen, pick) {
  return h("div", { class: "strip", role: "group", "aria-label": label }, choices.map(({ key, title }) =>
    h("button", { type: "button", "data-key": key, "aria-pressed": String(key === chosen), onclick: () => pick(key) }, title)));
}

/** Moves between the tabs of a row with the arrow keys; only the selected one is in the order of the tab key. */
export function arrows(row) {
  row.addEventListener("keydown", (event) => {
    const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    const tabs = [...row.querySelectorAll('[role="tab"]:not([hidden])')];
    const at = tabs.indexOf(document.activeElement);
    if (!step || at < 0) return;
    event.preventDefault();
    const next = tabs[(at + step + tabs.length) % tabs.length];
    next.focus();
    next.click();
  });
}

/** A table as the library gives it: {title, columns: [{title, unit, numeric}], rows: [[text]], note}. */
export function table({ title, columns, rows, note }, level = "h2") {
  const head = columns.map(({ title: words, unit, numeric }) =>
    h("th", { scope: "col", class: numeric ? "number" : null }, unit ? `${words}, ${unit}` : words));
  const body = rows.map((row) => h("tr", {}, row.map((text, k) => h(k ? "td" : "th", { class: columns[k]?.numeric ? "number" : null, scope: k ? null : "row" }, text))));
  return h("div", { class: "table", tabindex: 0, role: "region", "aria-label": title || "Table" }, title && h(level, {}, title), h("table", {}, h("thead", {}, h("tr", {}, head)), h("tbody", {}, body)),
    note && h("p", { class: "quiet" }, note));
}

/** Saves bytes under a name through the browser. */
export function download(name, blob) {
  const link = h("a", { href: URL.createObjectURL(blob), download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
}
