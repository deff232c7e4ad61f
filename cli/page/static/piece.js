/** One piece, large: its grain turned, its edges and its marks taken in hand. */

import { ask } from "./ask.js";
import { source } from "./changes.js";
import { button, el, fill, refill, shape } from "./dom.js";
import { drawn } from "./drawn.js";
import { editor } from "./editing.js";
import { backGrabs, backPanel, backs, pointGrabs, pointPanel, points, tensed } from "./piece_shape.js";
import { attempt, say } from "./telling.js";
import { words } from "./words.js";

const NUDGE = 1; // mm
const FAR = 10; // mm with Shift
const GRAB = 12; // pixels: the radius of what is grabbed
const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

/** @typedef {{is: string, n: number, at?: number[], end?: number[]}} Hand */

/** @param {string} name */
export function openPiece(name) {
  const edits = editor();
  /** @type {any} */
  let p = null;
  /** @type {Hand} */
  let hand = { is: "", n: 0 };
  /** What will be in hand as soon as it is there.
   * @type {Hand | null} */
  let later = null;
  /** What will be in hand as soon as the piece is drawn anew.
   * @type {((now: any) => Hand | null) | null} */
  let coming = null;
  let mm = 1; // that one pixel is

  const lines = shape("g");
  const grabs = shape("g");
  const svg = shape("svg", { class: "marker piece large", tabindex: "0", role: "application",
    "aria-label": words.pieceLarge(name), "aria-describedby": "piece-how" }, lines, grabs);
  const choose = el("select", { id: "piece-hand", onchange: () => {
    const [is, n] = choose.value.split(" ");
    take({ is, n: Number(n) });
  } });
  const panel = el("div");
  const pointed = el("input", { type: "checkbox", id: "piece-points", onchange: () => p && show() });
  const pointedField = el("span", { class: "fields", hidden: true }, pointed,
    el("label", { for: pointed.id }, words.pointsShown));
  const root = el("section", { class: "table piece-table", "aria-label": words.pieceLarge(name) },
    el("h2", {}, name),
    el("div", { class: "at-table" }, svg,
      el("div", {}, el("p", { class: "fields" },
        el("label", { for: choose.id }, words.inHandPiece), choose, pointedField), panel)),
    el("details", {}, el("summary", {}, words.keys), el("p", { id: "piece-how" }, words.pieceHow)));

  // ---------------------------------------------------------------- what is shown

  const asked = source(root, `/making/piece?piece=${encodeURIComponent(name)}`);
  const load = async () => {
    if (drag) return; // it is drawn once that is done
    const told = await asked();
    if (!told || !root.isConnected) return;
    const first = !p;
    edits.shown(told);
    p = told;
    if (drag) return;
    show();
    if (first) svg.focus(); // and so it is seen
  };

  const show = () => {
    const [x, y, w, h] = p.box;
    const room = Math.min(680, innerWidth - 50);
    mm = Math.max(w / (room - 40), h / 520);
    const pad = 20 * mm;
    svg.setAttribute("viewBox", `${x - pad} ${y - pad} ${w + 2 * pad} ${h + 2 * pad}`);
    svg.style.width = `${(w + 2 * pad) / mm}px`;
    fill(lines, ...drawn(p, p.colour), ...backs(p));
    pointedField.hidden = !p.reshaped;
    const r = GRAB * mm;
    const spot = (/** @type {any} */ m, /** @type {string} */ is, /** @type {number} */ n) =>
      shape("g", { class: "grab mark", "data-hand": `${is} ${n}` },
        m.d ? shape("path", { d: m.d }) : shape("circle", { cx: m.at[0], cy: m.at[1], r }));
    fill(grabs,
      ...p.edges.map((/** @type {any} */ e) => shape("path", { d: e.d,
        class: e.fold ? "grab edge on-fold" : "grab edge", "data-hand": `edge ${e.edge}` })),
      ...p.others.map((/** @type {any} */ m) => spot(m, "other", m.number)),
      ...p.marks.map((/** @type {any} */ m, /** @type {number} */ i) => spot(m, "mark", i)),
      ...(p.reshaped && pointed.checked ? pointGrabs(p, r) : []), ...backGrabs(p, r),
      handle(p.handle.angle));
    const options = [["", 0, words.none], ["grain", 0, words.grainHand],
      ...p.edges.map((/** @type {any} */ e) => ["edge", e.edge, words.edge(e)]),
      ...p.marks.map((/** @type {any} */ m, /** @type {number} */ i) => ["mark", i, m.says]),
      ...p.others.map((/** @type {any} */ m) => ["other", m.number, words.fromFile(m.says)]),
      ...(p.reshaped && pointed.checked ? points(p) : []),
      ...(p.back ? [["back", 0, words.backEnd(1)], ["back", 1, words.backEnd(2)]] : []),
      ["put", 0, words.putNew]];
    refill(choose, ...options.map(([is, n, says]) => el("option", { value: `${is} ${n}` }, says)));
    const there = (/** @type {Hand | null} */ one) =>
      options.some(([is, n]) => is === one?.is && n === one?.n);
    if (coming) { later = coming(p); coming = null; }
    if (later && there(later)) { hand = later; later = null; }
    take(there(hand) ? hand : { is: "", n: 0 }, true);
  };

  /** @param {number} angle degrees counter-clockwise */
  const handle = (angle) => {
    const { at: [x, y], reach } = p.handle;
    return shape("g", { class: "grab turner", "data-hand": "grain 0",
      transform: `translate(${x} ${y}) rotate(${-angle})` },
    shape("path", { d: `M ${-reach} 0 H ${reach}` }),
    shape("circle", { cx: reach, cy: 0, r: GRAB * mm }));
  };

  /** @param {Hand} now @param {boolean} same what is in hand, shown anew */
  const take = (now, same = false) => {
    hand = now;
    choose.value = `${hand.is} ${hand.n}`;
    for (const one of grabs.children) {
      one.classList.toggle("held", one.getAttribute("data-hand") === choose.value);
    }
    (same ? refill : fill)(panel, ...(PANELS[hand.is] ?? PANELS[""])());
    if (!same && hand.is) say(words.picked(choose.selectedOptions[0]?.textContent ?? ""));
  };

  // ---------------------------------------------------------------- what is done

  /** Of what is pointed at, or of what is said in a field.
   * @param {any} body
   * @param {any} from the field */
  const change = (body, from = null) => {
    const whole = (/** @type {any} */ says) =>
      ({ piece: name, ...(typeof body === "function" ? body(says) : body) });
    return from ? edits.save(from, whole) : edits.edit(() => whole(null));
  };
  const mark = (/** @type {any} */ body, /** @type {any} */ from = null) =>
    change((/** @type {any} */ says) =>
      ({ what: "mark", ...(typeof body === "function" ? body(says) : body) }), from);

  /** @param {string} id @param {string} label @param {any} value
   * @param {((value: string, from: any) => any) | null} act */
  const field = (id, label, value, act, more = {}) => {
    const input = el("input", { id: `piece-${id}`, value: value ?? "", size: 16,
      onchange: act && (() => act(input.value, input)), ...more });
    return el("span", { class: "fields" }, el("label", { for: input.id }, label), input);
  };
  /** @param {string} id @param {string} label @param {Record<string, string>} options
   * @param {string} value @param {((value: string, from: any) => any) | null} act */
  const select = (id, label, options, value, act) => {
    const input = el("select", { id: `piece-${id}`, onchange: act && (() => act(input.value, input)) },
      ...Object.entries(options).map(([v, said]) =>
        el("option", { value: v, selected: v === value }, said)));
    return el("span", { class: "fields" }, el("label", { for: input.id }, label), input);
  };

  const turnTo = (/** @type {any} */ grain) =>
    change({ what: "piece", grain: String(grain), up: p.up });

  /** @type {Record<string, () => any[]>} */
  const PANELS = {
    "": () => [el("p", { class: "soft" }, words.pieceHint),
      p.from && el("p", {}, words.ownHow(p.from)),
      p.from && el("p", {}, button(words.own, async () => {
        pointed.checked = true;
        await change({ what: "own" });
      })),
      p.lined && !p.back && el("p", {}, button(words.backAdd, async () => {
        coming = () => ({ is: "back", n: 0 });
        await change({ what: "fold back", do: "add" });
      }))],
    point: () => pointPanel(p, hand.n, { field, change, add }),
    back: () => backPanel(p, hand.n, { field, change }),
    grain: () => [
      el("p", {}, words.runs(p.handle.angle)),
      el("p", { class: "fields" },
        button(words.turnRound, () => change({ what: "turn" })))],
    edge: () => {
      const e = p.edges.find((/** @type {any} */ one) => one.edge === hand.n);
      const allow = (/** @type {number} */ edge, /** @type {string} */ allowance,
        /** @type {any} */ from) => change({ what: "edge", edge, allowance }, from);
      return [
        el("p", {}, words.edge(e)),
        p.lined && select("line", words.lineDrawn, words.lines_, p.line, (v, from) =>
          change({ what: "line", line: v }, from)),
        !e.fold && field("allowance", words.allowance, e.allowance, (v, from) => allow(e.edge, v, from)),
        field("all", words.allowanceAll, "", (v, from) => allow(0, v, from)),
        el("p", {}, button(e.fold ? words.unfold : words.fold, () =>
          change({ what: "edge", edge: e.edge, fold: !e.fold }))),
        p.reshaped && el("p", {}, button(words.pointIn, () => add(e.middle))),
      ];
    },
    mark: () => {
      const index = hand.n;
      const m = p.marks[index];
      const set = (/** @type {string} */ key) => (/** @type {any} */ value, /** @type {any} */ from) =>
        mark({ index, keys: { [key]: value } }, from);
      const where = m.keys.edge !== "" ? ["edge", "along", "in"]
        : m.keys.from_centre !== "" ? ["from_centre"] : m.keys.points ? [] : ["at"];
      const place = (/** @type {string} */ key) => (/** @type {string} */ value,
        /** @type {any} */ from) => {
        const fields = where.map((w) => [w, panel.querySelector(`#piece-${w}`)]);
        return mark((/** @type {any} */ says) => ({ index, keys: Object.fromEntries(fields.map(
          ([w, one]) => [w, w === key ? value : one ? says(one) : m.keys[w]])) }), from);
      };
      const carried = (/** @type {Event} */ e) => mark((/** @type {any} */ says) => {
        const on = boxes.filter((/** @type {any} */ one) => says(one.box))
          .map((/** @type {any} */ one) => one.g);
        return { index, keys: { materials: on.length === boxes.length ? [] : on } };
      }, e.target);
      const boxes = p.goods.map((/** @type {string} */ g) => ({ g, box: el("input", {
        type: "checkbox", id: `piece-goods-${g}`, onchange: carried,
        checked: m.keys.materials === "" || m.keys.materials.includes(g) }) }));
      const sizes = m.keys.kind === "outline" ? (m.keys.rectangle ? ["rectangle"] : [])
        : m.keys.kind === "line" ? [] : ["size"];
      return [
        el("p", {}, m.says),
        ...where.filter((w) => w !== "in" || m.keys.kind !== "notch").map((key) =>
          field(key, words.markKeys[/** @type {"at"} */ (key)], m.keys[key], place(key))),
        ...sizes.map((key) => field(key, words.markKeys[/** @type {"at"} */ (key)], m.keys[key],
          set(key))),
        m.keys.kind === "notch"
          && select("style", words.markKeys.style, words.styles, m.keys.style || "slit", set("style")),
        m.keys.kind === "text" && field("text", words.markKeys.text, m.keys.text, set("text")),
        field("name", words.markKeys.name, m.keys.name, set("name")),
        el("fieldset", {}, el("legend", {}, words.carries),
          field("copies", words.markKeys.copies, m.keys.copies, set("copies")),
          select("hands", words.markKeys.hands, words.handsOf, String(m.keys.hands), (v, from) =>
            set("hands")(v ? [v] : [], from)),
          ...boxes.map((/** @type {any} */ { g, box }) =>
            el("span", { class: "fields" }, box, el("label", { for: box.id }, g))),
          select("face", words.markKeys.face, words.faces, m.keys.face || "right", set("face"))),
        el("p", {}, button(words.unmark, unmark)),
      ];
    },
    other: () => {
      const m = p.others.find((/** @type {any} */ one) => one.number === hand.n);
      return [el("p", {}, words.fromFile(m.says)), el("p", { class: "fields" },
        button(m.out ? words.takeAgain : words.leaveOut, () =>
          change({ what: "left out", number: m.number, out: !m.out })),
        !m.out && button(words.takeOver, () => takeOver(m.number)))];
    },
    put: () => {
      const at = field("put-at", words.markKeys.at, "", null);
      const kinds = hand.at ? words.kindsOf : { ...words.kindsOf, line: words.lineKind };
      const kind = select("put-kind", words.putKind, kinds, "drill", null);
      const end = field("put-end", words.putEnd, "", null);
      const named = field("put-name", words.putName, "", null);
      const value = (/** @type {Element} */ one) =>
        /** @type {HTMLInputElement} */ (one.querySelector("input, select")).value;
      return [
        el("p", {}, hand.end ? words.putLine : hand.at ? words.putHere : words.putWhere),
        !hand.end && kind, !hand.at && at, !hand.at && end, named,
        el("p", {}, button(words.put, () => put(hand.end ? "line" : value(kind), value(named),
          value(at), value(end))))];
    },
  };

  /** A point more, where the outline is nearest to a place, or pulled from there.
   * @param {number[]} at @param {number[] | null} to */
  const add = (at, to = null) => {
    pointed.checked = true;
    coming = (now) => ({ is: "point", n: now.points.reduce(
      (/** @type {number} */ best, /** @type {any} */ one, /** @type {number} */ i) =>
        (far(one.at, to ?? at) < far(now.points[best].at, to ?? at) ? i : best), 0) });
    return change({ what: "point", index: null, at, ...(to ? { to } : {}) });
  };
  const far = (/** @type {number[]} */ a, /** @type {number[]} */ b) =>
    Math.hypot(a[0] - b[0], a[1] - b[1]);
  /** Move what is in hand by so much. */
  const move = (/** @type {number[]} */ by) => {
    if (hand.is === "mark") mark({ index: hand.n, by });
    else if (hand.is === "point") change({ what: "point", index: hand.n, by });
    else if (hand.is === "back") change({ what: "fold back", do: "move", end: hand.n, by });
  };
  /** Take out what is in hand. */
  const out = () => {
    if (hand.is === "mark") { unmark(); return; }
    const n = hand.n;
    if (hand.is === "point") change({ what: "point", index: n, out: true });
    else if (hand.is === "back") change({ what: "fold back", do: "out" });
  };
  const MOVED = ["mark", "point", "back"];

  const unmark = async () => {
    const n = hand.n;
    take({ is: "", n: 0 });
    await change({ what: "unmark", index: n });
    svg.focus();
  };
  const takeOver = async (/** @type {number} */ number) => {
    if (await mark({ number })) await change({ what: "left out", number, out: true });
  };
  /** @param {string} kind @param {string} said name or text @param {string} at
   * @param {string} end of a line that is put by numbers */
  const put = async (kind, said, at, end) => {
    const keys = {
      drill: { kind: "drill", name: said, size: "4 mm" },
      snap: { kind: "drill", name: said || words.kindsOf.snap, size: "" },
      notch: { kind: "notch", name: said },
      text: { kind: "text", text: said || words.kindsOf.text },
      outline: { kind: "outline", name: said, rectangle: words.patch },
      line: { kind: "line", name: said },
    }[kind];
    const where = hand.at ? { to: hand.at, end: hand.end } : {};
    if (!hand.at && keys) {
      Object.assign(keys, kind === "outline" ? { from_centre: at }
        : kind === "line" ? { points: [at, end] } : { at });
    }
    const before = p.marks.length;
    if (!await mark({ index: null, keys, ...where })) return;
    later = { is: "mark", n: before };
    if (p.marks.length > before) show();
  };

  // ---------------------------------------------------------------- pointer

  /** @type {{id: number, x: number, y: number, hand: string, from: number[], moved: boolean} | null} */
  let drag = null;
  /** @type {any} */
  let next = null;
  let asking = false;
  /** @type {number | null} */
  let angle = null;

  const place = (/** @type {PointerEvent} */ e) => {
    const at = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM()?.inverse());
    return [at.x, at.y];
  };
  const turning = async () => {
    if (asking) return;
    asking = true;
    while (next) {
      const body = next;
      next = null;
      const told = await attempt(() => ask("/making/turned", body));
      if (told && drag) {
        angle = told.angle;
        grabs.lastElementChild?.replaceWith(handle(told.angle));
        grabs.lastElementChild?.classList.add("held");
        fill(panel, el("p", {}, words.runs(told.angle)),
          told.edge && el("p", {}, words.alongEdge(told.edge)));
      }
    }
    asking = false;
  };

  svg.addEventListener("pointerdown", (/** @type {PointerEvent} */ e) => {
    if (e.button !== 0 || drag || !p) return;
    const hit = /** @type {Element} */ (e.target).closest("[data-hand]")?.getAttribute("data-hand");
    drag = { id: e.pointerId, x: e.clientX, y: e.clientY, hand: hit ?? "", from: place(e),
      moved: false };
    angle = null;
    svg.setPointerCapture(e.pointerId);
    if (hit) {
      const [is, n] = hit.split(" ");
      take({ is, n: Number(n) });
    }
  });
  svg.addEventListener("pointermove", (/** @type {PointerEvent} */ e) => {
    if (!drag || e.pointerId !== drag.id) return;
    if (!drag.moved && Math.hypot(e.clientX - drag.x, e.clientY - drag.y) < 3) return;
    drag.moved = true;
    const at = place(e);
    if (hand.is === "grain" && drag.hand) {
      next = { piece: name, to: at, free: e.altKey };
      turning();
    } else if (hand.is === "edge" && drag.hand && pointed.checked) {
      tensed(grabs, [drag.from], at);
    } else if (MOVED.includes(hand.is) && drag.hand) {
      tensed(grabs, hand.is === "point" ? [p.points.at(hand.n - 1).at,
        p.points[(hand.n + 1) % p.points.length].at]
        : hand.is === "back" ? [p.back.ends[1 - hand.n].at] : [], at);
      grabs.querySelector(`[data-hand="${drag.hand}"]`)?.setAttribute("transform",
        `translate(${at[0] - drag.from[0]} ${at[1] - drag.from[1]})`);
    }
  });
  const drop = async (/** @type {PointerEvent} */ e) => {
    if (!drag || e.pointerId !== drag.id) return;
    const { hand: hit, moved, from } = drag;
    const at = place(e);
    if (e.type === "pointercancel") { drag = null; next = null; show(); return; }
    if (!hit) {
      drag = null;
      take({ is: "put", n: 0, at: from, ...(moved ? { end: at } : {}) });
    } else if (moved && hand.is === "grain") {
      next = { piece: name, to: at, free: e.altKey };
      await turning();
      while (asking) await new Promise((done) => { setTimeout(done, 10); });
      drag = null;
      if (angle !== null) turnTo(angle);
    } else if (moved && MOVED.includes(hand.is)) {
      drag = null;
      move([at[0] - from[0], at[1] - from[1]]);
    } else if (moved && hand.is === "edge" && pointed.checked) {
      drag = null;
      add(from, at);
    }
    drag = null;
  };
  svg.addEventListener("pointerup", drop);
  svg.addEventListener("pointercancel", drop);

  // ---------------------------------------------------------------- keys

  const following = (/** @type {number} */ by) => {
    const all = [...choose.options].map((o) => o.value);
    const [is, n] = all[(all.indexOf(choose.value) + by + all.length) % all.length].split(" ");
    take({ is, n: Number(n) });
  };
  svg.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
    if (e.altKey || e.ctrlKey || e.metaKey || !p) return;
    const to = ARROWS[/** @type {keyof typeof ARROWS} */ (e.key)];
    const by = e.shiftKey ? FAR : NUDGE;
    if (to && MOVED.includes(hand.is)) move([to[0] * by, to[1] * by]);
    else if (to && hand.is === "grain") {
      change({ what: "turn", left: to[0] + to[1] < 0, far: e.shiftKey });
    } else if (e.key === "n" || e.key === "p") following(e.key === "n" ? 1 : -1);
    else if (e.key === "f" && hand.is === "edge") {
      const fold = !p.edges.find((/** @type {any} */ one) => one.edge === hand.n).fold;
      change({ what: "edge", edge: hand.n, fold });
    } else if ((e.key === "Delete" || e.key === "Backspace") && MOVED.includes(hand.is)) out();
    else if (e.key === "Enter" && hand.is) {
      /** @type {HTMLElement | null} */ (panel.querySelector("input, select, button"))?.focus();
    } else if (e.key === "Escape") take({ is: "", n: 0 });
    else return;
    e.preventDefault();
  });

  return { root, load };
}
