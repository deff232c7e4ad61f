/** What is changed on the page, one after the other, and what is asked for to be drawn anew. */

import { typing } from "./dom.js";
import { got } from "./telling.js";

let page = {
  touched: () => {},
  refresh: (/** @type {string | undefined} */ _what = undefined) => {},
};

/** Name who draws the page: something of it is about to change; there may be news of it.
 * @param {typeof page} drawn */
export function follow(drawn) {
  page = drawn;
}

/** @type {Promise<any>} */
let queue = Promise.resolve();

/** Change something, one after the other: until it is on disk the page doesn't say so.
 * @template T @param {() => Promise<T>} act @returns {Promise<T>} */
export async function changing(act) {
  changes += 1;
  begun += 1;
  page.touched();
  const done = queue.then(act);
  queue = done.catch(() => undefined);
  try {
    return await done;
  } finally {
    changes -= 1;
    page.refresh("touched");
  }
}

let changes = 0; // on their way
let begun = 0;

// Whoever closes the page meanwhile is asked: what waits for its turn would be lost.
addEventListener("beforeunload", (event) => { if (changes) event.preventDefault(); });

/** Whether a change is on its way. */
export const pending = () => changes > 0;

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

/** Whether nothing else happened.
 * @param {Set<string>} news @param {string[]} these */
export const only = (news, ...these) => [...news].every((what) => these.includes(what));

let owed = false;
addEventListener("compositionend", () => setTimeout(() => {
  if (!owed) return;
  owed = false;
  page.refresh();
}));
