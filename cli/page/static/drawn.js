/** Elements for what the server has drawn; how they look stands in the style sheet. */

import { fill, shape } from "./dom.js";
import { words } from "./words.js";

const BASE = new Set(["cloth", "usable", "sheet"]);
const OVER = new Set(["repeat"]);

/** @param {any} things lines, holes and texts */
export function drawn(things, colour = "") {
  return [
    ...things.lines.map((/** @type {any} */ l) => shape("path", {
      d: l.d,
      class: `l-${l.is}${l.under ? " under" : ""}`,
      fill: l.is === "part" ? colour : null,
    })),
    ...things.holes.map((/** @type {any} */ h) => shape("circle", {
      cx: h.at[0], cy: h.at[1], r: Math.max(h.across / 2, 1), class: "l-drill",
    })),
    ...things.texts.map((/** @type {any} */ t) => text(t)),
  ];
}

/** @param {any} t */
function text(t, more = {}) {
  const [x, y] = t.at;
  return shape("text", {
    x, y, "font-size": t.high / 0.72, "text-anchor": "middle", dy: t.high / 2,
    textLength: t.wide, lengthAdjust: "spacingAndGlyphs", ...more,
    transform: t.turn ? `rotate(${t.turn} ${x} ${y})` : null,
  }, t.text);
}

const READABLE = 8; // pixels of capitals

/** Names of the goods, as of zones, are as high as one can read, however far one looks from.
 * @param {Element} names @param {number} mm that a pixel is */
export function legible(names, mm) {
  for (const one of names.querySelectorAll("text")) {
    const [x, y, high, turn] = (one.getAttribute("data-name") ?? "").split(" ").map(Number);
    const larger = Math.max(1, (READABLE * mm) / high);
    one.setAttribute("transform",
      `translate(${x} ${y}) scale(${larger}) rotate(${turn}) translate(${-x} ${-y})`);
  }
}

/** The goods below the parts (their surface, and what is on it), and the print above them.
 * @param {any} ground */
export function drawnGround(ground) {
  const order = (/** @type {any} */ l) => (l.is === "cloth" ? 0 : 1);
  const lines = [...ground.lines].sort((a, b) => order(a) - order(b));
  const base = lines.filter((l) => BASE.has(l.is));
  const under = lines.filter((l) => !BASE.has(l.is) && !OVER.has(l.is));
  const over = lines.filter((l) => OVER.has(l.is));
  return {
    base: drawn({ lines: base, holes: [], texts: [] }),
    under: drawn({ lines: under, holes: ground.holes, texts: [] }),
    over: [...drawn({ lines: over, holes: [], texts: [] }),
      ...ground.texts.map((/** @type {any} */ t) =>
        text(t, { "data-name": `${t.at[0]} ${t.at[1]} ${t.high} ${t.turn}` }))],
  };
}

let pictures = 0; // each has a name of its own on the page

/** A place for the picture of goods, at true scale; `show` is told what there is now. What stays
 * the same picture is not fetched anew. */
export function drawnPicture() {
  const name = `picture-${pictures += 1}`;
  const within = shape("path");
  const shown = shape("g", { "clip-path": `url(#${name}-in)` });
  const root = shape("g", { class: "picture", "aria-hidden": "true" });
  let before = "";
  /** @param {any} picture as the server tells of it @returns {boolean} whether there is one */
  const show = (picture) => {
    const { within: d = "", ...same } = picture ?? {};
    within.setAttribute("d", d);
    const now = JSON.stringify(same);
    if (now !== before) fill(root, ...(picture ? [clip, shown] : []));
    if (now !== before) fill(shown, ...(picture ? pictured(same, name) : []));
    for (const surface of shown.querySelectorAll("path")) surface.setAttribute("d", d);
    before = now;
    return Boolean(picture);
  };
  const clip = shape("clipPath", { id: `${name}-in` }, within);
  return { root, show };
}

/** @param {any} p @param {string} name */
function pictured(p, name) {
  const [width, height] = p.size;
  const transform = `matrix(${p.matrix.join(" ")})`;
  const images = p.places.map((/** @type {number[]} */ [x, y]) => shape("image", {
    href: `/marker/picture?is=${p.is}`, x, y, width, height, preserveAspectRatio: "none" }));
  if (!p.tile) return [shape("g", { transform }, ...images)];
  return [
    shape("pattern", { id: `${name}-of`, patternUnits: "userSpaceOnUse", width: p.tile[0],
      height: p.tile[1], patternTransform: transform }, ...images),
    shape("path", { class: "tiled", fill: `url(#${name}-of)` }),
  ];
}

/** @param {any} part */
export function drawnPart(part) {
  return shape("g", { class: part.held ? "part pinned" : "part", "data-part": part.part },
    shape("title", {}, part.held ? words.held(part.says) : part.says), ...drawn(part, part.colour));
}
