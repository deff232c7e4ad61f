/** A hide drawn by hand over a picture of it: its edge, flaws and zones, corner after corner. */

import { ask, send } from "./ask.js";
import { button, drafted, el, fill, shape as svgShape } from "./dom.js";
import { attempt, say } from "./telling.js";
import { Seen } from "./view.js";
import { words } from "./words.js";

const STEP = 10; // pixels of the screen that an arrow moves; with Shift 1
const CLOSER = 0.8;
const HANDLE = 7; // pixels

/** @typedef {{kind: string, name: string, grade: string, tight: string,
 *   points: number[][]}} Shape corners of the picture (pixels) or, without one, in mm, y downwards */

/** @param {string} kind @returns {Shape} */
const shapeOf = (kind) => ({ kind, name: "", grade: "A", tight: "", points: [] });

/**
 * @param {any} g the leather @param {any} hide as the server tells of it; null: a new one
 * @param {(body: any) => Promise<any>} edit @param {() => void} end what follows
 */
export function drawHide(g, hide, edit, end) {
  /** @type {Shape[]} */
  const shapes = hide ? structuredClone(hide.shapes) : [shapeOf("outline")];
  /** The two points of the scale.
   * @type {number[][]} */
  const scale = [];
  let at = 0; // the shape that is drawn
  let scaling = false;
  /** @type {number | null} */
  let corner = null;
  /** @type {{file: string, wide: number, high: number} | null} */
  let picture = null;
  /** That which lies under it already, in mm. */
  let under = hide?.picture ?? null;
  const all = shapes.flatMap((s) => s.points);
  const [xs, ys] = [all.map((p) => p[0]), all.map((p) => p[1])];
  const size = all.length
    ? [Math.min(...xs), Math.min(...ys), Math.max(...xs) - Math.min(...xs),
      Math.max(...ys) - Math.min(...ys)] : [0, 0, 1000, 700];
  let seen = new Seen(size);
  /** Where arrows and Enter put a corner. */
  let cross = [size[0] + size[2] / 2, size[1] + size[3] / 2];

  const svg = svgShape("svg", { class: "marker hide", id: "hide-view", tabindex: "0", role: "application",
    "aria-label": words.hideOf(g.name), "aria-describedby": "hide-how" });
  const name = el("input", { id: "hide-name", value: hide?.name ?? "", size: 16 });
  const file = el("input", { type: "file", id: "hide-picture", accept: ".png,.jpg,.jpeg",
    onchange: () => take() });
  const apart = el("input", { id: "hide-apart", size: 8 });
  const which = el("select", { id: "hide-shape", onchange: () => {
    at = Number(which.value); corner = null; scaling = false; draw(); } });
  const called = el("input", { id: "hide-called", size: 14, oninput: () => {
    shapes[at].name = called.value; draw(); } });
  const grade = el("select", { id: "hide-grade", onchange: () => { shapes[at].grade = grade.value; } },
    ...["A", "B", "C", "D"].map((v) => el("option", { value: v }, v)));
  const tight = el("input", { id: "hide-tight", size: 5, oninput: () => {
    shapes[at].tight = tight.value; } });
  const field = (/** @type {string} */ said, /** @type {any} */ input) =>
    el("span", { class: "fields" }, el("label", { for: input.id }, said), input);
  const calledField = field(words.hideCalled, called);
  const zoneFields = el("span", { class: "fields" }, field(words.hideGrade, grade),
    field(words.hideTight, tight));
  const without = button(words.hideWithout, () => {
    changes();
    shapes.splice(at, 1); at = 0; corner = null; draw(); });
  const scaleNow = button(words.hideScale, () => { changes(); scaling = true; scale.length = 0; draw();
    svg.focus(); });
  const scaleFields = el("p", { class: "fields", hidden: true }, scaleNow,
    field(words.hideApart, apart));
  const told = el("p", { "aria-live": "polite" });

  /** What was drawn before each change, to be undone; and what was undone.
   * @type {string[]} */
  const before = [];
  /** @type {string[]} */
  const after = [];
  const now = () => JSON.stringify({ shapes, scale, at, scaling });
  const changes = () => { before.push(now()); after.length = 0; };
  /** @param {string[]} from @param {string[]} to */
  const go = (from, to) => {
    const was = from.pop();
    if (was === undefined) { say(from === before ? words.undoNone : words.redoNone); return; }
    to.push(now());
    const told = JSON.parse(was);
    const said = (/** @type {any} */ one, /** @type {number} */ i) => (shapes[i]?.kind === one.kind
      ? { ...shapes[i], points: one.points } : one); // what it is called is no corner
    shapes.splice(0, shapes.length, ...told.shapes.map(said));
    scale.splice(0, scale.length, ...told.scale);
    at = told.at;
    scaling = told.scaling;
    corner = null;
    draw();
    say(from === before ? words.undone : words.redone);
  };

  const add = (/** @type {string} */ kind) => () => {
    changes();
    shapes.push(shapeOf(kind));
    at = shapes.length - 1;
    corner = null;
    scaling = false;
    draw();
    svg.focus();
  };

  const take = () => attempt(async () => {
    if (!file.files[0]) return;
    const held = await send(`/drop/hide?name=${encodeURIComponent(file.files[0].name)}`,
      file.files[0]);
    under = null;
    before.length = after.length = 0; // corners of another picture
    picture = { file: held.picture, wide: held.wide, high: held.high };
    for (const one of shapes) one.points = []; // what was drawn was of another size
    scale.length = 0;
    scaling = true;
    const { w, h } = seen.pixels;
    seen = new Seen([0, 0, held.wide, held.high]);
    if (w > 1) seen.resize(w, h);
    cross = [held.wide / 2, held.high / 2];
    draw();
  });

  const save = () => edit({ what: "hide", of: g.name, at: hide?.at ?? null, name: name.value,
    shapes: shapes.filter((one, i) => i === 0 || one.points.length),
    scale: picture ? { points: scale, length: apart.value } : null, picture: picture?.file ?? null,
  }).then((done) => { if (done) end(); });

  const root = el("section", { "aria-label": words.hideOf(g.name) },
    el("h2", {}, words.hideOf(g.name)),
    el("p", { class: "fields" }, field(words.hideName, name), field(words.hidePicture, file)),
    scaleFields,
    el("p", { class: "fields" }, field(words.hideShape, which), calledField, zoneFields, without,
      button(words.hideFlaw, add("flaw")), button(words.hideZone, add("zone")),
      button(words.hideUndo, () => go(before, after)), button(words.hideRedo, () => go(after, before))),
    el("p", { class: "fields" },
      button(words.closer, () => { seen.zoom(CLOSER); draw(); }),
      button(words.farther, () => { seen.zoom(1 / CLOSER); draw(); }),
      button(words.whole, () => { seen.showAll(); draw(); })),
    el("div", { class: "frame bare" }, svg), told,
    el("p", { class: "soft", id: "hide-how" }, words.hideHow),
    el("p", { class: "fields" }, button(words.hideSave, save), button(words.hideEnd, end)));

  // ---------------------------------------------------------------- drawn

  const points = () => (scaling ? scale : shapes[at].points);

  const draw = () => {
    svg.setAttribute("viewBox", seen.words);
    const r = HANDLE * seen.mm;
    const mine = points();
    fill(svg,
      under && svgShape("image", { href: `/making/picture?name=${encodeURIComponent(under.file)}`,
        x: under.box[0], y: under.box[1], width: under.box[2], height: under.box[3],
        preserveAspectRatio: "none" }),
      picture && svgShape("image", { href: `/making/picture?name=${encodeURIComponent(picture.file)}`,
        width: picture.wide, height: picture.high }),
      ...shapes.map((one, i) => svgShape("path", { class: `h-${one.kind}${i === at ? " now" : ""}`,
        d: one.points.length ? `M ${one.points.map((p) => p.join(" ")).join(" L ")} Z` : "" })),
      scale.length === 2 && svgShape("path", { class: "h-scale",
        d: `M ${scale[0].join(" ")} L ${scale[1].join(" ")}` }),
      ...mine.map(([x, y], i) => svgShape("circle", { class: i === corner ? "h-corner now" : "h-corner",
        "data-corner": i, cx: x, cy: y, r })),
      svgShape("path", { class: "h-cross",
        d: `M ${cross[0] - 2 * r} ${cross[1]} h ${4 * r} M ${cross[0]} ${cross[1] - 2 * r} v ${4 * r}` }));
    fill(which, ...shapes.map((one, i) => el("option", { value: i, selected: i === at },
      words.hideShapes[/** @type {"flaw"} */ (one.kind)](one.name, i))));
    const now = shapes[at];
    calledField.hidden = without.hidden = at === 0;
    zoneFields.hidden = now.kind !== "zone";
    if (called !== document.activeElement) called.value = now.name;
    grade.value = now.grade || "A";
    if (tight !== document.activeElement) tight.value = now.tight;
    scaleFields.hidden = !picture;
    told.textContent = scaling ? words.hideScaling(scale.length)
      : words.hideCorners(now.points.length, corner === null ? null : corner + 1);
  };

  new ResizeObserver(() => {
    const { clientWidth: w, clientHeight: h } = svg;
    if (!w || !h || (w === seen.pixels.w && h === seen.pixels.h)) return;
    seen.resize(w, h);
    draw();
  }).observe(svg);

  // ---------------------------------------------------------------- corners

  /** A corner more, behind the one in hand.
   * @param {number[]} place */
  const put = (place) => {
    changes();
    if (scaling) {
      scale.push(place);
      if (scale.length === 2) { scaling = false; apart.focus(); }
    } else {
      corner = corner === null ? shapes[at].points.length : corner + 1;
      shapes[at].points.splice(corner, 0, place);
    }
    cross = place;
    draw();
  };

  const out = () => {
    if (corner === null) return;
    changes();
    points().splice(corner, 1);
    corner = points().length ? Math.min(corner, points().length - 1) : null;
    draw();
  };

  /** @param {PointerEvent} e */
  const place = (e) => {
    const box = svg.getBoundingClientRect();
    return [seen.box.x + (e.clientX - box.left) * seen.mm,
      seen.box.y + (e.clientY - box.top) * seen.mm];
  };
  /** @type {number | null} */
  let dragged = null;
  svg.addEventListener("pointerdown", (/** @type {PointerEvent} */ e) => {
    if (e.button !== 0) return;
    const hit = /** @type {Element} */ (e.target).getAttribute("data-corner");
    svg.setPointerCapture(e.pointerId);
    if (hit === null) { put(place(e)); dragged = scaling ? null : corner; return; }
    changes();
    corner = dragged = Number(hit);
    draw();
  });
  svg.addEventListener("pointermove", (/** @type {PointerEvent} */ e) => {
    if (dragged === null || !points()[dragged]) return;
    points()[dragged] = cross = place(e);
    draw();
  });
  for (const event of ["pointerup", "pointercancel"]) {
    svg.addEventListener(event, () => { dragged = null; });
  }

  const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  /** @param {number} by */
  const next = (by) => {
    const n = points().length;
    if (!n) return;
    corner = corner === null ? (by > 0 ? 0 : n - 1) : (corner + by + n) % n;
    cross = points()[corner];
    draw();
  };
  /** @type {Record<string, () => void>} */
  const KEYS = { Enter: () => put([...cross]), Delete: out, Backspace: out, n: () => next(1),
    p: () => next(-1), Escape: () => { corner = null; draw(); },
    "+": () => { seen.zoom(CLOSER); draw(); }, "-": () => { seen.zoom(1 / CLOSER); draw(); },
    0: () => { seen.showAll(); draw(); } };
  svg.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
    if (e.altKey || e.ctrlKey || e.metaKey) return;
    const way = ARROWS[/** @type {"ArrowUp"} */ (e.key)];
    const act = KEYS[e.key.length === 1 ? e.key.toLowerCase() : e.key];
    if (!way && !act) return;
    e.preventDefault();
    if (act) { act(); return; }
    const far = (e.shiftKey ? 1 : STEP) * seen.mm;
    cross = [cross[0] + way[0] * far, cross[1] + way[1] * far];
    if (corner !== null) {
      changes();
      points()[corner] = [...cross];
    }
    draw();
  });
  root.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
    const key = e.key.toLowerCase();
    if (e.altKey || !(e.ctrlKey || e.metaKey) || !(key === "z" || key === "y")) return;
    if (drafted(e.target)) return;
    e.preventDefault(); // what is drawn here is not in the job yet: nothing of that is undone
    if (key === "z" && !e.shiftKey) go(before, after);
    else go(after, before);
  });

  draw();
  return root;
}
