/** One marker, large: looked at from near and far, its parts moved by hand. */

import { ask, Refused } from "./ask.js";
import { button, el, fill, refill, shape } from "./dom.js";
import { byPointer } from "./dragging.js";
import { drawnGround, drawnPart, drawnPicture, legible } from "./drawn.js";
import { Glide } from "./glide.js";
import { drawRuler } from "./rulers.js";
import { CLOSER, Seen } from "./view.js";
import { words } from "./words.js";

const NUDGE = 1; // mm
const FAR = 10; // mm with Shift
const STEP = 40; // pixels that arrows move the view

/** @typedef {{refresh: () => void, complain: (e: unknown) => void, say: (t: string) => void,
 *   changing: (act: () => Promise<any>) => Promise<any>, time: string}} Page */

/**
 * @param {any} first what the server says of the marker
 * @param {any} unit of the rulers
 * @param {Page} page
 */
export function openMarker(first, unit, page) {
  let m = first;
  let sheet = 0;
  /** @type {any} */
  let drawing = null;
  const seen = new Seen([0, -1, 1, 1]);
  /** @type {number | null} */
  let held = null;
  /** Parts in hand besides that one: all go as one.
   * @type {Set<number>} */
  const also = new Set();
  /** @type {Map<number, SVGElement>} */
  const parts = new Map();
  let busy = Promise.resolve();

  const base = shape("g");
  const picture = drawnPicture();
  const under = shape("g");
  const laid = shape("g");
  const over = shape("g", { class: "over" });
  const rings = shape("g", { class: "over" });
  const svg = shape("svg", {
    class: "marker", tabindex: "0", role: "application",
    "aria-label": words.marker(m.title), "aria-roledescription": words.markerRole,
    "aria-describedby": `how-${m.number}`,
  }, base, picture.root, under, laid, over, rings);
  const left = shape("svg", { class: "ruler left", "aria-hidden": "true" });
  const below = shape("svg", { class: "ruler below", "aria-hidden": "true" });
  const corner = el("span", { class: "unit", "aria-hidden": "true" }, unit.unit);
  /** Over it while something is dragged: then nothing else is drawn anew. */
  const lifted = shape("svg", { class: "marker lifted", "aria-hidden": "true" });
  const view = el("div", { class: "view" }, svg);
  const frame = el("div", { class: "frame" }, left, view, corner, below);

  const choose = el("select", { id: `hand-${m.number}`, onchange: () =>
    pick(choose.value === "" ? null : Number(choose.value), true) });
  const sheets = el("select", { id: `sheet-${m.number}`, onchange: () => {
    sheet = Number(sheets.value); pick(null); load(true); } });
  const sheetField = el("span", { class: "fields" },
    el("label", { for: sheets.id }, words.sheet), sheets);
  const pictured = el("input", { type: "checkbox", id: `pictured-${m.number}`, checked: true,
    onchange: () => svg.classList.toggle("pictured", pictured.checked) });
  const picturedField = el("span", { class: "fields", hidden: true }, pictured,
    el("label", { for: pictured.id }, words.pictured));
  const degrees = el("input", { type: "number", id: `turn-${m.number}`, value: "90", step: "any" });
  const letGo = el("select", { id: `go-${m.number}` },
    el("option", { value: "" }, words.letGoStay),
    ...Object.entries(words.letGoSlide).map(([way, said]) =>
      el("option", { value: way }, said)));
  const undo = button(words.undo, () => step("undo"));
  const redo = button(words.redo, () => step("redo"));
  const pin = button(words.hold, () => hold(!isHeld(held), held));
  const several = el("input", { type: "checkbox", id: `several-${m.number}` });
  const inHand = el("p", { class: "soft", hidden: true });
  const elsewhere = el("select", { id: `to-${m.number}`, onchange: () => toSheet() });
  const elsewhereField = el("span", { class: "fields", hidden: true },
    el("label", { for: elsewhere.id }, words.layOn), elsewhere);
  const onPart = el("div", { class: "fields", hidden: true },
    button(words.turn, () => change({ turn: "next" })),
    el("span", { class: "fields" },
      el("label", { for: degrees.id }, words.turnBy), degrees,
      button(words.turnDo, () => change({ turn: Number(degrees.value) || 0 }))),
    button(words.mirror, () => change({ flip: true })),
    pin, elsewhereField,
    el("span", { class: "fields", role: "group", "aria-label": words.slide }, words.slide,
      ...Object.entries(words.slideTo).map(([way, said]) =>
        button(said, () => slide(way), { "aria-label": `${words.slide} ${said}` }))));
  const verdict = el("div", { class: "verdict", "aria-live": "polite" });
  const found = el("div");
  const offer = el("div");
  const whole = el("p", { class: "fields" },
    button(words.holdAll, () => hold(true, null)),
    button(words.letAll, () => hold(false, null)),
    button(words.rest, () => doing(async () => {
      await ask("/hand/rest", asked({ time: time.value })); })),
    button(words.push, () => doing(async () => stepped(await ask("/hand/push", asked({}))))));
  const time = el("input", { id: `time-${m.number}`, size: 8, value: page.time });
  const more = el("p", { class: "fields" },
    button(words.goOnOne, () => doing(async () => {
      await ask("/search", { only: m.material, time: time.value });
      page.refresh();
    })),
    el("label", { for: time.id }, words.goOnFor), time);

  const root = el("div", {},
    el("p", { class: "fields" },
      button(words.closer, () => { seen.zoom(CLOSER); look(); }),
      button(words.farther, () => { seen.zoom(1 / CLOSER); look(); }),
      button(words.whole, () => { seen.showAll(); look(); }),
      sheetField, picturedField),
    frame,
    el("p", { class: "fields" },
      el("label", { for: choose.id }, words.inHand), choose,
      el("span", { class: "fields" }, several, el("label", { for: several.id }, words.several)),
      undo, redo,
      el("label", { for: letGo.id }, words.letGo), letGo),
    inHand, onPart, whole, more, verdict, offer, found,
    el("details", {}, el("summary", {}, words.keys),
      el("p", { id: `how-${m.number}` }, words.markerHow)));

  // ---------------------------------------------------------------- what is seen

  /** What has its size on the screen, however close one looks. */
  const sized = () => {
    const size = seen.mm;
    lifted.setAttribute("viewBox", svg.getAttribute("viewBox") ?? "");
    for (const ring of rings.children) ring.setAttribute("transform", `${
      ring.getAttribute("data-at")} scale(${size})`);
    legible(over, size);
  };
  const glide = new Glide(svg, seen, () => {
    const { box, pixels } = seen;
    lifted.style.transform = svg.style.transform;
    drawRuler(below, { from: box.x, size: box.w, pixels: pixels.w }, unit, false);
    drawRuler(left, { from: -box.y - box.h, size: box.h, pixels: pixels.h }, unit, true);
  }, sized);
  const look = () => glide.look();

  new ResizeObserver(() => {
    const { clientWidth: w, clientHeight: h } = svg;
    if (!w || !h || (w === seen.pixels.w && h === seen.pixels.h)) return;
    seen.resize(w, h);
    glide.settle();
  }).observe(svg);

  const load = async (anew = false) => {
    const path = `/marker?marker=${m.number}&sheet=${sheet}`;
    try {
      const first = !drawing;
      if (first) show(await ask(`${path}&names=no`), true); // at once; then with names
      show(await ask(path), anew && !first);
    } catch (error) { page.complain(error); }
  };

  /** @param {any} now what the server has drawn @param {boolean} anew from afar */
  const show = (now, anew) => {
    drawing = now;
    dragged.putDown();
    version(drawing.version);
    parts.clear();
    fill(laid);
    for (const part of drawing.parts) {
      const element = drawnPart(part);
      parts.set(part.part, element);
      laid.append(element);
    }
    ground(drawing);
    fill(choose, el("option", { value: "" }, words.none),
      ...drawing.parts.map((/** @type {any} */ p) =>
        el("option", { value: p.part }, p.held ? words.held(p.says) : p.says)));
    if (anew || seen.whole) seen.showAll();
    for (const one of also) if (!parts.has(one)) also.delete(one);
    if (held !== null && !parts.has(held)) held = null;
    show_(held);
    said();
    glide.settle();
  };

  /** @param {number} now */
  const version = (now) => {
    drawing.version = m.version = now;
    svg.setAttribute("data-version", String(now));
  };

  /** @param {any} g */
  const ground = (g) => {
    const drawnNow = drawnGround(g.ground);
    fill(base, ...drawnNow.base);
    fill(under, ...drawnNow.under);
    picturedField.hidden = !picture.show(g.shown);
    svg.classList.toggle("pictured", Boolean(g.shown) && pictured.checked);
    fill(over, ...drawnNow.over);
    seen.setAll(g.box);
  };

  /** Parts that are shown to have faults.
   * @type {Set<number>} */
  let faulty = new Set();
  /** @param {any[]} findings */
  const ringed = (findings) => {
    const at = findings.filter((f) => f.fault && f.at);
    fill(rings, ...at.map((f, i) => shape("g", {
      "data-at": `translate(${f.at[0]} ${f.at[1]})`, class: "ring",
    }, shape("circle", { r: 12 }), shape("text", { y: 5, "text-anchor": "middle" },
      String(i + 1)))));
    const now = new Set(findings.filter((f) => f.fault).flatMap((f) => f.parts));
    for (const number of faulty) if (!now.has(number)) parts.get(number)?.classList.remove("faulty");
    for (const number of now) {
      const one = parts.get(number);
      if (one && !one.classList.contains("faulty")) one.classList.add("faulty");
    }
    faulty = now;
    sized();
  };

  let listed = "";
  let offered = "";
  /** Say what the judge found of the whole marker. */
  const said = () => {
    const all = [...m.findings];
    ringed(all);
    let i = 0;
    // As long as they say the same they stay: whoever is about to press a button finds it there.
    const told = JSON.stringify([all, m.unplaced]);
    if (told !== listed) refill(found, (all.length > 0 || m.unplaced.length > 0) && el("section", {},
      el("h3", {}, words.findings),
      el("ol", { class: "findings" },
        ...all.map((/** @type {any} */ f) => {
          if (f.fault && f.at) i += 1;
          return el("li", { class: f.fault ? "bad-word" : "" },
            f.fault && f.at ? `${i}. ` : "", f.text);
        }),
        ...m.unplaced.map((/** @type {any} */ u) => el("li", { class: "bad-word" },
          `${u.name}: ${u.why} `, u.part !== null && button(words.layByHand, () => layDown(u.part),
            { "aria-label": words.layByHandOf(u.name) }))))));
    listed = told;
    const better = JSON.stringify([m.found, m.mine]);
    if (better !== offered) refill(offer, m.found && el("p", { class: "care" },
      words.offered(m.found, m.mine), " ", button(words.takeFound, () => step("found"))));
    offered = better;
    undo.setAttribute("aria-disabled", String(!m.steps[0]));
    redo.setAttribute("aria-disabled", String(!m.steps[1]));
    grounds();
  };

  /** The sheets that there are, to look at and to lay parts on. */
  const grounds = () => {
    sheetField.hidden = m.grounds < 2;
    const numbers = Array.from({ length: m.grounds }, (_, n) => n);
    if (sheets.childElementCount !== m.grounds) {
      fill(sheets, ...numbers.map((n) =>
        el("option", { value: n }, words.sheetOf(n + 1, m.grounds))));
    }
    sheets.value = String(sheet);
    const others = numbers.filter((n) => n !== sheet);
    elsewhereField.hidden = !others.length && !m.fresh.length;
    fill(elsewhere, el("option", { value: "" }, words.layOnThis),
      ...others.map((n) => el("option", { value: `sheet ${n}` }, words.sheetOf(n + 1, m.grounds))),
      ...m.fresh.map((/** @type {any} */ f) =>
        el("option", { value: `kind ${f.kind}` }, words.layOnFresh(f.name))));
  };

  // ---------------------------------------------------------------- by hand

  /** Take a part in hand, or with those that are: then it goes again if it is there already.
   * @param {number | null} part */
  const pick = (part, heard = false, more = several.checked) => {
    if (part === null || !more) also.clear();
    else if (group().includes(part) && group().length > 1) {
      also.delete(part);
      const [next = null] = part === held ? also : [held];
      if (next !== null) also.delete(next);
      part = next;
    } else if (held !== null && held !== part) also.add(held);
    if (held !== part || more) fill(verdict);
    show_(part);
    if (heard && part !== null) page.say(also.size ? names() : words.picked(name(part)));
  };

  const group = () => (held === null ? [] : [held, ...also]);
  const names = () => words.pickedAll(group().map(name));

  /** @param {number | null} part */
  const show_ = (part) => {
    for (const element of parts.values()) element.classList.remove("held");
    held = part;
    also.delete(part ?? -1);
    choose.value = part === null ? "" : String(part);
    onPart.hidden = part === null;
    inHand.hidden = !also.size;
    if (part === null) { also.clear(); return; }
    inHand.textContent = names();
    pin.textContent = isHeld(part) ? words.letPart : words.hold;
    for (const one of [...also, part]) {
      const element = parts.get(one);
      element?.classList.add("held");
      if (element) laid.append(element); // above the others
    }
  };

  const name = (/** @type {number} */ part) =>
    drawing.parts.find((/** @type {any} */ p) => p.part === part)?.says ?? "";

  /** One thing after the other, each on what the one before has made. What waits for its turn is
   * on its way as well: until it is on disk the page doesn't say so. */
  const doing = (/** @type {() => Promise<void>} */ act) => {
    const before = busy;
    busy = page.changing(async () => { await before; await act(); }).catch((error) => {
      page.complain(error);
      if (error instanceof Refused && error.status !== 0) { page.refresh(); return load(); }
      return undefined;
    });
    return busy;
  };

  /** @param {any[]} findings @param {number} part */
  const judged = (findings, part) => {
    const bad = findings.filter((f) => f.fault);
    fill(verdict, ...(bad.length
      ? [el("ul", { class: "findings" }, ...bad.map((f) => el("li", { class: "bad-word" }, f.text)))]
      : [el("p", { class: "good" }, words.faultless(also.size ? words.theseParts : name(part)))]));
    ringed(findings);
  };

  /** @param {any} told @param {number} part */
  const after = (told, part) => {
    version(told.version);
    m.steps = told.steps;
    const element = drawnPart(told.part);
    parts.get(part)?.replaceWith(element);
    parts.set(part, element);
    const { texts } = drawing.ground; // zones keep their names
    ground({ ...told.ground, ground: { ...told.ground.ground, texts } });
    show_(held);
    undo.setAttribute("aria-disabled", String(!m.steps[0]));
    redo.setAttribute("aria-disabled", String(!m.steps[1]));
    judged(told.findings, part);
  };

  const asked = (/** @type {any} */ body) =>
    ({ marker: m.number, version: drawing.version, ...body });

  /** @param {any} how */
  const change = (how) => {
    const part = held;
    if (part === null) return Promise.resolve();
    if (also.size) {
      if (how.turn === "next") how = { turn: 180 };
      return doing(async () => allAfter(
        await ask("/hand/together", asked({ part, also: [...also], ...how })), part));
    }
    return doing(async () => after(await ask("/hand/move", asked({ part, ...how })), part));
  };

  /** Draw anew what was done with several parts, or on other sheets.
   * @param {any} told @param {number} part */
  const allAfter = async (told, part) => {
    const other = told.sheet !== sheet;
    sheet = told.sheet;
    m.grounds = told.grounds;
    held = part;
    await stepped(told, other);
    judged(told.findings, part);
    page.refresh();
  };

  const toSheet = () => {
    const [what, which] = elsewhere.value.split(" ");
    const part = held;
    if (!what || part === null) return Promise.resolve();
    const to = what === "kind" ? { kind: Number(which) } : { to: Number(which) };
    return doing(async () => allAfter(
      await ask("/hand/sheet", asked({ part, also: [...also], ...to })), part));
  };

  /** @param {number} part that does not lie yet */
  const layDown = (part) => doing(async () => {
    also.clear();
    await allAfter(await ask("/hand/lay", asked({ part, sheet })), part);
    page.say(words.picked(name(part)));
    svg.focus();
  });

  const isHeld = (/** @type {number | null} */ part) =>
    drawing.parts.find((/** @type {any} */ p) => p.part === part)?.held ?? false;

  /** Hold a part, or all, or let go.
   * @param {boolean} whether @param {number | null} part */
  const hold = (whether, part) => doing(async () =>
    stepped(await ask("/hand/hold", asked({ part, also: part === null ? [] : [...also],
      hold: whether }))));

  /** @param {any} told */
  const stepped = async (told, anew = false) => {
    m.version = told.version;
    m.steps = told.steps;
    await load(anew);
  };

  /** @param {string} way */
  const slide = (way) => {
    const part = held;
    if (part === null) return Promise.resolve();
    if (also.size) {
      return doing(async () => allAfter(
        await ask("/hand/slide", asked({ part, also: [...also], way })), part));
    }
    return doing(async () => after(await ask("/hand/slide", asked({ part, way })), part));
  };

  /** @param {string} which */
  const step = (which) => doing(async () => {
    if ((which === "undo" && !m.steps[0]) || (which === "redo" && !m.steps[1])) return;
    const told = await ask("/hand/step", asked({ step: which }));
    page.say(which === "undo" ? words.undone : which === "redo" ? words.redone : words.done);
    await stepped(told);
  });

  const dragged = byPointer({ svg, view, laid, rings, lifted, parts, seen, look }, {
    pick, group, judged, change, asked, several: () => several.checked, slides: () => letGo.value,
    complain: page.complain,
  });

  // ---------------------------------------------------------------- keys

  const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  const following = (/** @type {number} */ by) => {
    const order = drawing.parts.map((/** @type {any} */ p) => p.part);
    if (!order.length) return;
    const at = held === null ? (by > 0 ? -1 : 0) : order.indexOf(held);
    pick(order[(at + by + order.length) % order.length], true);
  };
  /** @type {Record<string, () => unknown>} */
  const KEYS = {
    n: () => following(1), p: () => following(-1),
    t: () => change({ turn: "next" }), m: () => change({ flip: true }),
    h: () => held !== null && hold(!isHeld(held), held),
    s: () => { several.checked = !several.checked;
      page.say(several.checked ? words.severalOn : words.severalOff); },
    z: () => step("undo"), y: () => step("redo"),
    "+": () => { seen.zoom(CLOSER); look(); }, "=": () => { seen.zoom(CLOSER); look(); },
    "-": () => { seen.zoom(1 / CLOSER); look(); }, 0: () => { seen.showAll(); look(); },
    Escape: () => pick(null),
  };
  svg.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
    if (e.altKey) return;
    const to = ARROWS[/** @type {keyof typeof ARROWS} */ (e.key)];
    if (to && !e.ctrlKey && !e.metaKey) {
      e.preventDefault();
      const far = e.shiftKey ? FAR : NUDGE;
      if (held !== null) change({ along: to[0] * far, across: to[1] * far });
      else { seen.pan(-to[0] * STEP, to[1] * STEP); look(); }
      return;
    }
    let key = e.key.length === 1 ? e.key.toLowerCase() : e.key;
    if (e.ctrlKey || e.metaKey) {
      if (key !== "z" && key !== "y") return;
      if (key === "z" && e.shiftKey) key = "y";
    }
    const act = KEYS[key];
    if (!act) return;
    e.preventDefault();
    act();
  });

  busy = busy.then(() => load(true));

  return {
    root,
    /** @param {any} now @param {any} state @param {Set<string>} news */
    update(now, state, news) {
      const other = drawing && now.version !== drawing.version;
      if (dragged.busy()) return;
      m = now;
      more.hidden = state.searching;
      whole.hidden = state.searching;
      if (other) busy = busy.then(() => load());
      else if (drawing && state.saved) said();
    },
  };
}
