/** What is seen of a marker: where, how close, and how that is changed. */

/** @typedef {{x: number, y: number, w: number, h: number}} Box */

const CLOSEST = 20; // mm across the whole view
/** One step closer: so much of what was seen is seen. */
export const CLOSER = 0.8;

/**
 * @param {number[]} box
 * @returns {Box}
 */
function padded([x, y, w, h]) {
  const pad = 0.02 * Math.max(w, h);
  return { x: x - pad, y: y - pad, w: w + 2 * pad, h: h + 2 * pad };
}

export class Seen {
  /** @param {number[]} box of all there is to see (x, y, width, height; mm) */
  constructor(box) {
    this.pixels = { w: 1, h: 1 };
    /** All is seen, whatever the size, until one comes closer or looks elsewhere. */
    this.whole = true;
    this.all = padded(box);
    /** @type {Box} */
    this.box = { ...this.all };
  }

  /** @param {number[]} box */
  setAll(box) {
    this.all = padded(box);
  }

  /** mm that one pixel is. */
  get mm() {
    return this.box.w / this.pixels.w;
  }

  /** @param {number} w @param {number} h */
  resize(w, h) {
    const mm = this.mm;
    this.pixels = { w, h };
    if (this.whole) this.showAll();
    else this.box = { ...this.box, w: mm * w, h: mm * h };
  }

  showAll() {
    this.whole = true;
    const { all, pixels } = this;
    const mm = Math.max(all.w / pixels.w, all.h / pixels.h);
    const w = mm * pixels.w;
    const h = mm * pixels.h;
    this.box = { x: all.x, y: all.y - (h - all.h) / 2, w, h }; // it begins at the left edge
  }

  /** Come closer (below 1) or go back, a point staying where it is seen.
   * @param {number} factor @param {number} px @param {number} py */
  zoom(factor, px = this.pixels.w / 2, py = this.pixels.h / 2) {
    this.whole = false;
    const most = (4 * Math.max(this.all.w, this.all.h)) / this.box.w;
    const by = Math.min(Math.max(factor, CLOSEST / this.box.w), Math.max(most, 1e-9));
    const { x, y, w, h } = this.box;
    const ax = x + px * this.mm;
    const ay = y + py * this.mm;
    this.box = { x: ax - (ax - x) * by, y: ay - (ay - y) * by, w: w * by, h: h * by };
  }

  /** @param {number} px @param {number} py pixels */
  pan(px, py) {
    this.whole = false;
    this.box = { ...this.box, x: this.box.x - px * this.mm, y: this.box.y - py * this.mm };
  }

  /** Whether a box is what is seen.
   * @param {Box | null} box */
  same(box) {
    const { x, y, w, h } = this.box;
    return box?.x === x && box.y === y && box.w === w && box.h === h;
  }

  get words() {
    const { x, y, w, h } = this.box;
    return `${x} ${y} ${w} ${h}`;
  }
}
