/** The pattern: files dropped, pieces as they were read, which way they lie. */

import { ask, send } from "./ask.js";
import { button, el, refill, shape } from "./dom.js";
import { drawn } from "./drawn.js";
import { attempt, changing } from "./main.js";
import { words } from "./words.js";

const GRAINS = { "0": "along", "90": "across", "45": "bias" };
const LARGEST = 340; // pixels that the longest side of any piece takes

/** What was said of files that were dropped; it stays while one looks at other views.
 * @type {Map<string, any>} */
const told = new Map();

/** Drop files one after the other. @param {File[]} files @param {() => void} refresh */
export async function drop(files, refresh) {
  let next = "";
  for (const file of files) {
    const answer = await attempt(() => send(`/drop?name=${encodeURIComponent(file.name)}`, file));
    if (answer?.read) { told.set(answer.read.file, answer.read); next = "#pattern"; }
    if (answer?.machine) next = "#cut";
  }
  refresh();
  if (next) location.hash = next;
}

/** @param {() => void} refresh */
export function showPattern(refresh) {
  const list = el("div");
  const root = el("section", {}, el("h1", {}, words.pattern), list);

  /** @param {any} body */
  const edit = (body) => attempt(() => changing(() => ask("/making/edit", body))).then(refresh);

  return {
    root,
    /** @param {any} state @param {any} news */
    async update(state, news) {
      if (news.what === "progress") return;
      const m = await attempt(() => ask("/making"));
      if (!m) return;
      const boxes = m.pieces.filter((/** @type {any} */ p) => p.drawn)
        .map((/** @type {any} */ p) => Math.max(p.drawn.box[2], p.drawn.box[3]));
      const scale = LARGEST / Math.max(...boxes, 1);
      refill(list,
        files(refresh),
        ...[...told.values()].map((one) => said(one, refresh)),
        m.pieces.length ? el("ul", { class: "pieces" }, ...m.pieces.map((/** @type {any} */ p) =>
          piece(p, scale, edit))) : el("p", {}, words.noPieces));
    },
  };
}

/** A field for files; dropping them anywhere on the page does the same.
 * @param {() => void} refresh */
export function files(refresh) {
  const field = el("input", { type: "file", id: "files", multiple: true,
    accept: ".dxf,.svg,.pdf,.toml",
    onchange: () => drop([...field.files], refresh) });
  return el("p", { class: "dropping" },
    el("label", { for: "files" }, words.drop), " ", field);
}

/** How a file was understood, and how else it may be. @param {any} one
 * @param {() => void} refresh */
function said(one, refresh) {
  const id = `unit-${one.file}`;
  const units = el("select", { id }, ...words.units.map((u) => el("option", { value: u }, u)));
  const again = button(words.readSo, () => attempt(async () => {
    const answer = await ask("/making/unit", { file: one.file, unit: units.value });
    told.set(one.file, answer.read);
    refresh();
  }));
  return el("section", { class: one.trouble ? "bad" : "care", "aria-label": one.file },
    el("h2", {}, one.file),
    one.trouble && el("p", {}, one.trouble),
    one.said && el("p", {}, one.said),
    one.largest && el("p", {}, words.isTrue(one.largest)),
    ...(one.notes ?? []).map((/** @type {string} */ n) => el("p", { class: "soft" }, n)),
    el("p", { class: "fields" }, el("label", { for: id }, words.otherUnit), units, again));
}

/** @param {any} p @param {number} scale pixels to a mm @param {(body: any) => any} edit */
function piece(p, scale, edit) {
  const id = `grain-${p.name}`;
  const known = GRAINS[/** @type {keyof typeof GRAINS} */ (p.grain)];
  const degrees = el("input", { type: "number", id: `degrees-${p.name}`, value: p.grain,
    step: "any", onchange: () => set({ grain: degrees.value }) });
  const grain = el("select", { id, onchange: () => grain.value && set({ grain: grain.value }) },
    ...Object.entries(words.grains).map(([value, said]) =>
      el("option", { value, selected: value === (known ?? "") }, said)));
  const up = el("input", { type: "checkbox", id: `up-${p.name}`, checked: p.up,
    onchange: () => set({}) });
  const set = (/** @type {any} */ how) => edit({ what: "piece", piece: p.name,
    grain: known ?? p.grain, up: up.checked, ...how });
  return el("li", {},
    p.drawn && picture(p, scale),
    el("h2", {}, p.name),
    p.drawn && el("p", { class: "soft" }, p.size),
    p.mine && p.drawn && el("p", { class: "fields" },
      el("label", { for: id }, words.grain), grain,
      el("label", { for: degrees.id }, words.degrees), degrees),
    p.mine && p.drawn && el("p", {}, up, " ", el("label", { for: up.id }, words.up)),
    p.mine ? button(words.takeOut, () => edit({ what: "unpiece", piece: p.name }),
      { "aria-label": words.takeOutOf(p.name) })
      : el("p", { class: "soft" }, words.elsewhere));
}

/** @param {any} p @param {number} scale */
function picture(p, scale) {
  const [x, y, w, h] = p.drawn.box;
  const pad = 4 / scale;
  return shape("svg", { class: "marker piece", role: "img", "aria-label": words.pieceOf(p.name),
    viewBox: `${x - pad} ${y - pad} ${w + 2 * pad} ${h + 2 * pad}`,
    width: (w + 2 * pad) * scale, height: (h + 2 * pad) * scale },
  ...drawn(p.drawn, p.drawn.colour));
}
