/** At true size on the cutting table: a projector's picture, once a square on it was measured. */

import { ask } from "./ask.js";
import { button, el, fill, shape } from "./dom.js";
import { drawn } from "./drawn.js";
import { newest } from "./telling.js";
import { words } from "./words.js";

const SIDE = 400; // pixels of the square that is measured
const YEAR = 365 * 24 * 3600; // seconds that a screen's measure is kept
const THICK = [2, 3, 5, 8]; // pixels of lines

/** What is kept for each screen: mm that a pixel is, along and upwards, and what a pixel was then.
 * A cookie, for it holds whatever port the page is served at.
 * @typedef {{x: number, y: number, dense: number}} Scale */

const screenName = () => `thriftlay-screen-${screen.width}x${screen.height}`;

/** @returns {Scale | null} */
function kept() {
  const mine = document.cookie.split("; ").find((c) => c.startsWith(`${screenName()}=`));
  const [x, y, dense] = (mine?.split("=")[1] ?? "").split("_").map(Number);
  return x > 0 && y > 0 && dense > 0 ? { x, y, dense } : null;
}

/** @param {Scale} scale */
function keep({ x, y, dense }) {
  document.cookie = `${screenName()}=${[x, y, dense].join("_")}; max-age=${YEAR};`
    + " samesite=strict; path=/";
}

/** How many of the screen's pixels one of the page's is: a zoom of the browser changes it. */
const dense = () => devicePixelRatio * (visualViewport?.scale ?? 1);

/** A button that opens it. */
export function projecting() {
  /** @type {any} */
  let markers = [];
  const open = button(words.project, () => show(markers), { id: "project" });
  const root = el("section", { "aria-label": words.projector },
    el("h2", {}, words.projector), el("p", { class: "soft" }, words.projectHint),
    el("p", {}, open));
  /** @param {any} state */
  const update = (state) => { markers = state.markers; };
  return { root, update };
}

/** @param {any[]} markers */
function show(markers) {
  const svg = shape("svg", { class: "light", role: "img", tabindex: "0" });
  const bar = el("div", { class: "bar" });
  const notice = el("div", { role: "alert" });
  const told = el("p", { class: "told", "aria-live": "polite" });
  const dialog = el("dialog", { class: "projector", "aria-label": words.projector,
    onclose: () => { end(); dialog.remove(); } }, notice, svg, told, bar);
  let scale = kept();
  let measuring = !scale;
  let at = 0;
  let sized = "";
  let changed = false; // the marker is another than the one that was begun with
  const asked = newest();
  /** @type {any} */
  let drawing = null;
  /** @type {number | null} */
  let only = null;

  // ---------------------------------------------------------------- the square that is measured

  const wide = el("input", { id: "square-wide", size: 8 });
  const high = el("input", { id: "square-high", size: 8 });
  const measured = async () => {
    try {
      const mm = await ask("/true_size/measured", { wide: wide.value, high: high.value });
      scale = { x: mm.wide / SIDE, y: mm.high / SIDE, dense: dense() };
      keep(scale);
      measuring = false;
      await begin();
      svg.focus();
    } catch (error) { fill(notice, el("p", {}, /** @type {Error} */ (error).message)); }
  };
  const form = el("form", { onsubmit: (/** @type {Event} */ e) => { e.preventDefault(); measured(); } },
    el("p", {}, words.measureHow),
    el("p", { class: "fields" },
      el("label", { for: wide.id }, words.measureWide), wide,
      el("label", { for: high.id }, words.measureHigh), high,
      el("button", {}, words.measureDo),
      button(words.projectEnd, () => dialog.close())));

  // ---------------------------------------------------------------- what is shown

  const what = el("select", { id: "project-what", onchange: () => { at = 0; begin(); } },
    ...markers.flatMap((m) => Array.from({ length: m.grounds }, (_, sheet) =>
      el("option", { value: `${m.number} ${sheet}` },
        m.grounds > 1 ? `${m.title}, ${words.sheetOf(sheet + 1, m.grounds)}` : m.title))));
  const part = el("select", { id: "project-part", onchange: () => {
    only = part.value === "" ? null : Number(part.value); at = 0;
    begin(); } });
  const lines = el("select", { id: "project-lines", onchange: () => draw() },
    ...THICK.map((px) => el("option", { value: px, selected: px === THICK[1] },
      words.linePixels(px))));
  const controls = el("p", { class: "fields" },
    el("label", { for: what.id }, words.projectWhat), what,
    el("label", { for: part.id }, words.projectPart), part,
    button(words.windowBack, () => go(-1)), button(words.windowNext, () => go(1)),
    el("label", { for: lines.id }, words.projectLines), lines,
    button(words.measureAgain, () => { measuring = true; layOut(); }),
    button(words.projectEnd, () => dialog.close()));

  /** Ask for the drawing and its windows anew. */
  const begin = async () => {
    layOut();
    if (!scale || measuring) return;
    const [marker, sheet] = what.value.split(" ");
    const box = svg.getBoundingClientRect();
    sized = `${box.width} ${box.height}`;
    const seen = `wide=${box.width * scale.x}&high=${box.height * scale.y}`;
    const before = drawing && `${drawing.number} ${drawing.sheet}`;
    const version = drawing?.version;
    const now = await asked(`/true_size?marker=${marker}&sheet=${sheet}&${seen}`
      + (only === null || before !== what.value ? "" : `&part=${only}`));
    if (!now) return;
    drawing = now;
    changed = before === what.value && (changed || drawing.version !== version);
    if (before !== what.value) {
      only = null;
      fill(part, el("option", { value: "" }, words.projectAll), ...drawing.parts.map(
        (/** @type {any} */ p) => el("option", { value: p.part }, p.says)));
    }
    at = Math.min(at, drawing.windows.length - 1);
    draw();
  };

  const draw = () => {
    const window_ = drawing?.windows[at];
    if (!window_ || !scale) return;
    const count = drawing.windows.length;
    const where = words.windowOf(at + 1, count, window_.crosses.length > 0);
    const faulty = markers.find((/** @type {any} */ m) => m.number === drawing.number && !m.good);
    fill(told, where, faulty && el("strong", {}, ` ${words.notToCut(faulty.title)}`),
      changed && el("strong", {}, ` ${words.otherNow}`));
    svg.setAttribute("aria-label", where);
    const box = svg.getBoundingClientRect(); // now that all beside it has its room
    const [w, h] = [box.width * scale.x, box.height * scale.y];
    svg.setAttribute("viewBox", `${window_.corner[0]} ${-window_.corner[1] - h} ${w} ${h}`);
    svg.setAttribute("preserveAspectRatio", "none"); // pixels need not be square
    svg.style.setProperty("--thick", lines.value);
    const ground = drawing.ground.lines.map((/** @type {any} */ l) =>
      shape("path", { d: l.d, class: `l-${l.is}` }));
    const shown = drawing.parts.filter((/** @type {any} */ p) => only === null || p.part === only);
    fill(svg, ...(only === null ? ground : []),
      ...shown.map((/** @type {any} */ p) => shape("g", {}, ...drawn(p))),
      ...window_.crosses.flatMap(cross));
    check();
  };

  /** @param {any} c a register mark */
  const cross = (c) => {
    const [x, y] = [c.at[0], -c.at[1]];
    return [shape("path", { class: "cross", d: `M ${x - 12} ${y} h 24 M ${x} ${y - 12} v 24` }),
      shape("text", { x: x + 4, y: y - 4, "font-size": 8 }, String(c.number))];
  };

  /** @param {number} by */
  const go = (by) => {
    if (!drawing) return;
    at = Math.min(Math.max(at + by, 0), drawing.windows.length - 1);
    draw();
  };

  /** To the window beside this one.
   * @param {number} along @param {number} up */
  const beside = (along, up) => {
    const here = drawing?.windows[at];
    const there = here ? drawing.windows.findIndex((/** @type {any} */ w) =>
      w.column === here.column + along && w.row === here.row + up) : -1;
    if (there >= 0) { at = there; draw(); }
  };

  const layOut = () => {
    fill(bar, measuring ? form : controls);
    fill(notice);
    if (!measuring) return;
    told.textContent = "";
    square();
    wide.focus();
  };

  const square = () => {
    const box = svg.getBoundingClientRect();
    svg.setAttribute("viewBox", `0 0 ${box.width} ${box.height}`);
    svg.setAttribute("aria-label", words.square);
    fill(svg, shape("rect", { class: "square", width: SIDE, height: SIDE,
      x: (box.width - SIDE) / 2, y: Math.max(0, (box.height - SIDE) / 2) }));
  };

  /** Say when a pixel is another than it was: the picture is not true then, and is not shown. */
  const check = () => {
    const other = Boolean(scale && !measuring && Math.abs(dense() / scale.dense - 1) > 1e-3);
    svg.classList.toggle("untrue", other);
    if (!other || !scale) { if (notice.dataset.zoom) { fill(notice); delete notice.dataset.zoom; } return; }
    notice.dataset.zoom = "other";
    fill(notice, el("p", {}, words.zoomed(Math.round((100 * dense()) / scale.dense))));
  };

  /** What is seen is another size: the windows are others, too. */
  const resized = () => {
    check();
    const { width, height } = svg.getBoundingClientRect();
    if (sized === `${width} ${height}` || svg.classList.contains("untrue")) return;
    sized = `${width} ${height}`;
    if (measuring) square(); else begin();
  };
  const looking = setInterval(resized, 500); // not every change of the zoom is told
  const watch = new ResizeObserver(resized);
  watch.observe(svg);
  addEventListener("resize", resized);
  visualViewport?.addEventListener("resize", check);
  const end = () => {
    watch.disconnect();
    clearInterval(looking);
    removeEventListener("resize", resized);
    visualViewport?.removeEventListener("resize", check);
    document.getElementById("project")?.focus();
  };

  /** @type {Record<string, () => void>} */
  const KEYS = { ArrowRight: () => beside(1, 0), ArrowLeft: () => beside(-1, 0),
    ArrowUp: () => beside(0, 1), ArrowDown: () => beside(0, -1),
    PageDown: () => go(1), PageUp: () => go(-1) };
  svg.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
    const act = KEYS[e.key];
    if (!act || measuring) return;
    e.preventDefault();
    act();
  });

  document.body.append(dialog);
  dialog.showModal();
  dialog.requestFullscreen?.().catch(() => undefined); // else in the window, as large as it is
  begin().then(() => measuring || svg.focus());
}
