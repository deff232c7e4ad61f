/** The shape of a piece that is large: points of its outline, the line at which it is folded back. */

import { button, el, shape } from "./dom.js";
import { words } from "./words.js";

/** @typedef {{field: (id: string, label: string, value: any,
 *   act: ((value: string, from: any) => any) | null) => any,
 *   change: (body: any, from?: any) => Promise<any>}} Doing */

const SIDE = 0.4; // half the side of a point's square, as a share of what is grabbed

/** @param {any} p the piece @param {number} r mm: the radius of what is grabbed */
export const pointGrabs = (p, r) => p.points.map((/** @type {any} */ one, /** @type {number} */ i) =>
  spot(one.at, r, `point ${i}`));

/** @param {any} p @param {number} r */
export const backGrabs = (p, r) => (p.back ? p.back.ends.map(
  (/** @type {any} */ one, /** @type {number} */ i) => spot(one.at, r, `back ${i}`)) : []);

/** @param {number[]} at @param {number} r @param {string} hand */
const spot = ([x, y], r, hand) => shape("g", { class: `grab point ${hand.split(" ")[0]}-end`,
  "data-hand": hand }, shape("circle", { cx: x, cy: y, r }),
shape("rect", { x: x - SIDE * r, y: y - SIDE * r, width: 2 * SIDE * r, height: 2 * SIDE * r,
  transform: hand.startsWith("back") ? `rotate(45 ${x} ${y})` : null }));

/** What is left of the shorter version, its line, and an arrow to what is left out.
 * @param {any} p
 * @returns {Element[]} */
export function backs(p) {
  if (!p.back) return [];
  const { d, ends: [a, b], out: [from, to] } = p.back;
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const barb = (/** @type {number} */ s) =>
    `L ${to[0] - 0.3 * dx + s * 0.2 * dy} ${to[1] - 0.3 * dy - s * 0.2 * dx}`;
  return [d && shape("path", { class: "short", d }),
    shape("path", { class: "back", d: `M ${a.at.join(" ")} L ${b.at.join(" ")}` }),
    shape("path", { class: "back-out", d: `M ${from.join(" ")} L ${to.join(" ")} ${barb(1)}`
      + ` M ${to.join(" ")} ${barb(-1)}` })].filter(Boolean);
}

/** The points, to be chosen.
 * @param {any} p
 * @returns {[string, number, string][]} */
export const points = (p) => p.points.map((/** @type {any} */ one, /** @type {number} */ i) =>
  ["point", i, words.point(i + 1, one.place)]);

/** @param {any} p @param {number} n
 * @param {Doing & {add: (at: number[]) => Promise<any>}} doing */
export function pointPanel(p, n, { field, change, add }) {
  const { at, place } = p.points[n];
  const next = p.points[(n + 1) % p.points.length].at;
  return [
    el("p", {}, words.point(n + 1, place)),
    p.seamed && el("p", { class: "care" }, words.seamStays),
    field("place", words.markKeys.at, place, (value, from) =>
      change({ what: "point", index: n, place: value }, from)),
    el("p", { class: "fields" },
      button(words.pointAfter, () => add([(at[0] + next[0]) / 2, (at[1] + next[1]) / 2])),
      button(words.pointOut, () => change({ what: "point", index: n, out: true }))),
  ];
}

/** @param {any} p @param {number} n
 * @param {Doing} doing */
export function backPanel(p, n, { field, change }) {
  const say = p.back.said.map((/** @type {string} */ line) => el("p", { class: "care" }, line));
  return [
    el("p", {}, words.backHow), ...say,
    field("place", words.backEnd(n + 1), p.back.ends[n].place, (value, from) =>
      change({ what: "fold back", do: "move", end: n, place: value }, from)),
    el("p", { class: "fields" },
      button(words.backTurn, () => change({ what: "fold back", do: "turn" })),
      button(words.backOut, () => change({ what: "fold back", do: "out" }))),
  ];
}

/** Lines that are drawn while something is dragged: from what it hangs on to where it is.
 * @param {Element} grabs @param {number[][]} from @param {number[]} at */
export function tensed(grabs, from, at) {
  let line = grabs.querySelector(".tensed");
  if (!line) grabs.prepend(line = shape("path", { class: "tensed" }));
  line?.setAttribute("d", from.map((one) => `M ${one.join(" ")} L ${at.join(" ")}`).join(" "));
}
