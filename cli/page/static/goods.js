/** The goods, and what is cut from them. */

import { ask } from "./ask.js";
import { button, el, refill } from "./dom.js";
import { attempt, changing, got, stand } from "./main.js";
import { material } from "./material.js";
import { words } from "./words.js";

/** @param {() => void} refresh */
export function showGoods(refresh) {
  const list = el("div");
  const below = el("div");
  const root = el("section", {}, el("h1", {}, words.goods), list, below);

  /** @param {any} body */
  const edit = (body) =>
    attempt(() => changing(() => ask("/making/edit", body))).then((done) => { refresh(); return done; });

  const fresh = el("details", {}, el("summary", {}, words.addGoods),
    ...["cloth", "sheet", "leather"].map((kind) =>
      material({ kind, index: null }, `new-${kind}`, edit)));

  return {
    root,
    /** @param {any} state @param {any} news */
    async update(state, news) {
      if (news.what === "progress") return;
      const before = stand();
      const m = await got("/making");
      if (!m || before !== stand()) return; // more was changed meanwhile, and is shown then
      if (typing(list)) return; // what is being typed stays; it is drawn anew once that is saved
      const names = m.goods.map((/** @type {any} */ g) => g.name);
      refill(list,
        el("p", { class: "soft" }, words.goodsHint(m.unit)),
        ...m.goods.map((/** @type {any} */ g) =>
          material(g, `${g.kind}-${g.index}`, edit, m.at_hand[g.name])),
        fresh);
      if (!m.goods.length && !fresh.open) fresh.open = true;
      refill(below,
        el("h2", {}, words.cutting),
        m.pieces.length && names.length ? matrix(m, names, edit)
          : el("p", {}, words.cuttingNone),
        el("h2", {}, words.bag),
        bag(m, edit),
        m.ready
          ? el("p", {}, button(words.layIt, () => attempt(async () => {
            await changing(() => ask("/making/lay", {}));
            refresh();
            location.hash = "#lay";
          })))
          : el("p", { class: "care" }, words.notReady(m.trouble)));
    },
  };
}

/** Whether something was typed that is not sent yet. @param {Element} list */
const typing = (list) => [...list.querySelectorAll("fieldset input:focus")].some((one) => {
  const field = /** @type {HTMLInputElement} */ (one);
  return field.value !== field.defaultValue && !field.id.startsWith("new-");
});

/** Pieces × goods: how many are cut, and as which hand.
 * @param {any} m @param {string[]} names @param {(body: any) => Promise<any>} edit */
function matrix(m, names, edit) {
  const cell = (/** @type {string} */ piece, /** @type {string} */ material) => {
    const lines = m.cuts.filter((/** @type {any} */ c) =>
      c.piece === piece && c.material === material);
    if (lines.length > 1) return el("td", {}, words.lines(lines.map((l) => l.copies).join(" + ")));
    const [cut] = lines;
    const about = words.cell(piece, material);
    const id = `${piece}×${material}`;
    const copies = el("input", { type: "number", min: 0, step: 1, id, value: cut?.copies ?? "",
      "aria-label": words.copies(about), onchange: () => save() });
    const hand = el("select", { id: `${id} hand`, "aria-label": words.hand(about),
      onchange: () => save() },
    ...Object.entries(words.hands).map(([value, said]) =>
      el("option", { value, selected: value === (cut?.hand ?? "") }, said)));
    const save = () => edit({ what: "cut", piece, material, copies: Number(copies.value) || 0,
      hand: hand.value });
    return el("td", {}, el("span", { class: "fields" }, copies, cut ? hand : null),
      cut?.more.length > 0 && el("span", { class: "soft" }, cut.more.join(", ")));
  };
  return el("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": words.cutting },
    el("table", {}, el("caption", {}, words.cutting),
      el("thead", {}, el("tr", {}, el("th", { scope: "col" }, words.piece),
        ...names.map((n) => el("th", { scope: "col" }, n)))),
      el("tbody", {}, ...m.pieces.map((/** @type {any} */ p) => el("tr", {},
        el("th", { scope: "row" }, p.name), ...names.map((n) => cell(p.name, n)))))));
}

/** @param {any} m @param {(body: any) => Promise<any>} edit */
function bag(m, edit) {
  const inputs = {
    name: el("input", { id: "bag-name", value: m.name }),
    bags: el("input", { id: "bag-bags", type: "number", min: 1, step: 1, value: m.bags }),
    currency: el("input", { id: "bag-currency", value: m.currency, size: 5 }),
  };
  for (const field of Object.values(inputs)) {
    field.addEventListener("change", () => edit({ what: "job", name: inputs.name.value,
      bags: Number(inputs.bags.value) || 1, currency: inputs.currency.value }));
  }
  return el("p", { class: "fields" }, ...Object.entries(inputs).flatMap(([key, field]) => [
    el("label", { for: field.id }, words.bagKeys[key]), field]));
}
