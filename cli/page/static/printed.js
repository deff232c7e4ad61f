/** A picture of a cloth: chosen, looked at, and taken as its print. */

import { send } from "./ask.js";
import { button, el, fill } from "./dom.js";
import { scaleField } from "./scale.js";
import { attempt, say } from "./telling.js";
import { words } from "./words.js";

const LONG = 260; // pixels of the longer side of one repeat

/** What is chosen and not taken yet stays while all else is drawn anew; by the cloth's name.
 * @type {Map<string, Element>} */
const begun = new Map();
let made = 0;

/** The picture of a print that there is, and how another one is chosen.
 * @param {any} g @param {import("./goods.js").Edits["edit"]} edit */
export function printed(g, edit) {
  const chosen = begun.get(g.name) ?? choose(g, edit);
  begun.set(g.name, chosen);
  return el("div", {},
    g.motif && el("div", { class: "fields" },
      el("img", { class: "motif", alt: "", src: `/making/picture?name=${encodeURIComponent(g.motif.file)}` }),
      el("span", {}, words.printHas(g.motif)),
      button(words.printWithout, () => edit({ what: "print without", of: g.name }))),
    chosen);
}

/** @param {any} g @param {import("./goods.js").Edits["edit"]} edit */
function choose(g, edit) {
  const id = `motif-${made += 1}`;
  const field = (/** @type {string} */ label, /** @type {any} */ one) =>
    el("span", { class: "fields" }, el("label", { for: one.id }, label), one);
  const select = (/** @type {string} */ key, /** @type {Record<string, string>} */ options) =>
    el("select", { id: `${id}-${key}`, onchange: () => shown() },
      ...Object.entries(options).map(([value, says]) => el("option", { value }, says)));
  const file = el("input", { type: "file", id: `${id}-file`, accept: ".png,.jpg,.jpeg",
    onchange: () => { fill(seen); shown(); } });
  const known = select("known", words.printKnowns);
  const up = select("up", words.printUps);
  const scale = scaleField(`${id}-scale`);
  const sizes = {
    along: el("input", { id: `${id}-along`, size: 8, value: g.print.along }),
    across: el("input", { id: `${id}-across`, size: 8, value: g.print.across }),
  };
  const look = button(words.printLook, () => looked());
  const more = el("div", { hidden: true });
  const seen = el("div", { "aria-live": "polite" });
  const one = () => known.value === "one";
  const shown = () => {
    more.hidden = !file.files[0];
    scale.all.hidden = one();
  };

  const looked = () => attempt(async () => {
    fill(seen, el("p", {}, words.printLooking));
    try {
      const ask = new URLSearchParams({ name: file.files[0].name, up: up.value,
        reference: one() ? "" : scale.field.value || "?" });
      const told = await send(`/drop/print?${ask}`, file.files[0]);
      fill(seen, el("figure", {},
        el("img", { class: "motif large", src: told.shown, alt: "", width: LONG }),
        el("figcaption", {}, words.printSeen)),
      ...told.said.map((/** @type {string} */ line) => el("p", {}, line)),
      one() && el("p", { class: "fields" }, field(words.printOne.along, sizes.along),
        field(words.printOne.across, sizes.across)),
      el("p", { class: "fields" }, button(words.printTake, () => take(told.is)),
        button(words.printLeave, done)));
    } catch (error) {
      fill(seen);
      throw error;
    }
  });

  const done = () => { file.value = ""; fill(seen); shown(); file.focus(); };
  /** @param {string} is */
  const take = async (is) => {
    const body = { what: "print picture", of: g.name, is, along: sizes.along.value,
      across: sizes.across.value };
    if (await edit(body)) { done(); say(words.printSeen); }
  };

  fill(more, el("p", { class: "fields" }, field(words.printKnown, known), field(words.printUp, up)),
    el("p", { class: "fields" }, scale.all, look));
  shown();
  return el("div", { role: "group", "aria-label": words.printPictureOf(g.name) },
    el("p", { class: "fields" }, field(words.printPicture, file)), more, seen);
}
