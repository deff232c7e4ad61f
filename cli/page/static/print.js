/** Paper: markers, templates and labels at true size, on sheets or a plotter's roll. */

import { el, fill, button } from "./dom.js";
import { words } from "./words.js";

/** @param {(event: Event, path: string, body: any) => Promise<any>} make */
export function onPaper(make) {
  const what = el("select", { id: "what", onchange: () => fit() },
    ...Object.entries(words.printWhats).map(([v, said]) => el("option", { value: v }, said)));
  const only = el("select", { id: "print-only" });
  const paper = el("select", { id: "paper", onchange: () => fit() });
  const roll = el("input", { id: "roll", size: 8 });
  const overlap = el("input", { id: "overlap", size: 8 });
  const rectangles = el("input", { type: "checkbox", id: "rectangles" });
  const told = el("p", { "aria-live": "polite" });
  const rollField = field(words.printRoll, roll);
  const overlapField = field(words.printOverlap, overlap);
  const rectangleField = el("p", {}, rectangles, " ",
    el("label", { for: "rectangles" }, words.printRectangles));

  const fit = () => {
    rollField.hidden = paper.value !== "roll";
    overlapField.hidden = what.value === "labels" || paper.value === "roll";
    rectangleField.hidden = what.value !== "templates";
  };

  const root = el("section", { "aria-label": words.print },
    el("h2", {}, words.print),
    el("p", { class: "fields" }, field(words.printWhat, what), field(words.printOnly, only),
      field(words.paper, paper), rollField, overlapField),
    rectangleField,
    el("p", {}, button(words.printDo, async (event) => {
      fill(told);
      const answer = await make(event, "/files/print", { what: what.value, paper: paper.value,
        only: only.value, roll: roll.value, overlap: overlap.value,
        rectangles: rectangles.checked });
      if (answer?.sheets) told.textContent = words.printed(answer.sheets);
      else if (answer?.sheets === 0) told.textContent = words.printedNone;
    })), told);

  let first = true;
  let names = "";
  return {
    root,
    /** @param {any} state @param {any} files what the server says of paper */
    update(state, files) {
      if (first) {
        fill(paper, ...files.papers.map((/** @type {any} */ p) =>
          el("option", { value: p.key }, p.name)), el("option", { value: "roll" }, words.aRoll));
        overlap.placeholder = files.overlap;
        first = false;
      }
      const materials = [...new Set(state.markers.map((/** @type {any} */ m) => m.material))];
      if (names !== JSON.stringify(materials)) {
        names = JSON.stringify(materials);
        fill(only, el("option", { value: "" }, words.printAll),
          ...materials.map((name) => el("option", { value: name }, name)));
      }
      fit();
    },
  };
}

/** @param {string} said @param {any} input */
const field = (said, input) => el("span", { class: "fields" },
  el("label", { for: input.id }, said), input);
