/** Elements made of data: text stays text, nothing is parsed as markup. */

/** @typedef {Node | string | null | undefined | false} Child */

/** Fields that do something themselves as soon as they are changed.
 * @type {WeakSet<EventTarget>} */
const sends = new WeakSet();
/** Fields in which something was typed or chosen that nobody was told yet.
 * @type {WeakSet<EventTarget>} */
const drafts = new WeakSet();
document.addEventListener("input", (e) => e.target && drafts.add(e.target), true);
document.addEventListener("change", (e) => {
  if (!e.target || !sends.has(e.target)) return;
  drafts.delete(e.target);
  carried.delete(e.target);
}, true);

/** Fields that were drawn anew while somebody typed: no browser tells of what stands there already
 * when they are left.
 * @type {WeakSet<EventTarget>} */
const carried = new WeakSet();
let redrawing = false;
/** @param {EventTarget | null} field */
function left(field) {
  if (!redrawing && field && carried.has(field) && drafts.has(field)) {
    field.dispatchEvent(new Event("change", { bubbles: true }));
  }
}
document.addEventListener("focusout", (e) => left(e.target), true);
document.addEventListener("keydown", (e) => { if (e.key === "Enter") left(e.target); }, true);

/** Where letters are put together just now, as of Japanese: such a field stays as it is.
 * @type {EventTarget | null} */
let composing = null;
document.addEventListener("compositionstart", (e) => { composing = e.target; }, true);
document.addEventListener("compositionend", () => { composing = null; }, true);

/** Whether an element is not to be drawn anew just now.
 * @param {Element} element */
export const typing = (element) => composing instanceof Node && element.contains(composing);

/** What a field says.
 * @param {any} field */
export const said = (field) => (field.type === "checkbox" ? field.checked : field.value);

/** What a field said when it was drawn: what is stored.
 * @param {any} field */
export function stored(field) {
  if (field.type === "checkbox") return field.defaultChecked;
  if (field.tagName !== "SELECT") return field.defaultValue;
  const options = [...field.options];
  return (options.find((one) => one.defaultSelected) ?? options[0])?.value ?? "";
}

/** Whether something is typed in a field that nobody was told yet: its own undoing is the browser's.
 * @param {EventTarget | null} field */
export const drafted = (field) => Boolean(field && drafts.has(field) && said(field) !== stored(field));

/** Have a field say something that nobody has to be told.
 * @param {any} field @param {any} value
 * @param {{stored?: boolean}} how whether it is stored now */
export function put(field, value, how = {}) {
  const typed = said(field);
  if (how.stored && field.type === "checkbox") field.defaultChecked = value;
  else if (how.stored && field.tagName === "SELECT") {
    for (const one of field.options) one.defaultSelected = one.value === value;
  } else if (how.stored) field.defaultValue = value;
  if (how.stored) value = typed; // it may be typed in again by now
  else drafts.delete(field);
  if (field.type === "checkbox") field.checked = value;
  else field.value = value;
}


/**
 * @param {Child[]} children
 * @returns {(Node | string)[]}
 */
const there = (children) => /** @type {(Node | string)[]} */ (
  children.filter((c) => c !== null && c !== undefined && c !== false));

/**
 * @param {string | null} space namespace, or null for HTML
 * @param {string} tag
 * @param {Record<string, any>} attributes `on…` are listeners; false and null are left out
 * @param {Child[]} children
 * @returns {any}
 */
function make(space, tag, attributes, children) {
  const element = space ? document.createElementNS(space, tag) : document.createElement(tag);
  if (attributes.onchange) sends.add(element);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) { if (value) element.addEventListener(name.slice(2), heard(value)); }
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) {
      element.setAttribute(name, String(value));
    }
  }
  element.append(...there(children));
  return element;
}

/** What is heard of a field, but not that it goes because all is drawn anew.
 * @param {(event: Event) => void} act @returns {(event: Event) => void} */
const heard = (act) => (event) => { if (!redrawing) act(event); };

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

/** Have a field that was drawn anew say what is stored again: what was typed in the one before no
 * browser undoes.
 * @param {any} field @returns {boolean} whether it was so */
export function takenBack(field) {
  if (!carried.has(field) || !drafted(field)) return false;
  put(field, stored(field));
  return true;
}

/**
 * Put children in the place of what an element has.
 * @param {Element} element @param {Child[]} children
 */
export function fill(element, ...children) {
  element.replaceChildren(...there(children));
}

/** The same; what had the focus has it again, and what is filled in and not sent yet stays, but for
 * a field that sends itself and is stored as another by now: that is shown.
 * @param {Element} element @param {Child[]} children */
export function refill(element, ...children) {
  const before = document.activeElement;
  const focused = before && element.contains(before) && before !== element ? before : null;
  const nth = focused ? alike(element, focused).indexOf(focused) : -1;
  const chosen = focused instanceof HTMLInputElement
    ? [focused.selectionStart, focused.selectionEnd] : [null, null];
  const typed = [...element.querySelectorAll("input, select")].filter((one) => one.id
    && drafts.has(one) && (one === focused || !sends.has(one)))
    .map((one) => ({ one, value: said(one) }));
  redrawing = true;
  fill(element, ...children);
  for (const { one, value } of typed) {
    const now = element.querySelector(`#${CSS.escape(one.id)}`);
    if (!now || now === one || (sends.has(now) && stored(now) !== stored(one))) continue;
    put(now, value);
    drafts.add(now);
    carried.add(now);
  }
  const again = focused && alike(element, focused)[nth];
  again?.focus();
  if (chosen[0] !== null) again?.setSelectionRange?.(...chosen);
  redrawing = false;
}

/** All within an element that are called as one is.
 * @param {Element} element @param {Element} one
 * @returns {any[]} */
function alike(element, one) {
  if (one.id) return [...element.querySelectorAll(`#${CSS.escape(one.id)}`)];
  const name = (/** @type {Element} */ e) => e.getAttribute("aria-label") ?? e.textContent;
  return [...element.querySelectorAll(one.tagName)].filter((e) => name(e) === name(one));
}

/** What is opened, while all is drawn anew.
 * @type {Set<string>} */
const opened = new Set();

/** Details that stay open or closed.
 * @param {string} id @param {Element} summary
 * @param {Child[]} inside */
export function fold(id, summary, ...inside) {
  return el("details", { open: opened.has(id), ontoggle: (/** @type {Event} */ e) => {
    if (/** @type {HTMLDetailsElement} */ (e.target).open) opened.add(id);
    else opened.delete(id);
  } }, summary, ...inside);
}

/** Have details be open or closed as soon as they are drawn.
 * @param {string} id
 * @param {boolean} open */
export function folded(id, open) {
  if (open) opened.add(id);
  else opened.delete(id);
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
