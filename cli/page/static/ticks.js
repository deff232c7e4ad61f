/** Parts with their pictures, to tick off as they are cut: for a phone beside the table. */

import { ask } from "./ask.js";
import { changing } from "./changes.js";
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
  let loading = false;
  /** @type {Set<number>} */
  let cut = new Set();
  /** Ticks on their way: what is shown of these parts is newer than any answer.
   * @type {number[]} */
  const onWay = [];

  const count = () => { left.textContent = words.leftToCut(parts.length - cut.size, parts.length); };

  const load = async () => {
    if (loading || parts.length) return;
    loading = true;
    const drawings = [];
    for (let sheet = 0; sheet < m.grounds; sheet += 1) {
      drawings.push(await got(`/marker?marker=${m.number}&sheet=${sheet}`));
    }
    const told = await got("/cut");
    loading = false;
    if (!told || !drawings.every(Boolean)) return; // it is asked again when it is next opened
    parts = drawings.flatMap((one) => one.parts);
    cut = new Set(told.cut[m.number]);
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
        changing(async () => {
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
    open: () => root.open,
    unfold() { root.open = true; },
    /** @param {any} told which are cut by now */
    update(told) {
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
