/** What this tab has changed of pattern and goods, undone and done again, without end. */

import { ask } from "./ask.js";
import { changing } from "./changes.js";
import { button, drafted, el, takenBack } from "./dom.js";
import { made } from "./editing.js";
import { attempt, say } from "./telling.js";
import { words } from "./words.js";

/** How the job file was before a change of this tab and after it; what was said to be at hand stands in a
 * file of its own.
 * @typedef {{was: string, now: string, hand: {name: string, at_hand: string, was: string} | null}} Step */

const KEPT = "steps";
/** @type {{done: Step[], undone: Step[]}} */
const steps = { done: [], undone: [] };
try {
  Object.assign(steps, JSON.parse(sessionStorage.getItem(KEPT) ?? "{}"));
} catch { /* what stands there is of no use */ }

/** This tab has changed the job.
 * @param {string} was @param {string} now @param {any} hand */
export function noted(was, now, hand = null) {
  if (was === now && !hand) return;
  steps.done.push({ was, now,
    hand: hand && { name: hand.name, at_hand: hand.at_hand, was: hand.was ?? "" } });
  steps.undone.length = 0;
  kept();
}

function kept() {
  undo.setAttribute("aria-disabled", String(!steps.done.length));
  redo.setAttribute("aria-disabled", String(!steps.undone.length));
  try {
    sessionStorage.setItem(KEPT, JSON.stringify(steps));
  } catch { /* it is known until the page is loaded again */ }
}

/** @param {Step} step @param {boolean} back */
async function gone(step, back) {
  const [from, to] = back ? [step.now, step.was] : [step.was, step.now];
  const hand = async () => {
    if (!step.hand) return;
    const { name, at_hand, was } = step.hand;
    await ask("/making/edit", { what: "at_hand", name, seen: back ? from : to,
      at_hand: back ? was : at_hand, was: back ? at_hand : was });
  };
  if (back) await hand();
  if (from !== to) {
    await ask("/making/back", { to, seen: from });
    made(from, to);
  }
  if (!back) await hand();
}

/** Undo the last change of this tab, or do again what was undone.
 * @param {boolean} back */
const go = (back) => attempt(() => changing(async () => {
  const [from, to] = back ? [steps.done, steps.undone] : [steps.undone, steps.done];
  const step = from.at(-1);
  if (!step) { say(back ? words.undoNone : words.redoNone); return; }
  await gone(step, back);
  from.pop();
  to.push(step);
  kept();
  say(back ? words.undone : words.redone);
}));

const undo = button(words.undo, () => go(true), { "aria-keyshortcuts": "Control+Z" });
const redo = button(words.redo, () => go(false), { "aria-keyshortcuts": "Control+Y" });

/** The two buttons: where they are, the keys do the same. */
export const undoing = el("p", { class: "fields undoing" }, undo, redo);
kept();

addEventListener("keydown", (e) => {
  const key = e.key.toLowerCase();
  const back = key === "z" && !e.shiftKey;
  if (e.altKey || !(e.ctrlKey || e.metaKey) || !(key === "z" || key === "y")) return;
  if (e.defaultPrevented || !undoing.isConnected) return;
  if (back && takenBack(e.target)) { e.preventDefault(); return; }
  if (drafted(e.target)) return; // the browser's to undo
  e.preventDefault();
  go(back);
});
