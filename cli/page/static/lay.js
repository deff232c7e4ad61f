/** The markers: one lies open on the table, the others are rolled up above and below it. */

import { ask } from "./ask.js";
import { besides } from "./beside.js";
import { changing } from "./changes.js";
import { button, el, fill, refill } from "./dom.js";
import { openMarker } from "./marker.js";
import { attempt, complain, say } from "./telling.js";
import { words } from "./words.js";

/** @param {() => void} refresh */
export function showLay(refresh) {
  const status = el("div", { class: "status" });
  const lengths = el("div", { class: "lengths" });
  const assumed = el("details", {}, el("summary", {}, words.assumed), el("ul"));
  const root = el("section", {}, el("h1", {}, words.laying), status, lengths, assumed);
  /** @type {Map<string, ReturnType<typeof length>>} */
  let known = new Map();
  let said = "";
  let open = "";

  /** @param {string} title */
  const toggle = (title) => {
    open = open === title ? "" : title;
    for (const one of known.values()) one.show(one.title === open);
  };

  return {
    root,
    /** @param {any} state @param {Set<string>} news */
    update(state, news) {
      const now = JSON.stringify([state.searching, state.history, state.outdated,
        state.markers.length > 0]);
      if (now !== said) { refill(status, ...searching(state, refresh)); said = now; }
      const titles = state.markers.map((/** @type {any} */ m) => m.title);
      if (titles.join("\n") !== [...known.keys()].join("\n")) {
        known = new Map(titles.map((/** @type {string} */ t) => [t, length(t, toggle, refresh)]));
        fill(lengths, ...[...known.values()].map((one) => one.root));
        if (!titles.includes(open)) open = titles[0] ?? "";
      }
      for (const m of state.markers) {
        known.get(m.title)?.update(m, state, news);
        known.get(m.title)?.show(m.title === open);
      }
      assumed.hidden = !state.assumptions.length;
      const list = /** @type {Element} */ (assumed.lastElementChild);
      if (list.childElementCount !== state.assumptions.length) {
        fill(list, ...state.assumptions.map((/** @type {string} */ a) => el("li", {}, a)));
      }
    },
  };
}

/** Ends the search that goes on. */
export const stop = () => button(words.stop, (event) => {
  /** @type {HTMLElement} */ (event.currentTarget).textContent = words.stopping;
  attempt(() => ask("/stop", {}));
});

/** @param {any} state @param {() => void} refresh */
function searching(state, refresh) {
  const came = Object.entries(state.history).map(([name, steps]) =>
    el("li", {}, words.cameOf(name, steps)));
  const found = came.length
    ? el("div", { class: "came" }, el("p", {}, words.came), el("ul", {}, ...came)) : null;
  const time = el("input", { id: "time-all", size: 8, value: state.time });
  const anew = () => attempt(() => ask("/search", { time: time.value })).then(refresh);
  if (state.searching) {
    return [el("p", {}, state.markers.length ? words.searching : words.waiting, " ", stop()), found];
  }
  if (state.outdated) {
    return [el("p", {}, words.outdated, " ", button(words.layAnew, anew))];
  }
  return [el("p", { class: "fields" }, button(words.goOn, anew),
    el("label", { for: time.id }, words.goOnFor), time), found];
}

/**
 * One marker: a line that says what it comes to, and the marker itself when it is open.
 * @param {string} title @param {(title: string) => void} toggle @param {() => void} refresh
 */
function length(title, toggle, refresh) {
  const name = button(title, () => toggle(title), { "aria-expanded": "false", class: "roll" });
  const says = el("p", { class: "says" });
  const table = el("div", { class: "table", hidden: true });
  const root = el("section", { class: "length", "aria-label": title },
    el("h2", {}, name), says, table);
  /** @type {any} */
  let now = null;
  /** @type {any} */
  let marker = null;
  /** @type {any} */
  let pair = null;
  /** @type {any} */
  let ruler = null;
  let time = "";
  let said = "";

  return {
    root,
    title,
    /** @param {any} m @param {any} state @param {Set<string>} news */
    update(m, state, news) {
      now = m;
      ruler = state.ruler;
      time = state.time;
      if (news.has("compared")) pair?.update(m, state, news);
      const key = JSON.stringify([m, state.searching, state.saved]);
      if (key === said) return;
      said = key;
      fill(says, ...sentence(m, state));
      marker?.update(m, state, news);
      pair?.update(m, state, news);
    },
    /** @param {boolean} whether */
    show(whether) {
      name.setAttribute("aria-expanded", String(whether));
      table.hidden = !whether;
      root.classList.toggle("open", whether);
      if (whether && !marker && now) {
        marker = openMarker(now, ruler, { refresh, complain, say, changing, time });
        pair = besides(now);
        table.append(marker.root, pair.root);
      }
    },
  };
}

/** @param {any} m @param {any} state */
function sentence(m, state) {
  const faults = m.findings.filter((/** @type {any} */ f) => f.fault).length;
  const judged = [
    m.unplaced.length > 0 && words.left(m.unplaced.length),
    faults > 0 && words.faults(faults),
  ].filter(Boolean).join(", ");
  return [
    m.buy && el("strong", {}, m.buy[0].toUpperCase(), m.buy.slice(1)), m.buy && " · ",
    el("span", { class: m.good ? "good" : "bad-word" }, m.good ? words.good : judged),
    m.less && ` · ${words.less(m.less)}`,
    el("span", { class: "figures" }, m.figures.join(" · ")),
  ];
}
