/** What is told beside all that is shown: to those who hear the page, and what went wrong. */

import { ask } from "./ask.js";
import { el, fill } from "./dom.js";

export const spoken = el("p", { class: "unseen", "aria-live": "polite" });
export const trouble = el("div", { role: "alert" });

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

/** Ask for what is shown time and again: of answers from one place that overtake each other only
 * the newest counts, the others are none.
 * @returns {(path: string) => Promise<any>} */
export function newest() {
  /** @type {Map<string, number>} */
  const last = new Map();
  return async (path) => {
    const [from] = path.split("?");
    const mine = (last.get(from) ?? 0) + 1;
    last.set(from, mine);
    const told = await got(path);
    return mine === last.get(from) ? told : undefined;
  };
}
