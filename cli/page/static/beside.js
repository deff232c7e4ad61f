/** Two markers of the same parts side by side, at one scale. */

import { button, el, fill, shape } from "./dom.js";
import { drawn, drawnGround, drawnPicture } from "./drawn.js";
import { newest } from "./telling.js";
import { words } from "./words.js";

/** @param {any} m what the server says of the marker */
export function besides(m) {
  /** Made once they are looked at.
   * @type {ReturnType<typeof side>[]} */
  let sides = [];
  const hint = el("p", { class: "soft" });
  const pair = el("div", { class: "pair" });
  const root = el("details", { class: "besides", ontoggle: () => root.open && load() },
    el("summary", {}, words.besides), hint,
    pair);
  const asked = newest();
  let version = -1;
  let found = "";

  const load = async () => {
    const told = await asked(`/beside?marker=${m.number}`);
    if (!told) return;
    if (!sides.length) {
      sides = [side(m, "left", 0), side(m, "right", 1)];
      for (const one of sides) one.whenDrawn(fit);
      fill(pair, ...sides.map((one) => one.root));
    }
    hint.textContent = told.markers.length > 1 ? words.besidesHint : words.besidesOne;
    await Promise.all(sides.map((one) => one.offer(told.markers)));
    fit();
  };

  /** Draw both at one scale. */
  const fit = () => {
    const boxes = sides.map((one) => one.box()).filter(Boolean);
    if (!boxes.length) return;
    const w = Math.max(...boxes.map((b) => b[2]));
    const h = Math.max(...boxes.map((b) => b[3]));
    for (const one of sides) one.fit(w, h);
  };
  return {
    root,
    /** @param {any} now @param {any} state @param {Set<string>} news */
    update(now, state, news) {
      const other = now.version !== version || now.found !== found || news.has("compared");
      version = now.version;
      found = now.found;
      if (root.open && other) load();
    },
  };
}

/** @param {any} m @param {string} name @param {number} nth of the choices at first */
function side(m, name, nth) {
  const which = el("select", { id: `beside-${name}-${m.number}`,
    onchange: () => { mine = true; sheet = 0; draw().then(() => drawnNow()); } });
  const next = button(words.nextSheet, () => { sheet += 1; draw().then(() => drawnNow()); },
    { hidden: true });
  const svg = shape("svg", { class: "marker beside" }); // with a role once it shows something
  const says = el("p", { class: "says" });
  const root = el("div", {},
    el("p", { class: "fields" }, el("label", { for: which.id }, words.besideSide[
      /** @type {"left"} */ (name)]), which, next), svg, says);
  const picture = drawnPicture();
  const asked = newest();
  let sheet = 0;
  let mine = false; // she chose it
  /** @type {any[]} */
  let markers = [];
  /** @type {any} */
  let drawing = null;
  /** @type {() => void} */
  let drawnNow = () => undefined;

  const draw = async () => {
    const one = markers.find((c) => c.key === which.value);
    if (!one) return;
    next.hidden = one.grounds < 2;
    sheet %= one.grounds;
    const now = await asked(
      `/beside/marker?marker=${m.number}&which=${which.value}&sheet=${sheet}`);
    if (!now) return;
    drawing = now;
    const ground = drawnGround(drawing.ground);
    svg.classList.toggle("pictured", picture.show(drawing.shown));
    fill(svg, ...ground.base, picture.root, ...ground.under, ...drawing.parts.map((/** @type {any} */ p) =>
      shape("g", { class: "part" }, ...drawn(p, p.colour))), ...ground.over);
    const judged = drawing.good ? words.good : [
      drawing.unplaced > 0 && words.left(drawing.unplaced),
      drawing.faults > 0 && words.faults(drawing.faults)].filter(Boolean).join(", ");
    fill(says, `${drawing.figures.join(" · ")} · `,
      el("span", { class: drawing.good ? "good" : "bad-word" }, judged));
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", `${title(one)}: ${says.textContent}`);
  };

  /** @param {any} one */
  const title = (one) => words.besideWhat[/** @type {"trial"} */ (one.what)](one.wide);

  return {
    root,
    /** @param {any[]} told */
    offer(told) {
      const before = which.value;
      markers = told;
      fill(which, ...told.map((one) => el("option", { value: one.key }, title(one))));
      which.value = mine && told.some((one) => one.key === before) ? before
        : told[Math.min(nth, told.length - 1)].key;
      return draw();
    },
    box: () => drawing?.box,
    /** @param {number} w @param {number} h */
    fit(w, h) {
      if (!drawing) return;
      const [x, y, , high] = drawing.box;
      const pad = 0.01 * Math.max(w, h);
      svg.setAttribute("viewBox",
        `${x - pad} ${y + high - h - pad} ${w + 2 * pad} ${h + 2 * pad}`);
    },
    /** @param {() => void} act */
    whenDrawn(act) { drawnNow = act; },
  };
}
