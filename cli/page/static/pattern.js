/** The pattern: files dropped, pieces as they were read, which way they lie. */

import { ask, send } from "./ask.js";
import { jobSizes, scaleAsked, sizeAsked } from "./asked.js";
import { changing, only, source } from "./changes.js";
import { button, el, fill, fold, folded, refill, shape } from "./dom.js";
import { drawn } from "./drawn.js";
import { editor } from "./editing.js";
import { openPiece } from "./piece.js";
import { attempt } from "./telling.js";
import { noted, undoing } from "./undoing.js";
import { words } from "./words.js";

const GRAINS = { "0": "along", "90": "across", "45": "bias" };
const LARGEST = 340; // pixels that the longest side of any piece takes

/** What was said of files that were dropped; it stays while one looks at other views.
 * @type {Map<string, any>} */
const told = new Map();

/** Drop files one after the other.
 * @param {File[]} files @param {() => void} refresh */
export async function drop(files, refresh) {
  let next = "";
  for (const file of files) {
    const answer = await attempt(() => send(`/drop?name=${encodeURIComponent(file.name)}`, file));
    if (answer?.read?.seen) noted(answer.read.was, answer.read.seen);
    if (answer?.read) { told.set(answer.read.file, answer.read); next = "#pattern"; }
    if (answer?.machine) next = "#cut";
  }
  refresh();
  if (next) location.hash = next;
}

/** @param {() => void} refresh */
export function showPattern(refresh) {
  const list = el("div");
  const table = el("div");
  const root = el("section", {}, el("h1", {}, words.pattern), undoing, list, table);
  /** @type {{root: Element, load: () => Promise<void>} | null} */
  let large = null;
  let open = "";

  const edits = editor();
  const load = source(root, "/making");
  /** @param {string} name */
  const toggle = (name) => {
    open = open === name ? "" : name;
    large = open ? openPiece(open) : null;
    fill(table, large?.root);
    large?.load();
    refresh();
  };

  return {
    root,
    /** @param {any} state @param {Set<string>} news */
    async update(state, news) {
      if (only(news, "progress")) return;
      const m = await load(open, ...told.values());
      if (!m) { large?.load(); return; }
      edits.shown(m);
      const boxes = m.pieces.filter((/** @type {any} */ p) => p.drawn)
        .map((/** @type {any} */ p) => Math.max(p.drawn.box[2], p.drawn.box[3]));
      const scale = Math.min(LARGEST, innerWidth - 60) / Math.max(...boxes, 1);
      refill(list,
        files(refresh),
        ...[...told.values()].filter((one) => (one.trouble || one.asks)
          && !m.files.some((/** @type {any} */ f) => f.file === one.file))
          .map((one) => understood(one, scale, refresh)),
        ...m.files.map((/** @type {any} */ f) => understood(looked(f), scale, refresh)),
        m.pieces.length ? el("ul", { class: "pieces" }, ...m.pieces.map((/** @type {any} */ p) =>
          piece(p, scale, edits, { open, toggle }, m.sizes))) : el("p", {}, words.noPieces),
        drawNew(edits), jobSizes(m, edits));
      if (open && !m.pieces.some((/** @type {any} */ p) => p.name === open && p.mine)) toggle(open);
      else large?.load();
    },
  };
}

/** A field for files; dropping them anywhere on the page does the same.
 * @param {() => void} refresh */
export function files(refresh) {
  const field = el("input", { type: "file", id: "files", multiple: true,
    accept: ".dxf,.svg,.pdf,.png,.jpg,.jpeg,.toml",
    onchange: () => drop([...field.files], refresh) });
  return el("p", { class: "dropping" },
    el("label", { for: "files" }, words.drop), " ", field);
}

/** A file with what is looked at of it just now.
 * @param {any} f */
function looked(f) {
  const now = told.get(f.file);
  return now?.asks && (now.found || now.trouble) ? { ...f, ...now } : f;
}

/** How a file was understood, and how else it may be.
 * @param {any} one
 * @param {number} scale pixels to a mm @param {() => void} refresh */
function understood(one, scale, refresh) {
  const id = `unit-${one.file}`;
  const units = el("select", { id }, ...words.units.map((u) =>
    el("option", { value: u, selected: u === one.unit }, u)));
  const read = (/** @type {any} */ how) => attempt(async () => {
    const answer = await changing(() => ask("/making/read", { file: one.file, ...how }));
    if (answer.read.seen) noted(answer.read.was, answer.read.seen);
    told.set(one.file, answer.read);
    refresh();
  });
  const same = { size: one.how?.size, file_line: one.how?.file_line };
  const measured = (/** @type {string} */ key, /** @type {string} */ name) => {
    const field = el("input", { id: `measures-${one.file}-${key}`, size: 8 });
    return [el("label", { for: field.id }, words.measures), field,
      button(words.readSo, () => read({ ...same, file_reference: `${name}=${field.value}` }),
        { "aria-label": words.readAs(words.measures) })];
  };
  const answers = (/** @type {any} */ check, /** @type {number} */ i) => el("div",
    { class: "checks", role: "group", "aria-label": words.checkOf(check.name) },
    atScale(check.box, scale, words.checkOf(check.name), [shape("path", { d: check.d })]),
    el("div", {}, el("p", {}, one.answered
      ? words.checked(check.name, check.size) : words.check(check.name, check.size)),
    el("p", { class: "fields" },
      !one.answered && button(words.checkTrue,
        () => read({ ...same, file_reference: `${check.name}=${check.length}` })),
      ...measured(String(i), check.name))));
  return el("section", { class: one.trouble ? "bad" : "care", "aria-label": one.file },
    el("h2", {}, one.file),
    one.trouble && el("p", {}, one.trouble),
    one.said && el("p", {}, one.said),
    one.largest && !one.answered && !one.pictured && el("p", {}, words.isTrue(one.largest)),
    ...(one.checks ?? []).map(answers),
    ...(one.notes ?? []).map((/** @type {string} */ n) => el("p", { class: "soft" }, n)),
    one.asks === "scale" && scaleAsked(one, read),
    one.sizes?.length > 0 && sizeAsked(one, read),
    !one.asks && el("p", { class: "fields" }, el("label", { for: id }, words.otherUnit), units,
      button(words.readSo, () => read({ ...same, file_unit: units.value }),
        { "aria-label": words.readAs(words.otherUnit) })),
    !one.asks && one.trouble && el("p", { class: "fields" }, ...measured("trouble", "")));
}

/** Lines in a box at the scale of the pieces.
 * @param {number[]} box @param {number} scale
 * @param {string} says @param {Element[]} lines */
export function atScale([x, y, w, h], scale, says, lines) {
  const pad = 4 / scale;
  const svg = shape("svg", { class: "marker piece", role: "img", "aria-label": says,
    viewBox: `${x - pad} ${y - pad} ${w + 2 * pad} ${h + 2 * pad}` }, ...lines);
  svg.style.width = `${(w + 2 * pad) * scale}px`;
  return svg;
}

/** @param {any} p @param {number} scale pixels to a mm @param {Edits} edits
 * @param {{open: string, toggle: (name: string) => void}} large
 * @param {string} sizes those of the job */
function piece(p, scale, edits, large, sizes) {
  const id = `grain-${p.name}`;
  const known = GRAINS[/** @type {keyof typeof GRAINS} */ (p.grain)];
  const degrees = el("input", { type: "number", id: `degrees-${p.name}`, value: p.grain,
    step: "any", onchange: () => set(degrees, (says) => ({ grain: says(degrees) })) });
  const grain = el("select", { id, onchange: () => grain.value
    && set(grain, (says) => ({ grain: says(grain) })) },
    ...Object.entries(words.grains).map(([value, said]) =>
      el("option", { value, selected: value === (known ?? "") }, said)));
  const up = el("input", { type: "checkbox", id: `up-${p.name}`, checked: p.up,
    onchange: () => set(up, () => ({})) });
  const sized = el("input", { type: "checkbox", id: `sized-${p.name}`, checked: p.sized,
    onchange: () => edits.save(sized, (says) => ({ what: "sized", piece: p.name,
      sized: says(sized) })) });
  /** @param {any} field @param {(says: (one: any) => any) => any} how */
  const set = (field, how) => edits.save(field, (says) => ({ what: "piece", piece: p.name,
    grain: known ?? p.grain, up: says(up), ...how(says) }));
  return el("li", {},
    p.drawn && atScale(p.drawn.box, scale, words.pieceOf(p.name), drawn(p.drawn, p.drawn.colour)),
    el("h2", {}, p.name),
    p.drawn && el("p", { class: "soft" }, p.size),
    p.trouble && el("p", { class: "bad" }, p.trouble),
    p.mine && p.drawn && el("p", {}, button(words.workOn, () => large.toggle(p.name),
      { "aria-expanded": String(large.open === p.name), "aria-label": words.workOnOf(p.name),
        id: `open-${p.name}` })),
    p.mine && p.drawn && el("p", { class: "fields" },
      el("label", { for: id }, words.grain), grain,
      el("label", { for: degrees.id }, words.degrees), degrees),
    p.mine && p.drawn && el("p", {}, up, " ", el("label", { for: up.id }, words.up)),
    p.mine && p.from && sizes && el("p", {}, sized, " ", el("label", { for: sized.id }, words.sized)),
    p.mine ? button(words.takeOut, () => edits.edit({ what: "unpiece", piece: p.name }),
      { "aria-label": words.takeOutOf(p.name) })
      : el("p", { class: "soft" }, words.elsewhere));
}

/** @typedef {ReturnType<typeof editor>} Edits */

/** A piece drawn by its sizes.
 * @param {Edits} edits */
function drawNew(edits) {
  const form = (/** @type {"rectangle" | "circle" | "strap"} */ kind) => {
    const input = (/** @type {string} */ key) => el("input", { id: `new-${kind}-${key}`, size: 9 });
    const label = (/** @type {Element} */ one, /** @type {string} */ said) =>
      el("span", { class: "fields" }, el("label", { for: one.id }, said), one);
    const name = input("name");
    const sizes = words.drawSizes[kind].map((said, i) => ({ said, one: input(String(i)) }));
    const allowance = input("allowance");
    return el("fieldset", { class: "fields" }, el("legend", {}, words.draws[kind]),
      label(name, words.keys_.name), ...sizes.map((s) => label(s.one, s.said)),
      label(allowance, words.allowance),
      button(words.drawDo, async () => {
        const done = await edits.send([name, allowance, ...sizes.map((s) => s.one)], {
          what: "draw", kind, name: name.value, sizes: sizes.map((s) => s.one.value),
          allowance: allowance.value });
        if (done) folded("draw-new", false);
      }, { "aria-label": words.drawOf[kind] }));
  };
  return fold("draw-new", el("summary", { id: "draw-new" }, words.drawNew),
    el("p", { class: "soft" }, words.drawHint), form("rectangle"), form("circle"), form("strap"));
}
