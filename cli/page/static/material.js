/** Some goods: how they are sold, which way they lie, what is printed on them, what is left. */

import { button, el, fold, said, shape, stored } from "./dom.js";
import { drawHide } from "./hide.js";
import { printed } from "./printed.js";
import { words } from "./words.js";

/** @typedef {import("./goods.js").Edits} Edits */

const FIRST = { cloth: ["name"], sheet: ["name", "size", "price", "count"],
  leather: ["name", "price"] };
const MORE = { cloth: ["selvedge", "ends", "spacing", "substance"],
  sheet: ["margin", "spacing", "substance"], leather: ["margin", "spacing", "substance"] };
const PRINT = ["along", "across", "drop", "at_along", "at_across", "drift"];

/**
 * @param {any} g as the server tells of them @param {string} id @param {Edits} edits
 * @param {string} hand what is at hand of them
 */
export function material(g, id, edits, hand = "") {
  const kind = /** @type {"cloth" | "sheet" | "leather"} */ (g.kind);
  const made = g.index !== null;
  const changed = made && ((/** @type {Event} */ e) => edits.save(e.target, body));
  const text = (/** @type {string} */ name, /** @type {string} */ value, size = 10) =>
    el("input", { id: `${id}-${name}`, value: value ?? "", size, onchange: changed });
  /** @param {string} name @param {Record<string, string>} choices @param {string} value */
  const choice = (name, choices, value) => el("select", { id: `${id}-${name}`, onchange: changed },
    ...Object.entries(choices).map(([v, says]) =>
      el("option", { value: v, selected: v === (value ?? "") }, says)));

  /** @type {Record<string, any>} */
  const inputs = {};
  for (const key of [...FIRST[kind], ...MORE[kind]]) inputs[key] = text(key, g[key], 12);
  inputs.nap = choice("nap", words.naps, g.nap);
  if (kind !== "sheet") inputs.price_per = choice("price_per", words.pricePer[kind], g.price_per);
  if (kind === "cloth") {
    inputs.step = text("step", g.step);
    inputs.fold = choice("fold", words.folds, g.fold);
  }
  const rows = kind === "cloth" ? (g.widths ?? [{}]).map(
    (/** @type {any} */ w, /** @type {number} */ i) => widthRow(w, i)) : [];
  const print = Object.fromEntries(PRINT.map((k) => [k, text(`print-${k}`, g.print?.[k], 8)]));
  const shrinkage = { along: text("shrinks-along", g.shrinkage?.along, 6),
    across: text("shrinks-across", g.shrinkage?.across, 6) };

  /** @param {any} w @param {number} i */
  function widthRow(w, i) {
    const nth = i ? `-${i + 1}` : "";
    return { booked: text(`width${nth}`, w.booked), usable: text(`usable${nth}`, w.usable),
      price: text(`price${nth}`, w.price) };
  }

  /** All of these goods.
   * @param {(field: any) => any} says */
  const body = (says) => {
    /** @param {Record<string, any>} fields */
    const values = (fields) =>
      Object.fromEntries(Object.entries(fields).map(([k, field]) => [k, says(field)]));
    const more = another && says(another) ? [{ booked: says(another) }] : [];
    return { what: "goods", kind, index: g.index, ...values(inputs),
      ...(kind === "cloth" ? { widths: [...rows.map(values), ...more], print: values(print),
        shrinkage: values(shrinkage) } : {}) };
  };

  const widths = el("div", { class: "rows" },
    ...rows.map((/** @type {Record<string, any>} */ row, /** @type {number} */ i) => el("p", { class: "fields" },
      ...labelled(row, words.width_),
      rows.length > 1 && button(words.takeOut, () => edits.edit(() => body((field) =>
        (Object.values(row).includes(field) ? "" : stored(field)))),
      { "aria-label": words.takeOutOf(words.widthNth(i + 1)) }))));
  /** A width more, which is there once its width is named. */
  const another = made && kind === "cloth" && rows.length > 0
    && el("input", { id: `${id}-another`, size: 10, onchange: changed });
  const part = (/** @type {string} */ name, /** @type {string} */ says, /** @type {any[]} */ ...inside) =>
    fold(`${id}-${name}`, el("summary", {}, says), ...inside);

  return el("fieldset", {},
    el("legend", {}, made ? g.name : words.kinds[kind]),
    el("p", { class: "fields" }, ...labelled(pick(inputs, FIRST[kind]), words.keys_),
      ...(kind === "cloth" ? [] : labelled(pick(inputs, ["price_per", "nap"]), words.keys_))),
    kind === "cloth" && widths,
    another && el("p", { class: "fields" },
      el("label", { for: another.id }, words.anotherWidth), another),
    kind === "cloth" && el("p", { class: "fields" },
      ...labelled(pick(inputs, ["price_per", "step", "nap"]), words.keys_)),
    made && kind === "cloth" && part("print", words.print_(g.print),
      el("p", { class: "soft" }, words.printHint),
      el("p", { class: "fields" }, ...labelled(print, words.printKeys)),
      printed(g, edits.edit)),
    made && part("more", words.moreOfIt,
      el("p", { class: "fields" }, ...labelled(pick(inputs, [...MORE[kind], "fold"]), words.keys_),
        ...(kind === "cloth" ? labelled(shrinkage, words.shrinks) : []))),
    made && kind === "leather" && part("hides", words.hides(g.hides.length), hides(g, edits.edit)),
    made && part("left", words.leftOvers(g.remnants.length + g.stock.length), leftOvers(g, id, edits, hand)),
    el("p", {}, made
      ? button(words.takeOut, () => edits.edit({ what: "ungoods", kind, index: g.index }),
        { "aria-label": words.takeOutOf(g.name) })
      : button(words.add, () => edits.send(
        [...Object.values(inputs), ...rows.flatMap(Object.values)], body(said)),
      { "aria-label": words.addOf[kind] })));
}

/** The hide that is drawn just now: it stays while all else is drawn anew.
 * @type {{of: string, root: Element} | null} */
let drawing = null;

/** The hides of a leather.
 * @param {any} g
 * @param {Edits["edit"]} edit */
function hides(g, edit) {
  const place = el("div");
  if (drawing && drawing.of === g.name) place.append(drawing.root);
  /** @param {any} hide */
  const begin = (hide) => {
    const end = () => { drawing?.root.remove(); drawing = null; };
    end();
    drawing = { of: g.name, root: drawHide(g, hide, edit, end) };
    place.append(drawing.root);
    /** @type {HTMLElement | null} */ (drawing.root.querySelector("#hide-name"))?.focus();
  };
  return el("div", {},
    ...g.hides.map((/** @type {any} */ one) => el("p", { class: "fields" }, outlined(one), one.name,
      one.shapes.length
        ? button(words.hideChange, () => begin(one), { "aria-label": words.hideChangeOf(one.name) })
        : el("span", { class: "soft" }, words.hideDrawn),
      button(words.takeOut, () => edit({ what: "unhide", of: g.name, at: one.at }),
        { "aria-label": words.takeOutOf(one.name) }))),
    el("p", {}, button(words.hideNew, () => begin(null), { "aria-label": words.hideNewOf(g.name) })),
    place);
}

/** Left-overs, which are used first, and what else is at hand.
 * @param {any} g @param {string} id @param {Edits} edits @param {string} hand */
function leftOvers(g, id, edits, hand) {
  const { kind, index } = g;
  /** @param {any} one @param {string} at */
  const row = (one, at) => {
    const body = (/** @type {(field: any) => any} */ says) => ({ what: "remnant", kind, index,
      place: one.place ?? null, name: says(name), size: plain ? says(size) : "", grain: says(grain) });
    const onchange = one.place && ((/** @type {Event} */ e) => edits.save(e.target, body));
    const name = el("input", { id: `${at}-name`, value: one.name ?? "", size: 14, onchange });
    const size = el("input", { id: `${at}-size`, value: one.size ?? "", size: 16, onchange });
    const plain = !one.place || one.plain;
    const grain = el("select", { id: `${at}-grain`, onchange },
      ...Object.entries(words.leftGrains).map(([v, says]) =>
        el("option", { value: v, selected: v === (one.grain ?? "") }, says)));
    return el("p", { class: "fields" }, outlined(one),
      ...labelled(plain ? { name, size, grain } : { name, grain }, words.leftKeys),
      !plain && words.leftDrawn(one.drawn?.size ?? ""),
      one.place
        ? button(words.takeOut, () => edits.edit({ what: "unremnant", kind, index, place: one.place }),
          { "aria-label": words.takeOutOf(one.name) })
        : button(words.addLeft, () => edits.send([name, size, grain], body(said)), { "aria-label": words.addLeftOf(g.name) }));
  };
  const have = el("input", { id: `${id}-hand`, value: hand, size: 24, onchange: () =>
    edits.save(have, (says) => ({ what: "at_hand", name: g.name, at_hand: says(have),
      was: stored(have) })) });
  return el("div", {}, el("p", { class: "soft" }, words.leftHint),
    ...g.remnants.map((/** @type {any} */ one, /** @type {number} */ i) =>
      row(one, `${id}-left-${i}`)),
    ...g.stock.map((/** @type {any} */ one) => el("p", { class: "fields" }, outlined(one),
      words.leftStock(one.name, one.drawn.size))),
    row({}, `${id}-left-new`),
    kind !== "leather" && el("p", { class: "fields" },
      el("label", { for: have.id }, words.atHand[/** @type {"cloth"} */ (kind)]), have));
}

const SMALL = 90; // pixels that the longer side of a left-over takes

/** What is at hand, small.
 * @param {any} one */
function outlined(one) {
  if (!one.drawn) return null;
  const { d, box: [x, y, w, h] } = one.drawn;
  const pad = 0.04 * Math.max(w, h);
  const svg = shape("svg", { class: "marker piece left", "aria-hidden": "true",
    viewBox: `${x - pad} ${y - pad} ${w + 2 * pad} ${h + 2 * pad}` }, shape("path", { d }));
  svg.style.width = `${((w + 2 * pad) / Math.max(w, h)) * SMALL}px`;
  return svg;
}

/** @param {Record<string, any>} fields @param {string[]} keys */
const pick = (fields, keys) =>
  Object.fromEntries(keys.filter((k) => fields[k]).map((k) => [k, fields[k]]));

/** @param {Record<string, any>} fields @param {Record<string, string>} words_ */
const labelled = (fields, words_) => Object.entries(fields).map(([key, field]) =>
  el("span", { class: "fields" }, el("label", { for: field.id }, words_[key]), field));
