/** What is changed of the job file: one thing after the other, each on what the page shows. */

import { ask } from "./ask.js";
import { changing } from "./changes.js";
import { put, said, stored } from "./dom.js";
import { attempt } from "./telling.js";
import { noted } from "./undoing.js";

/** The job file after a change of this page, by what it was before: such are not made elsewhere.
 * @type {Map<string, string>} */
const mine = new Map();

/** @param {string} seen @param {string} now */
export function made(seen, now) {
  if (seen === now) return;
  mine.set(seen, now);
  mine.delete(now); // what was taken back is as it was: nothing came after it
}

/** A part of the page that changes what it shows. */
export function editor() {
  let seen = "";
  /** The job file as the page shows it now, or as it made it since. */
  const latest = () => {
    let now = seen;
    for (let next = mine.get(now); next !== undefined; next = mine.get(now)) now = next;
    return now;
  };
  /** Change the job file, unless somebody else did since it was shown.
   * @param {any} body or what gives it as soon as all before it is done
   * @param {(done: boolean) => void} after before anything else follows
   * @returns {Promise<any>} nothing if it was refused */
  const edit = (body, after = () => undefined) => attempt(() => changing(async () => {
    const before = latest();
    const asked = typeof body === "function" ? body() : body;
    let done;
    try {
      done = await ask("/making/edit", { ...asked, seen: before || null });
    } catch (error) {
      after(false);
      throw error;
    }
    if (before) made(before, done.seen);
    if (before) noted(before, done.seen, asked.what === "at_hand" ? asked : null);
    after(true);
    return done;
  }));
  /** Change what one field says: all others are sent as they are stored, whatever is typed there.
   * What was refused is not shown any longer.
   * @param {any} field @param {(says: (one: any) => any) => any} body */
  const save = (field, body) => {
    const now = said(field);
    return edit(() => body((one) => (one === field ? now : stored(one))), (done) => {
      if (done) put(field, now, { stored: true });
      else if (said(field) === now) put(field, stored(field));
    });
  };
  /** Send a form; what was taken is no longer in its fields.
   * @param {any[]} fields @param {any} body */
  const send = (fields, body) => {
    const before = fields.map(said);
    return edit(body, (done) => {
      if (done) for (const [i, one] of fields.entries()) {
        if (said(one) === before[i]) put(one, stored(one)); // else more was typed meanwhile
      }
    });
  };
  /**
   * What was asked for is shown now.
   * @param {any} told
   */
  const shown = (told) => { seen = told.seen; };
  return { edit, save, send, shown };
}
