/** What has to be said of a pattern file before it is taken: the scale of a picture, one of its sizes. */

import { button, el } from "./dom.js";
import { scaleField } from "./scale.js";
import { words } from "./words.js";

/** What gives a picture its scale; what was found in it, drawn over it, before it is taken.
 * @param {any} one the file @param {(how: any) => any} read */
export function scaleAsked(one, read) {
  const how = one.how ?? {};
  const scale = scaleField(`scale-${one.file}`, how.file_reference ?? "");
  const line = el("select", { id: `line-${one.file}` }, ...Object.entries(words.pens).map(([v, says]) =>
    el("option", { value: v, selected: v === (how.file_line ?? "") }, says)));
  const look = (/** @type {boolean} */ take) => read({ pictured: true, take,
    file_reference: scale.field.value || "?", file_line: line.value });
  return el("div", {},
    !one.said && !one.found && el("p", {}, words.scaleAsked),
    el("p", { class: "fields" }, scale.all),
    el("p", { class: "fields" }, el("label", { for: line.id }, words.pen), line,
      button(one.said ? words.lookAgain : words.lookAt, () => look(false), { "aria-label":
        `${one.said ? words.lookAgain : words.lookAt}: ${one.file}` })),
    one.found && found(one, () => read({ ...how, pictured: true, take: true })));
}

/** @param {any} one @param {() => void} take */
function found(one, take) {
  const { shown, said, rows, notes } = one.found;
  return el("div", {},
    shown && el("figure", {}, el("img", { class: "seen", src: shown, alt: "" }),
      el("figcaption", {}, words.seenOver)),
    el("p", {}, said),
    el("ul", { class: "plain" }, ...rows.map((/** @type {string[]} */ row) =>
      el("li", {}, words.seenPiece(row[0], row[1], row[2])))),
    ...notes.map((/** @type {string} */ n) => el("p", { class: "soft" }, n)),
    !one.trouble && el("p", {}, button(words.takePieces, take,
      { "aria-label": `${words.takePieces}: ${one.file}` })));
}

/** Which of the sizes in a file is taken, or all of them.
 * @param {any} one @param {(how: any) => any} read */
export function sizeAsked(one, read) {
  const which = el("select", { id: `size-${one.file}` }, ...one.sizes.map((/** @type {string} */ s) =>
    el("option", { value: s, selected: s === one.size }, s)));
  const how = () => ({ ...one.how, size: which.value });
  return el("p", { class: "fields" },
    el("label", { for: which.id }, one.sized ? words.sizeMade : words.sizeWhich), which,
    !one.sized && button(words.sizeTake, () => read(how()),
      { "aria-label": `${words.sizeTake}: ${one.file}` }),
    button(one.sized ? words.sizeTake : words.sizeAll, () => read({ ...how(), all: true }),
      { "aria-label": `${one.sized ? words.sizeTake : words.sizeAll}: ${one.file}` }));
}

/** The sizes of the job.
 * @param {any} m @param {import("./goods.js").Edits} edits */
export function jobSizes(m, edits) {
  const save = (/** @type {Event} */ e) => edits.save(e.target, (says) => ({ what: "sizes",
    sizes: says(names), size: made ? says(made) : "" }));
  const names = el("input", { id: "job-sizes", value: m.sizes, size: 18, onchange: save });
  const all = m.sizes ? m.sizes.split(", ") : [];
  const made = all.length > 0 && el("select", { id: "job-size", onchange: save },
    ...all.map((/** @type {string} */ s) => el("option", { value: s, selected: s === m.size }, s)));
  return el("p", { class: "fields" }, el("label", { for: names.id }, words.jobSizes), names,
    made && el("label", { for: made.id }, words.sizeMade), made);
}
