/** The goods, and what is cut from them. */

import { ask } from "./ask.js";
import { changing, only, source } from "./changes.js";
import { matrix, proposed } from "./cutting.js";
import { button, el, fold, folded, refill } from "./dom.js";
import { editor } from "./editing.js";
import { material } from "./material.js";
import { attempt } from "./telling.js";
import { undoing } from "./undoing.js";
import { words } from "./words.js";

/** @param {() => void} refresh */
export function showGoods(refresh) {
  const list = el("div");
  const below = el("div");
  const root = el("section", {}, el("h1", {}, words.goods), undoing, list, below);

  const edits = editor();
  const load = source(root, "/making");

  return {
    root,
    /** @param {any} state @param {Set<string>} news */
    async update(state, news) {
      if (only(news, "progress")) return;
      const m = await load();
      if (!m) return;
      edits.shown(m);
      if (!m.goods.length) folded("new-goods", true);
      const names = m.goods.map((/** @type {any} */ g) => g.name);
      refill(list,
        el("p", { class: "soft" }, words.goodsHint(m.unit)),
        ...m.goods.map((/** @type {any} */ g) =>
          material(g, `${g.kind}-${g.index}`, edits, m.at_hand[g.name])),
        fold("new-goods", el("summary", {}, words.addGoods),
          ...["cloth", "sheet", "leather"].map((kind) =>
            material({ kind, index: null }, `new-${kind}`, edits))));
      refill(below,
        el("h2", {}, words.cutting),
        proposed(m, names, edits),
        m.pieces.length && names.length ? matrix(m, names, edits)
          : el("p", {}, words.cuttingNone),
        el("h2", {}, words.bag),
        bag(m, edits),
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

/** @typedef {ReturnType<typeof editor>} Edits */

/** @param {any} m @param {Edits} edits */
function bag(m, edits) {
  const save = (/** @type {Event} */ e) => edits.save(e.target, (says) => ({ what: "job",
    name: says(inputs.name), bags: Number(says(inputs.bags)) || 1,
    currency: says(inputs.currency) }));
  const inputs = {
    name: el("input", { id: "bag-name", value: m.name, onchange: save }),
    bags: el("input", { id: "bag-bags", type: "number", min: 1, step: 1, value: m.bags,
      onchange: save }),
    currency: el("input", { id: "bag-currency", value: m.currency, size: 5, onchange: save }),
  };
  return el("p", { class: "fields" }, ...Object.entries(inputs).flatMap(([key, field]) => [
    el("label", { for: field.id }, words.bagKeys[/** @type {"name"} */ (key)]), field]));
}
