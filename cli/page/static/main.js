/** The page as a whole: what is open, which view is shown, and the news. */

import { ask, hear } from "./ask.js";
import { showBegin } from "./begin.js";
import { showBuy } from "./buy.js";
import { follow, pending } from "./changes.js";
import { showCut } from "./cut.js";
import { button, el, fill } from "./dom.js";
import { showGoods } from "./goods.js";
import { showLay } from "./lay.js";
import { drop, showPattern } from "./pattern.js";
import { attempt, complain, say, spoken, trouble } from "./telling.js";
import { words } from "./words.js";

/**
 * @typedef {object} View
 * @property {Element} root
 * @property {(state: any, news: Set<string>) => void} update
 */

const VIEWS = { pattern: showPattern, goods: showGoods, lay: showLay, buy: showBuy, cut: showCut };

const head = el("header");
const notes = el("div", { class: "notes" });
const place = el("div");
const main = el("main", { id: "work", tabindex: "-1" }, trouble, notes, place);

/** @type {any} */
let state = null;
/** @type {View | null} */
let view = null;
let shown = "";
let headed = "";
let noted = "";
let asking = false;
/** What happened since the page was last drawn: one answer may be the news of several things.
 * @type {Set<string>} */
let owed = new Set();

follow({
  touched() {
    if (!state) return;
    state.saved = false;
    render(new Set(["touched"]));
  },
  refresh,
});

async function refresh(what = "all") {
  owed.add(what);
  if (asking) return;
  asking = true;
  while (owed.size) {
    const news = owed;
    owed = new Set();
    try {
      const now = await ask("/state");
      state = { ...now, saved: now.saved && !pending() };
      render(news);
    } catch (error) {
      complain(error);
    }
  }
  asking = false;
}

/** @returns {"begin" | keyof typeof VIEWS} */
function wanted() {
  if (!state.job) return "begin";
  const named = location.hash.slice(1);
  if (state.views.includes(named)) return /** @type {keyof typeof VIEWS} */ (named);
  return state.views.includes("lay") ? "lay" : state.views[0];
}

/** @param {Set<string>} news */
function render(news) {
  const name = wanted();
  const heading = state.job ?? words.program;
  const told = JSON.stringify([heading, name, state.views, kept(), Boolean(state.unsaved)]);
  document.title = name === "begin" ? words.program : `${words.views[name]}: ${state.job}`;
  if (told !== headed) fill(head,
    el("p", { class: "job" }, heading),
    state.job && el("nav", { "aria-label": words.steps }, el("ol", {},
      ...state.views.map((/** @type {keyof typeof VIEWS} */ key) => el("li", {},
        el("a", { href: `#${key}`, "aria-current": key === name ? "page" : null },
          words.views[key]))))),
    state.job && el("p", { class: state.unsaved ? "keep bad" : "keep" }, kept()));
  headed = told;
  if (name !== shown || !view) {
    const now = name === "begin" ? showBegin(refresh) : VIEWS[name](refresh);
    fill(place, now.root);
    view = now;
    if (shown) main.focus();
    shown = name;
  }
  const trouble = JSON.stringify([state.theirs, state.trouble]);
  if (trouble !== noted) fill(notes, ...troubles());
  noted = trouble;
  view?.update(state, news);
}

function kept() {
  if (!state.job) return "";
  if (state.unsaved) return words.unsaved(state.unsaved);
  if (pending()) return words.saving;
  if (state.saved) return words.saved(state.folder);
  return state.markers.length ? words.saving : words.notYet;
}

function troubles() {
  const found = [];
  if (state.theirs) {
    const keep = (/** @type {string} */ which) => () =>
      attempt(() => ask("/keep", { which })).then(() => refresh());
    found.push(el("div", { class: "bad", role: "group", "aria-label": words.theirs },
      el("p", {}, words.theirs),
      button(words.keepMine, keep("mine")), " ", button(words.keepTheirs, keep("theirs"))));
  }
  if (state.trouble) found.push(el("p", { class: "bad" }, state.trouble));
  return found;
}

fill(/** @type {Element} */ (document.getElementById("page")),
  el("a", { class: "skip", href: "#work", onclick: (/** @type {Event} */ event) => {
    event.preventDefault(); main.focus(); } }, words.skip),
  head, main, spoken);
addEventListener("dragover", (event) => event.preventDefault());
addEventListener("drop", (event) => {
  event.preventDefault();
  const files = [...(event.dataTransfer?.files ?? [])];
  if (files.length) drop(files, () => refresh());
});
addEventListener("hashchange", () => state && render(new Set(["all"])));
let connected = true;
hear(refresh, (there) => {
  if (there && !connected) { fill(trouble); say(words.back); }
  if (!there && connected) complain(new Error(words.lost));
  connected = there;
});
refresh();
