/** Some goods: how they are sold, which way they lie, what is printed on them, what is left. */

import { button, el } from "./dom.js";
import { drawHide } from "./hide.js";
import { words } from "./words.js";

/** @typedef {(body: any) => Promise<any>} Edit */

const FIRST = { cloth: ["name"], sheet: ["name", "size", "price", "count"],
  leather: ["name", "price"] };
const MORE = { cloth: ["selvedge", "ends", "spacing", "substance"],
  sheet: ["margin", "spacing", "substance"], leather: ["margin", "spacing", "substance"] };
const PRINT = ["along", "across", "drop", "at_along", "at_across", "drift"];

/** Sections that are open, while all is drawn anew. @type {Set<string>} */
const open = new Set();

/**
 * @param {any} g as the server tells of them @param {string} id @param {Edit} edit
 * @param {string} hand what is at hand of them
 */
export function material(g, id, edit, hand = "") {
  const kind = /** @type {"cloth" | "sheet" | "leather"} */ (g.kind);
  const made = g.index !== null;
  const changed = () => { if (made) save(); };
  const text = (/** @type {string} */ name, /** @type {string} */ value, size = 10) =>
    el("input", { id: `${id}-${name}`, value: value ?? "", size, onchange: changed });
  /** @param {string} name @param {Record<string, string>} choices @param {string} value */
  const choice = (name, choices, value) => el("select", { id: `${id}-${name}`, onchange: changed },
    ...Object.entries(choices).map(([v, said]) =>
      el("option", { value: v, selected: v === (value ?? "") }, said)));

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

  /** @param {Record<string, any>} fields */
  const values = (fields) =>
    Object.fromEntries(Object.entries(fields).map(([k, field]) => [k, field.value]));
  const save = (more = []) => edit({ what: "goods", kind, index: g.index, ...values(inputs),
    ...(kind === "cloth" ? { widths: [...rows.map(values), ...more], print: values(print),
      shrinkage: values(shrinkage) } : {}) });

  const widths = el("div", { class: "rows" },
    ...rows.map((row, i) => el("p", { class: "fields" },
      ...labelled(row, words.width_),
      rows.length > 1 && button(words.takeOut, () => {
        for (const field of Object.values(row)) field.value = "";
        save();
      }, { "aria-label": words.takeOutOf(words.widthNth(i + 1)) }))));
  const another = made && kind === "cloth" && rows.length > 0 && el("p", { class: "fields" },
    ...newWidth());

  /** A width more, which is there once its width is named. */
  function newWidth() {
    const row = widthRow({}, rows.length);
    const input = el("input", { id: `${id}-another`, size: 10, onchange: () => {
      if (input.value.trim()) save(/** @type {any} */ ([{ ...values(row), booked: input.value }]));
    } });
    return [el("label", { for: input.id }, words.anotherWidth), input];
  }

  const fold = (/** @type {string} */ name, /** @type {string} */ said, /** @type {any[]} */ ...inside) =>
    el("details", { open: open.has(`${id}-${name}`), ontoggle: (/** @type {Event} */ e) => {
      const now = /** @type {HTMLDetailsElement} */ (e.target).open;
      if (now) open.add(`${id}-${name}`); else open.delete(`${id}-${name}`);
    } }, el("summary", {}, said), ...inside);

  return el("fieldset", {},
    el("legend", {}, made ? g.name : words.kinds[kind]),
    el("p", { class: "fields" }, ...labelled(pick(inputs, FIRST[kind]), words.keys_),
      ...(kind === "cloth" ? [] : labelled(pick(inputs, ["price_per", "nap"]), words.keys_))),
    kind === "cloth" && widths, another,
    kind === "cloth" && el("p", { class: "fields" },
      ...labelled(pick(inputs, ["price_per", "step", "nap"]), words.keys_)),
    made && kind === "cloth" && fold("print", words.print_(g.print),
      el("p", { class: "soft" }, words.printHint),
      el("p", { class: "fields" }, ...labelled(print, words.printKeys))),
    made && fold("more", words.moreOfIt,
      el("p", { class: "fields" }, ...labelled(pick(inputs, [...MORE[kind], "fold"]), words.keys_),
        ...(kind === "cloth" ? labelled(shrinkage, words.shrinks) : []))),
    made && kind === "leather" && fold("hides", words.hides(g.hides.length), hides(g, edit)),
    made && fold("left", words.leftOvers(g.remnants.length), leftOvers(g, id, edit, hand)),
    el("p", {}, made
      ? button(words.takeOut, () => edit({ what: "ungoods", kind, index: g.index }),
        { "aria-label": words.takeOutOf(g.name) })
      : button(words.add, () => save().then((done) => {
        if (done) for (const f of [...Object.values(inputs), ...rows.flatMap(Object.values)]) {
          f.value = "";
        }
      }), { "aria-label": words.addOf[kind] })));
}

/** The hide that is drawn just now: it stays while all else is drawn anew.
 * @type {{of: string, root: Element} | null} */
let drawing = null;

/** The hides of a leather. @param {any} g @param {Edit} edit */
function hides(g, edit) {
  const place = el("div");
  if (drawing?.of === g.name) place.append(drawing.root);
  /** @param {any} hide */
  const begin = (hide) => {
    const end = () => { drawing?.root.remove(); drawing = null; };
    end();
    drawing = { of: g.name, root: drawHide(g, hide, edit, end) };
    place.append(drawing.root);
    /** @type {HTMLElement | null} */ (drawing.root.querySelector("#hide-name"))?.focus();
  };
  return el("div", {},
    ...g.hides.map((/** @type {any} */ one) => el("p", { class: "fields" }, one.name,
      one.shapes.length
        ? button(words.hideChange, () => begin(one), { "aria-label": words.hideChangeOf(one.name) })
        : el("span", { class: "soft" }, words.hideDrawn),
      button(words.takeOut, () => edit({ what: "unhide", of: g.name, at: one.at }),
        { "aria-label": words.takeOutOf(one.name) }))),
    el("p", {}, button(words.hideNew, () => begin(null), { "aria-label": words.hideNewOf(g.name) })),
    place);
}

/** Left-overs, which are used first, and what else is at hand.
 * @param {any} g @param {string} id @param {Edit} edit @param {string} hand */
function leftOvers(g, id, edit, hand) {
  const { kind, index } = g;
  /** @param {any} one @param {string} at */
  const row = (one, at) => {
    const name = el("input", { id: `${at}-name`, value: one.name ?? "", size: 14 });
    const size = el("input", { id: `${at}-size`, value: one.size ?? "", size: 16 });
    const grain = el("select", { id: `${at}-grain` },
      ...Object.entries(words.leftGrains).map(([v, said]) =>
        el("option", { value: v, selected: v === (one.grain ?? "") }, said)));
    const send = () => edit({ what: "remnant", kind, index, place: one.place ?? null,
      name: name.value, size: size.value, grain: grain.value });
    if (one.place) for (const f of [name, size, grain]) f.addEventListener("change", send);
    return el("p", { class: "fields" }, ...labelled({ name, size, grain }, words.leftKeys),
      one.place
        ? button(words.takeOut, () => edit({ what: "unremnant", kind, index, place: one.place }),
          { "aria-label": words.takeOutOf(one.name) })
        : button(words.addLeft, send, { "aria-label": words.addLeftOf(g.name) }));
  };
  const have = el("input", { id: `${id}-hand`, value: hand, size: 24, onchange: () =>
    edit({ what: "at_hand", name: g.name, at_hand: have.value }) });
  return el("div", {}, el("p", { class: "soft" }, words.leftHint),
    ...g.remnants.map((/** @type {any} */ one, /** @type {number} */ i) => (one.mine
      ? row(one, `${id}-left-${i}`)
      : el("p", {}, words.leftDrawn(one.name)))),
    row({}, `${id}-left-new`),
    kind !== "leather" && el("p", { class: "fields" },
      el("label", { for: have.id }, words.atHand[/** @type {"cloth"} */ (kind)]), have));
}

/** @param {Record<string, any>} fields @param {string[]} keys */
const pick = (fields, keys) =>
  Object.fromEntries(keys.filter((k) => fields[k]).map((k) => [k, fields[k]]));

/** @param {Record<string, any>} fields @param {Record<string, string>} said */
const labelled = (fields, said) => Object.entries(fields).map(([key, field]) =>
  el("span", { class: "fields" }, el("label", { for: field.id }, said[key]), field));
