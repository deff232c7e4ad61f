/** Files to cut and print from, with what is to be known before. */

import { ask } from "./ask.js";
import { only, stand } from "./changes.js";
import { button, el, fill, refill } from "./dom.js";
import { forMachine } from "./machine.js";
import { onPaper } from "./print.js";
import { projecting } from "./projector.js";
import { attempt, newest, say } from "./telling.js";
import { ticks } from "./ticks.js";
import { words } from "./words.js";

/** @param {() => void} refresh */
export function showCut(refresh) {
  const care = el("div");
  const files = el("ul", { class: "plain" });
  const ticking = el("div");
  /** @type {ReturnType<typeof ticks>[]} */
  let lists = [];
  let versions = "";
  const asked = newest();
  const where = el("p", { class: "soft" });
  const insist = el("input", { type: "checkbox", id: "insist" });
  const insisting = el("p", { hidden: true }, insist, " ",
    el("label", { for: "insist" }, words.insist));

  let listed = "";
  /** @param {any} told */
  const offer = (told) => {
    const now = JSON.stringify(told.files);
    if (now !== listed) refill(files, ...fetching(told));
    listed = now;
  };
  /** @param {any} told */
  const fetching = (told) => (told.files.length
    ? told.files.map((/** @type {any} */ f) => el("li", {},
      el("a", { href: `/file?name=${encodeURIComponent(f.name)}`,
        download: f.name.split("/").pop() }, words.fetch(f.name)),
      f.earlier && el("span", { class: "bad-word" }, ` ${words.earlier}`)))
    : [el("li", {}, words.noFiles)]);

  let made = 0; // how often files were made here: a list asked for before is out of date
  /** @param {Event} event @param {string} path @param {Record<string, any>} body */
  const make = async (event, path, body) => {
    const pressed = /** @type {HTMLButtonElement} */ (event.currentTarget);
    if (pressed.getAttribute("aria-disabled")) return undefined;
    const said = pressed.textContent;
    pressed.setAttribute("aria-disabled", "true");
    pressed.textContent = words.working;
    const told = await attempt(() => ask(path, { ...body, insist: insist.checked }));
    pressed.removeAttribute("aria-disabled");
    pressed.textContent = said;
    if (told) {
      made += 1;
      offer(told);
      files.scrollIntoView({ block: "nearest" });
      say(words.done);
    }
    return told;
  };

  const machine = forMachine(make, refresh);
  const paper = onPaper(make);
  const projector = projecting();
  const stock = whenCut();
  const nothing = el("p", {}, words.waiting);
  /** In the order of the table: what is at hand to cut by hand first. */
  const parts = [
    el("div", {}, el("h2", {}, words.tick), el("p", { class: "soft" }, words.tickHint), ticking),
    paper.root, projector.root, machine.root,
    el("div", {}, el("h2", {}, words.drawings),
      el("p", {}, button(words.write, (e) => make(e, "/files/write", {})))),
    el("div", {}, el("h2", {}, words.filesHere), where, files),
    stock.root,
  ];
  const leads = jumps(parts);
  const all = el("div", { hidden: true }, care, leads.root, insisting, ...parts);
  const root = el("section", {}, el("h1", {}, words.toCut), nothing, all);

  let first = true;
  return {
    root,
    /** @param {any} state @param {Set<string>} news */
    async update(state, news) {
      nothing.hidden = state.markers.length > 0;
      all.hidden = !nothing.hidden;
      projector.update(state);
      stock.root.hidden = !state.views.includes("goods");
      leads.update();
      if (!state.markers.length || (!first && only(news, "progress"))) return;
      const now = JSON.stringify(state.markers.map((/** @type {any} */ m) => m.version));
      if (now !== versions) {
        versions = now;
        const open = lists.filter((one) => one.open()).map((one) => one.title);
        lists = state.markers.map(ticks);
        fill(ticking, ...lists.map((one) => one.root));
        for (const one of lists) if (open.includes(one.title)) one.unfold();
      } else {
        const at = stand();
        const told = Number.isNaN(at) ? undefined : await asked("/cut");
        if (told && at === stand()) for (const one of lists) one.update(told);
        if (only(news, "cut", "touched", "progress")) return;
      }
      where.textContent = words.filesIn(state.folder);
      const before = made;
      const [told, bought] = await Promise.all([asked("/files"), asked("/buying")]);
      if (!told || !bought) return;
      first = false;
      paper.update(state, told);
      machine.update(state);
      if (made === before) offer(told);
      insisting.hidden = !bought.faulty.length;
      fill(care,
        bought.faulty.length > 0
          && el("p", { class: "bad" }, words.notGood(bought.faulty.join(", "))),
        el("section", { class: "care whole", "aria-label": words.careful },
          el("h2", {}, words.careful),
          el("ul", {}, ...bought.cautions.map((/** @type {string} */ c) => el("li", {}, c)))));
    },
  };
}

/** A line that leads to each part of the view, which is long on a phone.
 * @param {HTMLElement[]} parts each with a heading */
function jumps(parts) {
  const ways = parts.map((part) => {
    const head = /** @type {HTMLElement} */ (part.querySelector("h2"));
    head.tabIndex = -1;
    return { part, way: el("li", {}, button(head.textContent ?? "", () => {
      head.scrollIntoView();
      head.focus();
    })) };
  });
  return {
    root: el("nav", { class: "jumps", "aria-label": words.jumps },
      el("ul", {}, ...ways.map((one) => one.way))),
    update: () => { for (const one of ways) one.way.hidden = one.part.hidden; },
  };
}

/** When all is cut: what was used goes off the stock, what is left comes to it. */
function whenCut() {
  const told = el("div", { "aria-live": "polite" });
  const root = el("div", { hidden: true }, el("h2", {}, words.whenCut),
    el("p", { class: "soft" }, words.whenCutHint),
    el("p", {}, button(words.whenCutDo, () => attempt(async () => {
      const now = await ask("/stock/cut", {});
      fill(told, el("p", {}, now.changes.length ? words.stockNow(now.stock) : words.stockSame),
        el("ul", {}, ...now.changes.map((/** @type {string} */ line) => el("li", {}, line))));
    }))), told);
  return { root };
}
