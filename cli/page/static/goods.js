/** The goods, and what is cut from them. */

import { ask } from "./ask.js";
import { matrix, proposed } from "./cutting.js";
import { button, el, refill } from "./dom.js";
import { attempt, changing, got, stand } from "./main.js";
import { material } from "./material.js";
import { words } from "./words.js";

/** @param {() => void} refresh */
export function showGoods(refresh) {
  const list = el("div");
  const below = el("div");
  const root = el("section", {}, el("h1", {}, words.goods), list, below);

  /** The job file as it is shown here; what others make of it meanwhile is not overwritten. */
  let seen = "";

  /** @param {any} body */
  const edit = (body) => attempt(() => changing(async () => {
    const done = await ask("/making/edit", { ...body, seen });
    seen = done.seen;
    return done;
  })).then((done) => { refresh(); return done; });

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
      seen = m.seen;
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
        proposed(m, names, edit),
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
