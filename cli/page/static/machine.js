/** Files for a cutting machine or plotter of the shop, described by a file of hers. */

import { button, el, fill, refill } from "./dom.js";
import { drop } from "./pattern.js";
import { got } from "./telling.js";
import { words } from "./words.js";

/** What was chosen, kept while one looks at other views. */
const chosen = { machine: "", forms: /** @type {Record<string, string[]>} */ ({}),
  not: /** @type {Set<string>} */ (new Set()), read: false, common: false };

/** @param {(event: Event, path: string, body: any) => Promise<any>} make
 * @param {() => void} refresh */
export function forMachine(make, refresh) {
  const place = el("div");
  const notes = el("div", { "aria-live": "polite" });
  const field = el("input", { type: "file", id: "machine-file", accept: ".toml",
    onchange: () => drop([...field.files], refresh).then(() => { field.value = ""; }) });
  const root = el("section", { "aria-label": words.machine },
    el("h2", {}, words.machine), place,
    el("p", { class: "fields" }, el("label", { for: field.id }, words.machineFile), field),
    notes);
  /** @type {any[]} */
  let machines = [];
  /** @type {string[]} */
  let materials = [];

  const show = () => {
    const usable = machines.filter((m) => !m.trouble);
    const m = usable.find((one) => one.key === chosen.machine) ?? usable[0];
    if (!m) return;
    chosen.machine = m.key;
    const forms = chosen.forms[m.key] ??= m.reads.slice(0, 1);
    const choice = el("select", { id: "machine", onchange: () => {
      chosen.machine = choice.value; fill(notes); show(); } },
    ...usable.map((one) => el("option", { value: one.key, selected: one === m },
      one.invented ? words.machineInvented(one.name) : one.name)));
    refill(place,
      ...machines.filter((one) => one.trouble).map((one) => el("p", { class: "bad" }, one.trouble)),
      el("p", { class: "fields" }, el("label", { for: "machine" }, words.machineWhich), choice,
        el("span", { class: "soft" }, words.machineKind(m.kind, m.file))),
      m.invented && el("p", { class: "care" }, words.machineTry),
      several(words.machineForms, m.reads.map((/** @type {string} */ form) => box(
        `form-${form}`, words.forms[/** @type {"svg"} */ (form)] ?? form, forms.includes(form),
        (on) => { chosen.forms[m.key] = m.reads.filter((/** @type {string} */ f) =>
          (f === form ? on : chosen.forms[m.key].includes(f))); }))),
      several(words.machineWhat, materials.map((name, i) => box(
        `from-${i}`, name, !chosen.not.has(name),
        (on) => { if (on) chosen.not.delete(name); else chosen.not.add(name); }))),
      m.laser && el("p", { class: "fields" }, ...box("sds", words.machineRead, chosen.read,
        (on) => { chosen.read = on; })),
      el("p", { class: "fields" }, ...box("common", words.machineCommon, chosen.common,
        (on) => { chosen.common = on; })),
      el("p", {}, button(words.machineWrite, async (event) => {
        fill(notes);
        const told = await make(event, "/files/machine", { machine: m.key,
          forms: chosen.forms[m.key], read: chosen.read && m.laser, common: chosen.common,
          materials: materials.filter((name) => !chosen.not.has(name)) });
        if (told) fill(notes, told.findings.length > 0 && el("section", {},
          el("h3", {}, words.machineNotes), el("ul", {},
            ...told.findings.map((/** @type {string} */ f) => el("li", {}, `${f}.`)))));
      }, { id: "machine-write" })));
  };

  return {
    root,
    /** @param {any} state */
    async update(state) {
      const told = await got("/machines");
      if (!told) return;
      machines = told.machines;
      materials = [...new Set(state.markers.map((/** @type {any} */ m) => m.material))];
      show();
    },
  };
}

/** @param {string} about @param {any[][]} boxes */
const several = (about, boxes) => el("fieldset", { class: "fields" },
  el("legend", {}, about), ...boxes.map((one) => el("span", { class: "fields" }, ...one)));

/** @param {string} id @param {string} said @param {boolean} on @param {(on: boolean) => void} act */
const box = (id, said, on, act) => {
  const field = el("input", { type: "checkbox", id, checked: on, onchange: () => act(field.checked) });
  return [field, el("label", { for: id }, said)];
};
