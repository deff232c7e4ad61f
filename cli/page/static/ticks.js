/** Parts with their pictures, to tick off as they are cut: for a phone beside the table. */

import { ask } from "./ask.js";
import { el, fill, shape } from "./dom.js";
import { drawn } from "./drawn.js";
import { attempt, got, say } from "./telling.js";
import { words } from "./words.js";

/** One marker's parts.
 * @param {any} m what the server says of the marker */
export function ticks(m) {
  const left = el("span", { class: "soft" });
  const list = el("ul", { class: "ticks" });
  const root = el("details", { class: "ticking", ontoggle: () => root.open && load() },
    el("summary", {}, `${m.title} `, left), list);
  /** @type {any[]} */
  let parts = [];
  /** @type {Set<number>} */
  let cut = new Set();
  /** Ticks on their way: what is shown of these parts is newer than any news.
   * @type {number[]} */
  const onWay = [];
  let ticked = 0; // how often: what was asked for before is out of date
  /** One after another, as they were made.
   * @type {Promise<any>} */
  let before = Promise.resolve();

  const count = () => { left.textContent = words.leftToCut(parts.length - cut.size, parts.length); };

  const load = async () => {
    if (parts.length) return;
    const told = await got("/cut");
    for (let sheet = 0; sheet < m.grounds; sheet += 1) {
      const drawing = await got(`/marker?marker=${m.number}&sheet=${sheet}`);
      if (drawing) parts.push(...drawing.parts);
    }
    cut = new Set(told?.cut[m.number] ?? []);
    fill(list, ...parts.map(row));
    for (const picture of list.querySelectorAll("svg")) frame(picture);
    count();
  };

  const row = (/** @type {any} */ part) => {
    const id = `cut-${m.number}-${part.part}`;
    const box = el("input", { type: "checkbox", id, checked: cut.has(part.part),
      onchange: () => {
        const wanted = box.checked;
        onWay.push(part.part);
        ticked += 1;
        before = before.then(async () => {
          const told = await attempt(() => ask("/cut/tick", { marker: m.number, part: part.part,
            cut: wanted, was: cut.has(part.part) }));
          onWay.splice(onWay.indexOf(part.part), 1);
          if (!told) {
            const now = await got("/cut");
            if (now) cut = new Set(now.cut[m.number]);
            if (!onWay.includes(part.part)) box.checked = cut.has(part.part);
            count();
            return;
          }
          cut = new Set(told.cut[m.number]);
          count();
          say(left.textContent);
        });
      } });
    return el("li", {}, el("label", { for: id }, box,
      shape("svg", { class: "marker piece", "aria-hidden": "true" },
        ...drawn({ ...part, texts: [] }, part.colour)),
      el("span", {}, part.says)));
  };

  return {
    root,
    title: m.title,
    ticked: () => ticked,
    open: () => root.open,
    unfold() { root.open = true; },
    /** @param {any} told which are cut by now @param {number} asked how many ticks there were then */
    update(told, asked) {
      if (asked !== ticked) return; // their answers say it
      cut = new Set(told.cut[m.number] ?? []);
      for (const part of parts) {
        const box = /** @type {HTMLInputElement | null} */ (
          document.getElementById(`cut-${m.number}-${part.part}`));
        if (box && !onWay.includes(part.part)) box.checked = cut.has(part.part);
      }
      if (parts.length) count();
    },
  };
}

/** Show what is drawn in a picture, whole.
 * @param {any} picture */
function frame(picture) {
  const { x, y, width, height } = picture.getBBox();
  const pad = 0.03 * Math.max(width, height);
  picture.setAttribute("viewBox",
    `${x - pad} ${y - pad} ${width + 2 * pad} ${height + 2 * pad}`);
}
