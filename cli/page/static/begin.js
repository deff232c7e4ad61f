/** Where work begins: jobs of the folder, and samples. */

import { ask } from "./ask.js";
import { button, el, refill } from "./dom.js";
import { files } from "./pattern.js";
import { attempt } from "./telling.js";
import { words } from "./words.js";

/** @param {() => void} refresh */
export function showBegin(refresh) {
  const lists = el("div");
  const root = el("section", {}, el("h1", {}, words.begin), lists);

  const name = el("input", { id: "new-name" });
  const unit = el("select", { id: "new-unit" },
    ...Object.entries(words.newUnits).map(([value, said]) => el("option", { value }, said)));
  const begin = button(words.newBegin, () => attempt(async () => {
    await ask("/making/begin", { name: name.value, unit: unit.value });
    refresh();
  }));

  /** @param {string} kind @param {{name: string, file: string}} one */
  const offer = (kind, one) => el("li", {},
    button(one.name || one.file, () => attempt(async () => {
      await ask("/open", { kind, file: one.file });
      refresh();
    }), { "aria-describedby": `${kind}-${one.file}` }),
    " ", el("span", { class: "soft", id: `${kind}-${one.file}` }, words.file(one.file)));

  return {
    root,
    /** @param {any} state */
    update(state) {
      const { here, samples } = state.begin;
      refill(lists,
        el("h2", {}, words.beginDrop),
        files(refresh),
        el("h2", {}, words.beginNew),
        el("p", { class: "fields" }, el("label", { for: name.id }, words.newName), name,
          el("label", { for: unit.id }, words.newUnit), unit, begin),
        el("h2", {}, words.beginHere),
        here.length ? el("ul", { class: "plain" }, ...here.map((/** @type {any} */ one) =>
          offer("here", one))) : el("p", {}, words.beginNone),
        el("h2", {}, words.beginSamples),
        el("p", { class: "soft" }, words.beginSamplesHint),
        el("ul", { class: "plain" }, ...samples.map((/** @type {any} */ one) =>
          offer("samples", one))));
    },
  };
}
