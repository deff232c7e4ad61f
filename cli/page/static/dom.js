/** Elements made of data: text stays text, nothing is parsed as markup. */

/** @typedef {Node | string | null | undefined | false} Child */

/**
 * @param {string | null} space namespace, or null for HTML
 * @param {string} tag
 * @param {Record<string, any>} attributes `on…` are listeners; false and null are left out
 * @param {Child[]} children
 * @returns {any}
 */
function make(space, tag, attributes, children) {
  const element = space ? document.createElementNS(space, tag) : document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) {
      element.setAttribute(name, String(value));
    }
  }
  element.append(...children.filter((c) => c !== null && c !== undefined && c !== false));
  return element;
}

/** @param {string} tag @param {Record<string, any>} attributes @param {Child[]} children */
export function el(tag, attributes = {}, ...children) {
  return make(null, tag, attributes, children);
}

/** @param {string} tag @param {Record<string, any>} attributes @param {Child[]} children */
export function shape(tag, attributes = {}, ...children) {
  return make("http://www.w3.org/2000/svg", tag, attributes, children);
}

/** @param {string} words @param {(event: Event) => void} act @param {Record<string, any>} more */
export function button(words, act, more = {}) {
  return el("button", { type: "button", onclick: act, ...more }, words);
}

/**
 * Put children in the place of what an element has.
 * @param {Element} element @param {Child[]} children
 */
export function fill(element, ...children) {
  element.replaceChildren(...children.filter((c) => c !== null && c !== undefined && c !== false));
}

/** The same, and what had the focus has it again, if it has an id.
 * @param {Element} element @param {Child[]} children */
export function refill(element, ...children) {
  const before = document.activeElement;
  const id = before && element.contains(before) ? before.id : "";
  fill(element, ...children);
  if (id) document.getElementById(id)?.focus();
}

/** A table with a caption for those who hear it; the first column names the row.
 * @param {string} caption @param {string[]} head @param {Child[][]} rows */
export function table(caption, head, rows) {
  return el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": caption },
    el("table", {},
      el("caption", {}, caption),
      el("thead", {}, el("tr", {}, ...head.map((h) => el("th", { scope: "col" }, h)))),
      el("tbody", {}, ...rows.map((row) => el("tr", {}, ...row.map((cell, i) =>
        i ? el("td", {}, cell) : el("th", { scope: "row" }, cell)))))));
}
