/** The view of a marker moves as one picture; once it rests it is drawn anew, sharp. */

const REST = 140; // ms without a move, then it rests

export class Glide {
  /**
   * @param {SVGSVGElement} svg what is seen
   * @param {import("./view.js").Seen} seen where and how close
   * @param {() => void} moved something beside it follows, as rulers; once a frame
   * @param {() => void} rested
   */
  constructor(svg, seen, moved, rested) {
    this.svg = svg;
    this.seen = seen;
    this.moved = moved;
    this.rested = rested;
    /** How it was drawn last.
     * @type {{x: number, y: number, w: number, h: number} | null} */
    this.drawn = null;
    this.frame = 0;
    this.timer = 0;
  }

  /** Show what is seen now. */
  look() {
    if (!this.drawn) { this.settle(); return; }
    if (!this.frame && !this.svg.style.transform && this.seen.same(this.drawn)) return;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.settle(), REST);
    this.frame ||= requestAnimationFrame(() => { this.frame = 0; this.glide(); });
  }

  /** Move the picture as it was drawn last. */
  glide() {
    const { drawn, seen: { box, mm } } = this;
    if (!drawn) return;
    const closer = drawn.w / box.w;
    this.svg.style.transform = `translate(${(drawn.x - box.x) / mm}px,${(drawn.y - box.y) / mm}px)`
      + ` scale(${closer})`;
    this.moved();
  }

  /** Draw it anew where it is. */
  settle() {
    clearTimeout(this.timer);
    cancelAnimationFrame(this.frame);
    this.frame = 0;
    this.drawn = { ...this.seen.box };
    this.svg.setAttribute("viewBox", this.seen.words);
    this.svg.style.transform = "";
    this.moved();
    this.rested();
  }
}
