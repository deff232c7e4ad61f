/** The page as a whole: what is open, which view is shown, and the news. */

import { ask, hear } from "./ask.js";
import { showBegin } from "./begin.js";
import { showBuy } from "./buy.js";
import { showCut } from "./cut.js";
import { button, el, fill, typing } from "./dom.js";
import { showGoods } from "./goods.js";
import { showLay } from "./lay.js";
import { drop, showPattern } from "./pattern.js";
import { words } from "./words.js";

/**
 * @typedef {object} View
 * @property {Element} root
 * @property {(state: any, news: any) => void} update
 */

const VIEWS = { pattern: showPattern, goods: showGoods, lay: showLay, buy: showBuy, cut: showCut };

const spoken = el("p", { class: "unseen", "aria-live": "polite" });
const trouble = el("div", { role: "alert" });
const head = el("header");
const notes = el("div", { class: "notes" });
const place = el("div");
const main = el("main", { id: "work", tabindex: "-1" }, trouble, notes, place);

/** Say something to those who hear the page.
 * @param {string} text */
export function say(text) {
  spoken.textContent = text;
}

/** Show what went wrong, until something goes well.
 * @param {unknown} error */
export function complain(error) {
  if (!(error instanceof Error)) return;
  fill(trouble, el("p", { class: "bad" }, error.message));
}

/** Do something that may be refused; what was wrong before is no longer said.
 * @template T @param {() => Promise<T>} act @returns {Promise<T | undefined>} */
export async function attempt(act) {
  try {
    const done = await act();
    fill(trouble);
    return done;
  } catch (error) {
    complain(error);
    return undefined;
  }
}

/** Ask for what is shown; what was said to be wrong before stays said.
 * @param {string} path @returns {Promise<any>} */
export async function got(path) {
  try {
    return await ask(path);
  } catch (error) {
    complain(error);
    return undefined;
  }
}

/** @type {Promise<any>} */
let queue = Promise.resolve();

/** Change something, one after the other: until it is on disk the page doesn't say so.
 * @template T @param {() => Promise<T>} act @returns {Promise<T>} */
export async function changing(act) {
  changes += 1;
  begun += 1;
  if (state?.saved) {
    state.saved = false;
    render({ what: "touched" });
  }
  const done = queue.then(act);
  queue = done.catch(() => undefined);
  try {
    return await done;
  } finally {
    changes -= 1;
    refresh({ what: "touched" });
  }
}

/** @type {any} */
let state = null;
let changes = 0; // on their way
let begun = 0;

/** How many changes there were, none of them on its way (else NaN, which is like nothing): what
 * was asked for before and comes after another is old, and is not shown over what is typed. */
export const stand = () => (changes ? NaN : begun);

/** What is asked for to be drawn within an element, whenever there may be news of it.
 *
 * Nothing is told while changes are on their way, while letters are put together there (what is
 * owed follows), or if there is nothing to draw anew. After a change of this page there always is: what
 * was refused is shown as it is stored.
 * @param {Element} root @param {string} path */
export function source(root, path) {
  let before = "";
  let asked = 0;
  /** @type {Promise<any>} */
  let answered = Promise.resolve();
  const waits = () => {
    const now = typing(root);
    owed ||= now;
    return now;
  };
  /** @param {any[]} more what else it is drawn from @returns {Promise<any>} */
  return async (...more) => {
    const at = stand();
    const mine = asked += 1;
    if (Number.isNaN(at) || waits()) return undefined;
    await answered; // of all that wait for an answer only the newest asks again
    if (mine !== asked) return undefined;
    const answer = got(path);
    answered = answer;
    const told = await answer;
    if (!told || at !== stand() || mine !== asked || waits()) return undefined;
    const now = JSON.stringify([told, at, ...more]);
    if (now === before) return undefined;
    before = now;
    return told;
  };
}

let owed = false;
addEventListener("compositionend", () => setTimeout(() => {
  if (!owed) return;
  owed = false;
  refresh();
}));

/** @type {View | null} */
let view = null;
let shown = "";
let headed = "";
let noted = "";
let asking = false;
/** @type {any} */
let again = null;

async function refresh(news = { what: "all" }) {
  if (asking) { again = news; return; }
  asking = true;
  try {
    const now = await ask("/state");
    state = { ...now, saved: now.saved && !changes };
    render(news);
  } catch (error) {
    complain(error);
  } finally {
    asking = false;
    if (again) { const next = again; again = null; refresh(next); }
  }
}

/** @returns {"begin" | keyof typeof VIEWS} */
function wanted() {
  if (!state.job) return "begin";
  const named = location.hash.slice(1);
  if (state.views.includes(named)) return /** @type {keyof typeof VIEWS} */ (named);
  return state.views.includes("lay") ? "lay" : state.views[0];
}

/** @param {any} news */
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
addEventListener("hashchange", () => state && render({ what: "all" }));
let connected = true;
hear((news) => refresh(news), (there) => {
  if (there && !connected) { fill(trouble); say(words.back); }
  if (!there && connected) complain(new Error(words.lost));
  connected = there;
});
refresh();
