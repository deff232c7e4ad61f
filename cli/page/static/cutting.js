/** The cutting list: pieces × goods, how many, as which hand and how; what the drawing says of it. */

import { button, el, fold } from "./dom.js";
import { words } from "./words.js";

/** @typedef {import("./goods.js").Edits} Edits */

/** Pieces × goods.
 * @param {any} m @param {string[]} names
 * @param {Edits} edits */
export function matrix(m, names, edits) {
  return el("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": words.cutting },
    el("table", {}, el("caption", {}, words.cutting),
      el("thead", {}, el("tr", {}, el("th", { scope: "col" }, words.piece),
        ...names.map((n) => el("th", { scope: "col" }, n)))),
      el("tbody", {}, ...m.pieces.map((/** @type {any} */ p) => el("tr", {},
        el("th", { scope: "row" }, p.name),
        ...names.map((n) => cell(m, p.name, n, edits)))))));
}

/** @param {any} m @param {string} piece @param {string} material
 * @param {Edits} edits */
function cell(m, piece, material, edits) {
  const lines = m.cuts.filter((/** @type {any} */ c) =>
    c.piece === piece && c.material === material);
  if (lines.length > 1) return el("td", {}, words.lines(
    lines.map((/** @type {any} */ l) => l.copies).join(" + ")));
  const [cut] = lines;
  const about = words.cell(piece, material);
  const id = `${piece}×${material}`;
  const copies = el("input", { type: "number", min: 0, step: 1, id, value: cut?.copies ?? "",
    "aria-label": words.copies(about), onchange: (/** @type {Event} */ e) => save(e) });
  const hand = el("select", { id: `${id} hand`, "aria-label": words.hand(about),
    onchange: (/** @type {Event} */ e) => save(e) },
  ...Object.entries(words.hands).map(([value, said]) =>
    el("option", { value, selected: value === (cut?.hand ?? "") }, said)));
  const ways = Object.entries(words.ways).map(([key, said]) => ({ key, said,
    box: el("input", { type: "checkbox", id: `${id} ${key}`, checked: cut?.ways[key] === true,
      onchange: (/** @type {Event} */ e) => save(e) }) }));
  const gap = el("input", { id: `${id} gap`, size: 6, value: cut?.gap ?? "",
    onchange: (/** @type {Event} */ e) => save(e) });
  /** @param {Event} e */
  const save = (e) => edits.save(e.target, (says) => ({ what: "cut", piece, material,
    copies: Number(says(copies)) || 0,
    ...(cut ? { hand: says(hand), ways: Object.fromEntries(ways.map((w) => [w.key, says(w.box)])),
      gap: says(gap) } : {}) }));
  const label = (/** @type {Element} */ one, /** @type {string} */ said) =>
    el("label", { for: one.id }, said);
  const ones = cut && [...ways.filter((w) => cut.ways[w.key]).map((w) => w.said), ...cut.more];
  const more = cut && fold(id,
    el("summary", { "aria-label": words.how(about) }, ones.length ? ones.join(", ") : words.howElse),
    el("div", { role: "group", "aria-label": words.how(about) },
      ...ways.map((w) => el("p", {}, w.box, " ", label(w.box, w.said))),
      cut.ways.trimmed && el("p", { class: "fields" }, label(gap, words.gap), gap)));
  return el("td", {}, el("span", { class: "fields" }, copies, cut ? hand : null), more);
}

/** What the drawing says is cut, to be taken over.
 * @param {any} m @param {string[]} names
 * @param {Edits} edits */
export function proposed(m, names, edits) {
  if (!m.says.length) return null;
  /** @type {Map<string, any[]>} */
  const byGoods = new Map();
  for (const one of m.says) byGoods.set(one.material, [...(byGoods.get(one.material) ?? []), one]);
  const choices = [...byGoods].map(([material, rows], i) => {
    const fresh = material && !names.includes(material) && !m.ready;
    const choose = el("select", { id: `says-${i}` },
      el("option", { value: "" }, words.leaveIt),
      ...names.map((n) => el("option", { value: n, selected: n === rows[0].goods }, n)),
      fresh && el("option", { value: material, selected: !rows[0].goods },
        words.freshCloth(material)));
    return { rows, choose, said: words.says(material, rows) };
  });
  return el("section", { class: "care", "aria-label": words.drawingSays },
    el("h3", {}, words.drawingSays),
    ...choices.map((c) => el("p", { class: "fields" },
      el("label", { for: c.choose.id }, c.said), c.choose)),
    el("p", {}, button(words.takeThem, () => edits.send(
      choices.map((c) => c.choose), { what: "take over",
        rows: choices.flatMap((c) => (c.choose.value
          ? c.rows.map((r) => ({ ...r, material: c.choose.value })) : [])) }))));
}
