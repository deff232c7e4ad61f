/** Parts of a marker dragged with a mouse, a pen or a finger, and the view moved. */

import { ask } from "./ask.js";
import { fill } from "./dom.js";
import { CLOSER } from "./view.js";

/** @typedef {{svg: SVGElement, view: HTMLElement, laid: SVGElement, rings: SVGElement,
 *   lifted: SVGElement, parts: Map<number, SVGElement>, seen: import("./view.js").Seen,
 *   look: () => void}} Shown what is on the screen; `lifted` lies over it while something is dragged
 */

/** @typedef {{pick: (part: number | null, heard?: boolean, more?: boolean) => void,
 *   group: () => number[], judged: (findings: any[], part: number) => void,
 *   change: (how: any) => Promise<any>, asked: (body: any) => any, several: () => boolean,
 *   slides: () => string, complain: (e: unknown) => void}} Hand what parts are taken by
 */

/**
 * Hear the pointer; return whether something is dragged, and how to put it down.
 * @param {Shown} shown
 * @param {Hand} hand
 */
export function byPointer({ svg, view, laid, rings, lifted, parts, seen, look }, hand) {
  /** @type {{id: number, x: number, y: number, part: number | null, moved: boolean} | null} */
  let drag = null;
  /** A part that joins those in hand, or leaves them, unless it is dragged.
   * @type {number | null} */
  let toggled = null;
  let trying = false;
  /** @type {any} */
  let next = null;

  const attempt = async () => {
    if (trying) return;
    trying = true;
    while (next) {
      const body = next;
      next = null;
      try {
        const told = await ask("/hand/try", body);
        if (drag) hand.judged(told.findings, body.part);
      } catch (error) { hand.complain(error); }
    }
    trying = false;
  };

  const way = (/** @type {PointerEvent} */ e) => {
    const d = /** @type {NonNullable<typeof drag>} */ (drag);
    return { along: (e.clientX - d.x) * seen.mm, across: -(e.clientY - d.y) * seen.mm };
  };

  const lift = () => {
    if (lifted.isConnected) return;
    lifted.classList.toggle("pictured", svg.classList.contains("pictured"));
    fill(lifted, ...hand.group().map((one) => parts.get(one)), rings);
    view.append(lifted);
  };
  const putDown = () => {
    if (!lifted.isConnected) return;
    laid.append(...[...lifted.children].filter((one) => one !== rings));
    svg.append(rings);
    lifted.remove();
  };

  svg.addEventListener("pointerdown", (/** @type {PointerEvent} */ e) => {
    if (e.button !== 0 || drag) return;
    const hit = /** @type {Element} */ (e.target).closest("[data-part]");
    const part = hit ? Number(hit.getAttribute("data-part")) : null;
    drag = { id: e.pointerId, x: e.clientX, y: e.clientY, part, moved: false };
    svg.setPointerCapture(e.pointerId);
    if (part === null) return;
    if (e.shiftKey || hand.several()) toggled = part;
    else if (!hand.group().includes(part)) hand.pick(part, true, false);
  });
  svg.addEventListener("pointermove", (/** @type {PointerEvent} */ e) => {
    if (!drag || e.pointerId !== drag.id) return;
    if (!drag.moved && Math.hypot(e.clientX - drag.x, e.clientY - drag.y) < 3) return;
    drag.moved = true;
    if (toggled !== null) {
      if (!hand.group().includes(toggled)) hand.pick(toggled, true, true);
      toggled = null;
    }
    if (drag.part === null) {
      seen.pan(e.clientX - drag.x, e.clientY - drag.y);
      drag.x = e.clientX;
      drag.y = e.clientY;
      look();
      return;
    }
    const by = way(e);
    lift();
    for (const one of hand.group()) {
      parts.get(one)?.setAttribute("transform", `translate(${by.along} ${-by.across})`);
    }
    const also = hand.group().filter((one) => one !== drag?.part);
    next = hand.asked({ part: drag.part, also, ...by });
    attempt();
  });
  const drop = (/** @type {PointerEvent} */ e) => {
    if (!drag || e.pointerId !== drag.id) return;
    const { part, moved } = drag;
    const by = way(e);
    putDown();
    drag = null;
    next = null;
    const toggle = toggled;
    toggled = null;
    if (part === null && !moved && !hand.several()) hand.pick(null);
    if (toggle !== null && !moved) hand.pick(toggle, true, true);
    else if (part !== null && !moved && hand.group().length > 1) hand.pick(part, true, false);
    if (part === null || !moved) return;
    if (e.type === "pointercancel") {
      for (const one of hand.group()) parts.get(one)?.removeAttribute("transform");
      return;
    }
    hand.change({ ...by, slide: hand.slides() });
  };
  svg.addEventListener("pointerup", drop);
  svg.addEventListener("pointercancel", drop);
  svg.addEventListener("wheel", (/** @type {WheelEvent} */ e) => {
    if (!e.ctrlKey && !e.metaKey) return;
    e.preventDefault();
    const at = view.getBoundingClientRect();
    seen.zoom(e.deltaY < 0 ? CLOSER : 1 / CLOSER, e.clientX - at.left, e.clientY - at.top);
    look();
  }, { passive: false });

  return { busy: () => drag !== null, putDown };
}
