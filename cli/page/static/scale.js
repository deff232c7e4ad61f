/** What gives a picture its scale, in a field. */

import { el } from "./dom.js";
import { words } from "./words.js";

/** @param {string} id @param {string} value
 * @returns {{field: any, all: HTMLElement}} */
export function scaleField(id, value = "") {
  const field = el("input", { id, value, size: 14, list: `${id}-usual`,
    "aria-describedby": `${id}-hint` });
  return { field, all: el("span", { class: "fields" },
    el("label", { for: id }, words.scaleBy), field,
    el("datalist", { id: `${id}-usual` }, ...words.scales.map((s) => el("option", { value: s }))),
    el("span", { class: "soft", id: `${id}-hint` }, words.scaleHint)) };
}
