/** Rulers beside a marker, in the job's unit, as far as it is seen. */

import { fill, shape } from "./dom.js";

const APART = 55; // pixels between numbers, at least
const FIVE = 5; // ticks to a number

/**
 * @param {SVGElement} element an SVG strip of the view's size in pixels
 * @param {{from: number, size: number, pixels: number}} along what is seen of it (mm; pixels)
 * @param {{unit: string, mm: number, steps: number[]}} unit
 * @param {boolean} upright
 */
export function drawRuler(element, along, unit, upright) {
  const scale = along.pixels / along.size;
  const step = unit.steps.find((s) => s * unit.mm * scale >= APART)
    ?? unit.steps[unit.steps.length - 1];
  const apart = (step * unit.mm) / FIVE;
  const marks = [];
  const first = Math.max(0, Math.ceil(along.from / apart)); // goods begin at 0
  const last = Math.floor((along.from + along.size) / apart);
  for (let i = first; i <= last && i - first < 2000; i += 1) {
    const at = (i * apart - along.from) * scale;
    const long = i % FIVE === 0;
    const deep = long ? 8 : 4;
    marks.push(upright
      ? shape("path", { d: `M ${34 - deep} ${along.pixels - at} h ${deep}` })
      : shape("path", { d: `M ${at} 0 v ${deep}` }));
    if (long) {
      const text = String((i / FIVE) * step);
      marks.push(upright
        ? shape("text", { x: 24, y: along.pixels - at + 4, "text-anchor": "end" }, text)
        : shape("text", { x: at, y: 20, "text-anchor": "middle" }, text));
    }
  }
  fill(element, ...marks);
}
