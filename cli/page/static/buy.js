/** What to buy: the list, and widths compared. */

import { ask } from "./ask.js";
import { el, fill, table } from "./dom.js";
import { attempt } from "./main.js";
import { words } from "./words.js";

export function showBuy() {
  const root = el("section", {}, el("h1", {}, words.toBuy));
  const list = el("div");
  root.append(list);
  return {
    root,
    /** @param {any} state */
    async update(state) {
      if (!state.markers.length) { fill(list, el("p", {}, words.waiting)); return; }
      const b = await attempt(() => ask("/buying"));
      if (!b) return;
      fill(list,
        table(words.toBuy, words.buyHead, b.lines.map((/** @type {any} */ l) =>
          [l.name, l.wide, l.needed, l.held, l.bought, l.cost])),
        b.sum && el("p", { class: "sum" }, words.sum(b.sum)),
        b.each && el("p", {}, words.each(b.each)),
        b.unpriced.length > 0 && el("p", {}, words.unpriced(b.unpriced.join(", "))),
        b.widths.length > 0 && el("h2", {}, words.widths),
        b.widths.length > 0 && table(words.widths, words.widthsHead,
          b.widths.map((/** @type {any} */ w) =>
            [w.name, w.wide, w.needed, w.bought, w.cost, w.chosen ? words.taken : w.why])));
    },
  };
}
