/** What to buy: the list, and widths compared. */

import { ask } from "./ask.js";
import { only } from "./changes.js";
import { button, el, fill, fold, refill, table } from "./dom.js";
import { stop } from "./lay.js";
import { attempt, newest, say } from "./telling.js";
import { words } from "./words.js";

export function showBuy() {
  const root = el("section", {}, el("h1", {}, words.toBuy));
  const list = el("div"), busy = el("div");
  const asked = newest();
  /** Ask what is compared. */
  const compared = async () => {
    const now = await asked("/compare");
    if (!now) return;
    widths.show(now);
    bags.show(now);
  };
  const widths = compare(compared), saving = advice(), bags = whole(compared);
  root.append(list, busy, saving.root, widths.root, bags.root);
  let searching = false;
  return {
    root,
    /** @param {any} state @param {Set<string>} news */
    async update(state, news) {
      if (only(news, "progress")) return;
      if (searching !== state.searching) { // what else searches waits until that has ended
        searching = state.searching;
        fill(busy, searching && el("p", {}, words.searching, " ", stop()));
        for (const one of [widths, saving, bags]) one.asking.hidden = searching;
      }
      compared();
      saving.update();
      if (!state.markers.length) { fill(list, el("p", {}, words.waiting)); return; }
      const b = await asked("/buying");
      if (!b) return;
      const held = b.lines.some((/** @type {any} */ l) => l.held);
      const columns = held ? words.buyHead.length : words.buyHead.length - 1;
      fill(list,
        el("div", { class: "amounts" }, table(words.toBuy, words.buyHead.slice(0, columns),
          b.lines.map((/** @type {any} */ l) =>
            [wide(l), l.bought, l.cost, l.needed, l.held].slice(0, columns)))),
        b.sum && el("p", { class: "sum" }, words.sum(b.sum)),
        b.each && el("p", {}, words.each(b.each)),
        b.unpriced.length > 0 && el("p", {}, words.unpriced(b.unpriced.join(", "))),
        b.widths.length > 0 && el("h2", {}, words.widths),
        b.widths.length > 0 && el("div", { class: "amounts" },
          table(words.widths, words.widthsHead, b.widths.map((/** @type {any} */ w) =>
            [wide(w), w.bought, w.cost, w.needed, w.chosen ? words.taken : w.why]))));
    },
  };
}

/** What it is called, and how wide it is.
 * @param {{name: string, wide: string}} one */
const wide = (one) => el("span", {}, one.name,
  one.wide && el("span", { class: "figures" }, words.wide(one.wide)));

/** What holds each marker, and all that would save, or might, or was not tried. */
function advice() {
  const which = el("select", { id: "advice-only" });
  const minutes = el("input", { type: "number", id: "advice-minutes", min: 1, max: 60, value: 2 });
  const widths = el("input", { id: "advice-widths", size: 24 });
  const told = el("div", { "aria-live": "polite" });
  const begin = button(words.adviceDo, () => attempt(async () => {
    await ask("/advice/begin", { only: which.value, minutes: Number(minutes.value) || 2,
      widths: widths.value });
    await update();
  }));
  const others = el("span", { class: "fields" },
    el("label", { for: widths.id }, words.adviceWidths), widths);
  const asking = el("p", {}, begin);
  const root = el("div", {},
    el("h2", {}, words.advice), el("p", { class: "soft" }, words.adviceHint),
    el("p", { class: "fields" },
      el("span", { class: "fields" }, el("label", { for: which.id }, words.adviceOnly), which),
      el("span", { class: "fields" },
        el("label", { for: minutes.id }, words.adviceMinutes), minutes), others),
    asking, told);
  const advised = newest();
  let names = "";
  let running = false;

  /** @param {any} now */
  const show = (now) => {
    if (names !== now.materials.join("\n")) {
      names = now.materials.join("\n");
      fill(which, el("option", { value: "" }, words.printAll),
        ...now.materials.map((/** @type {string} */ n) => el("option", { value: n }, n)));
    }
    begin.hidden = now.running;
    others.hidden = !now.cloths;
    /** @param {string} id @param {string} said @param {string[]} lines */
    const listed = (id, said, lines) => lines.length > 0 && fold(`advice-${id}`,
      el("summary", {}, `${said}: ${lines.length}`),
      el("ul", {}, ...lines.map((line) => el("li", {}, line))));
    refill(told,
      now.running && el("p", {}, words.advising, " ",
        button(words.stop, () => attempt(() => ask("/advice/stop", {})))),
      now.trouble && el("p", { class: "bad" }, now.trouble),
      ...now.held.map((/** @type {string} */ line) => el("p", {}, line, ".")),
      now.best.length > 0 && table(words.advice, words.adviceHead, now.best),
      now.certain && el("p", { class: "soft" }, now.certain[0].toUpperCase(),
        now.certain.slice(1), "."),
      now.known && !now.best.length && el("p", {}, words.adviceNone),
      now.more > 0 && el("p", { class: "soft" }, words.adviceMore(now.more)),
      now.open.length > 0 && el("h3", {}, words.adviceOpen),
      now.open.length > 0 && table(words.adviceOpen, words.adviceHead, now.open),
      listed("vain", words.adviceVain, now.vain),
      listed("untried", words.adviceUntried, now.untried),
      listed("left", words.adviceLeft, now.left_out));
    if (running && !now.running && now.known) say(words.advised);
    running = now.running;
  };

  const update = async () => {
    const now = await advised("/advice");
    if (now) show(now);
  };
  return { root, asking, update };
}

/** The same parts on other widths, single or folded.
 * @param {() => Promise<void>} compared asks what is known of it */
function compare(compared) {
  const cloth = el("select", { id: "compare-only" });
  const widths = el("input", { id: "compare-widths", size: 24, placeholder: words.compareOwn });
  const folds = el("input", { type: "checkbox", id: "compare-folds" });
  const seeds = el("input", { type: "number", id: "compare-seeds", min: 1, max: 20, value: 1 });
  const told = el("div", { "aria-live": "polite" });
  const field = (/** @type {string} */ said, /** @type {any} */ input) =>
    el("span", { class: "fields" }, el("label", { for: input.id }, said), input);
  const begin = button(words.compareDo, () => attempt(async () => {
    await ask("/compare/begin", { only: cloth.value, widths: widths.value, folds: folds.checked,
      seeds: Number(seeds.value) || 1 });
    await compared();
  }));
  const asking = el("p", {}, begin);
  const root = el("div", { hidden: true },
    el("h2", {}, words.compare), el("p", { class: "soft" }, words.compareHint),
    el("p", { class: "fields" }, field(words.compareOnly, cloth), field(words.compareWidths, widths),
      el("span", { class: "fields" }, folds, el("label", { for: folds.id }, words.compareFolds)),
      field(words.compareSeeds, seeds)),
    asking, told);
  let names = "";
  let running = false;
  const chart = el("img", { class: "chart", alt: words.chartOf });
  const drawn = fold("chart", el("summary", {}, words.chart), chart,
    el("p", {}, el("a", { href: "/compare/chart", download: "widths.png" }, words.chartKeep)));

  /** @param {any} now */
  const show = (now) => {
    root.hidden = !now.cloths.length;
    if (names !== now.cloths.join("\n")) {
      names = now.cloths.join("\n");
      fill(cloth, el("option", { value: "" }, words.printAll),
        ...now.cloths.map((/** @type {string} */ n) => el("option", { value: n }, n)));
    }
    begin.hidden = now.running;
    const picture = `/compare/chart?of=${now.number}`;
    if (now.rows.length && !now.counting && chart.getAttribute("src") !== picture) {
      chart.setAttribute("src", picture);
    }
    refill(told,
      now.running && !now.counting && el("p", {}, words.comparing, " ",
        button(words.stop, () => attempt(() => ask("/compare/stop", {})))),
      now.trouble && !now.counting && el("p", { class: "bad" }, now.trouble),
      now.rows.length > 0 && table(words.compare,
        now.head.map((/** @type {string} */ h) => words.compareHead[/** @type {"width"} */ (h)]),
        now.rows),
      now.sums && el("p", {}, now.sums[0].toUpperCase(), now.sums.slice(1), "."),
      now.markers.length > 0 && el("p", { class: "soft" }, words.compareSee),
      now.rows.length > 0 && drawn,
      now.instructions.length > 0 && fold("instructions", el("summary", {}, words.instructions),
        ...now.instructions.map((/** @type {string} */ line) => el("p", {}, line))));
    if (running && !now.running && now.rows.length) say(words.compared);
    running = now.running && !now.counting;
  };

  return { root, asking, show };
}

/** How many whole bags the hides and counted sheets at hand give.
 * @param {() => Promise<void>} compared asks what is known of it */
function whole(compared) {
  const told = el("div", { "aria-live": "polite" });
  const begin = button(words.bagsDo, () => attempt(async () => {
    await ask("/compare/bags", {});
    await compared();
  }));
  const asking = el("p", {}, begin);
  const root = el("div", { hidden: true }, el("h2", {}, words.bags),
    el("p", { class: "soft" }, words.bagsHint), asking, told);

  /** @param {any} now */
  const show = (now) => {
    root.hidden = !now.limited;
    begin.hidden = now.running;
    fill(told,
      now.running && now.counting && el("p", {}, words.comparing, " ",
        button(words.stop, () => attempt(() => ask("/compare/stop", {})))),
      now.trouble && now.counting && el("p", { class: "bad" }, now.trouble),
      now.bags && el("p", { class: "sum" }, now.bags[0].toUpperCase(), now.bags.slice(1), "."));
  };

  return { root, asking, show };
}
