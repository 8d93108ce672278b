// The controls: what lamp.toml gives, what was typed, and what is wrong with it.

import { make } from "./words.js";

export const FIELDS = ["variant", "current", "ambient", "bond", "contact", "heatsink", "fan", "vents", "facing"];
// What lamp.toml gives for each variant, so that a change of one is none of another.
export const OF_VARIANT = ["bond", "heatsink", "fan", "vents"];
const TYPED = FIELDS.slice(1);
const by = (id) => document.getElementById(id);

export const same = (a, b) => FIELDS.every((name) => a[name] === b[name]);

// What lamp.toml says for a variant, as it would be typed; empty where it is given in another way.
export function asGiven(lamp, name) {
  const variant = lamp.variants.find((one) => one.variant === name);
  return {
    variant: name,
    current: `${lamp.nominal_current_a} A`,
    ambient: `${lamp.ambient_c} degC`,
    bond: variant.bond_thickness_um === null ? "" : `${Number(variant.bond_thickness_um.toPrecision(6))} um`,
    contact: "as built",
    heatsink: variant.heatsink_k_per_w === null ? "" : `${variant.heatsink_k_per_w} K/W`,
    fan: variant.fan_voltage_v === null ? "" : `${variant.fan_voltage_v} V`,
    vents: variant.has_vents ? "100 %" : "",
    facing: lamp.facing,
  };
}

// What is typed; an emptied control means what lamp.toml says.
export function typed(lamp) {
  const given = asGiven(lamp, by("variant").value);
  return Object.fromEntries(FIELDS.map((name) => [name, by(name).value.trim() || given[name]]));
}

// What stands below a control: lamp.toml's value, or why it cannot be changed here.
function note(name, given, variant) {
  if (name === "bond" && given.bond === "") {
    return `lamp.toml: ${Number(variant.bond_resistance_m2k_per_w.toPrecision(6)).toExponential()} m2K/W. Give thickness and conductivity there to change the thickness here.`;
  }
  if (name === "heatsink" && variant.heatsink_air) return `lamp.toml: ${variant.heatsink_air}. A K/W typed here stands instead.`;
  if (name === "heatsink" && given.heatsink === "") return `lamp.toml: ${variant.heatsink_h_w_per_m2_k} W/m2/K over the base. A K/W typed here stands instead.`;
  if (name === "vents") return "Of the free area in lamp.toml; less when dust lies on them.";
  return `lamp.toml: ${given[name]}`;
}

// What the contact between board and heatsink may be: as lamp.toml says, better, or missing under an emitter.
function contacts(variant) {
  const better = [[variant.has_burrs, "without burrs"], [variant.has_bow, "without bow"], [variant.has_burrs && variant.has_bow, "flat"]];
  const worse = variant.drawing.emitters.map((emitter) => `no contact under ${emitter.ref}`);
  return ["as built", ...better.filter(([there]) => there).map(([, words]) => words), ...worse];
}

export function fill(lamp, asked, history) {
  const given = asGiven(lamp, asked.variant);
  const variant = lamp.variants.find((one) => one.variant === asked.variant);
  by("contact").replaceChildren(...contacts(variant).map((words) => make("option", { value: words }, words)));
  const there = { current: variant.drawing.emitters.length > 0, ambient: true, bond: variant.has_bond, contact: variant.has_bond && contacts(variant).length > 1, heatsink: variant.has_heatsink, fan: given.fan !== "", vents: given.vents !== "", facing: true };
  by("variant").value = asked.variant;
  for (const name of TYPED) {
    const control = by(name);
    control.value = asked[name];
    control.classList.toggle("changed", asked[name] !== given[name]);
    control.disabled = name === "bond" && given.bond === "";
    control.closest(".control").hidden = !there[name];
    if (there[name]) by(`${name}-says`).textContent = note(name, given, variant);
  }
  by("undo").disabled = !history.past.length;
  by("redo").disabled = !history.future.length;
  right();
}

// Nothing is wrong, as far as is known.
export function right() {
  by("field-trouble").textContent = "";
  for (const name of FIELDS) by(name).removeAttribute("aria-invalid");
}

// Says what is wrong; what was typed stays. `go`: the reader asked with the button and is led to the control.
export function wrong(trouble, go) {
  const control = trouble.field && by(trouble.field);
  const name = control?.closest(".control")?.querySelector("label")?.textContent;
  by("field-trouble").replaceChildren(...(name ? [make("strong", {}, `${name}: `)] : []), trouble.message);
  if (!control) return;
  control.setAttribute("aria-invalid", "true");
  if (go) control.focus();
}
