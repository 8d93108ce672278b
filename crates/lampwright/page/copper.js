// What the current costs in the copper: the answer, the tables, and the range of the pictures' colours.

import { fillTable, make, number, plain, small, three } from "./words.js";

// The views of a copper layer: what is drawn, and in which unit.
export const COPPER_VIEWS = {
  density: { name: "Current density in the copper", says: "current density in its copper", unit: "A/mm\u00b2", key: "density_a_per_mm2" },
  loss: { name: "Loss in the copper", says: "loss in its copper", unit: "W/cm\u00b2", key: "loss_w_per_cm2" },
};

// Parts of the lamp's power below which copper's loss does not matter, and above which it does (common practice, no source).
const LITTLE = 0.01, MUCH = 0.03;

const percent = (part) => `${plain(100 * part)}\u00a0%`;
const place = ([x, y]) => `x\u00a0${number(x)}, y\u00a0${number(y)}\u00a0mm`;
// A value of the trace-width rule, in brackets where the rule is not stated.
const ruled = (text, inRange) => (inRange ? text : `(${text})`);

// The necks with their numbers, the densest first.
export function numbered(copper) {
  return copper.necks.map((neck, index) => ({ ...neck, number: index + 1 }));
}

export function copperAnswer(copper) {
  const necks = numbered(copper);
  const words = ["Copper loses ", make("strong", {}, `${small(copper.loss_w)}\u00a0W`), `, ${percent(copper.part_of_electrical)} of the lamp's electrical power`];
  const little = copper.part_of_electrical < LITTLE ? " That is little: wider copper would hardly change the temperatures." : copper.part_of_electrical > MUCH ? " That is worth wider or thicker copper." : "";
  if (!necks.length) return [...words, `; no narrow place was found in it.${little}`];
  const narrow = necks.reduce((a, b) => (b.width_mm < a.width_mm ? b : a));
  const rise = narrow.rise_k === null ? "" : ` and is ${number(narrow.rise_k, 0)}\u00a0K above the room`;
  words.push(`; the narrowest neck that carries current, number ${narrow.number}, is ${number(narrow.width_mm, 2)}\u00a0mm wide at ${place(narrow.at_mm)}, carries ${three(narrow.current_a)}\u00a0A${rise}.`);
  if (narrow.number !== 1) words.push(` The densest, number 1, carries ${three(necks[0].density_a_per_mm2)}\u00a0A/mm\u00b2.`);
  const saves = necks.reduce((sum, neck) => sum + neck.widening_saves_w, 0);
  words.push(` Filling the free space beside all of them would save about ${small(saves)}\u00a0W.${little}`);
  return words;
}

export function hottestWords(copper) {
  const hot = copper.hottest;
  const warm = Math.max(...copper.supplies.map((supply) => supply.lead_c ?? -Infinity));
  const lead = copper.leads_w > 0 ? ` The leads, beside the board, lose ${small(copper.leads_w)}\u00a0W more and are ${number(warm)}\u00a0degC warm at most, each on its own in still air.` : "";
  return `${hot ? `The hottest copper that carries current, ${number(hot.temperature_c)}\u00a0degC, is in ${hot.layer} at ${place(hot.at_mm)}.` : ""}${lead}`;
}

// `choose` is told the number of the neck that was picked.
export function neckTable(table, copper, chosen, choose) {
  const button = (neck) => {
    const one = make("button", { type: "button", class: "mark", "aria-pressed": String(neck.number === chosen), "aria-label": `Neck ${neck.number}: show it on the board` }, String(neck.number));
    one.addEventListener("click", () => choose(neck.number));
    return one;
  };
  fillTable(table, "Necks that carry current, the densest first", [
    { head: "neck", word: true, cell: button },
    { head: "layer", word: true, cell: (n) => n.layer },
    { head: "width, mm", cell: (n) => number(n.width_mm, 2) },
    { head: "at x, y, mm", cell: (n) => `${number(n.at_mm[0])}, ${number(n.at_mm[1])}` },
    { head: "current, A", cell: (n) => three(n.current_a) },
    { head: "density, A/mm\u00b2", cell: (n) => three(n.density_a_per_mm2) },
    { head: "rise above room, K", cell: (n) => number(n.rise_k) },
    { head: "rule: rise, K", cell: (n) => ruled(small(n.ipc_2221_rise_k), n.ipc_2221_in_range) },
    { head: "rule: width, mm", cell: (n) => ruled(number(n.ipc_2221_width_mm, 2), n.ipc_2221_width_in_range) },
    { head: "free beside, mm", cell: (n) => number(n.free_width_mm, 2) },
    { head: "widened saves, W", cell: (n) => small(n.widening_saves_w) },
  ], numbered(copper), (n) => (n.number === chosen ? "chosen" : ""));
}

export function ruleWords(copper) {
  return `Rise is that of the copper above the room, heated by emitters and current together. Rule is ${copper.ipc_2221_is}: the rise of such a trace above the board around it, and the width it asks for 20\u00a0K; in brackets where it is not stated. It knows nothing of this board: on a metal core or a heatsink copper runs far cooler than the rule says. Free beside is the space on both sides together up to other copper and the board's edge, less 0.3\u00a0mm; what filling it saves is an estimate.`;
}

export function stringTable(table, copper) {
  fillTable(table, "Strings", [
    { head: "string", word: true, cell: (s) => s.name },
    { head: "current, A", cell: (s) => three(s.current_a) },
    { head: "drop in copper, V", cell: (s) => number(s.copper_drop_v, 4) },
    { head: "loss in copper, W", cell: (s) => small(s.copper_loss_w) },
    { head: "of the lamp", cell: (s) => (s.copper_part_of_electrical === null ? "-" : percent(s.copper_part_of_electrical)) },
    { head: "drop in leads, V", cell: (s) => number(s.lead_drop_v, 4) },
    { head: "driver settled, V", cell: (s) => number(s.driver_v, 2) },
    { head: "driver cold, V", cell: (s) => number(s.driver_cold_v, 2) },
  ], copper.strings);
}

export function islandTable(table, copper) {
  fillTable(table, "Pieces of copper that carry current, the largest loss first", [
    { head: "net", word: true, cell: (i) => i.net },
    { head: "layer", word: true, cell: (i) => i.layer },
    { head: "area, mm\u00b2", cell: (i) => number(i.area_mm2, 0) },
    { head: "current, A", cell: (i) => three(i.current_a) },
    { head: "loss, W", cell: (i) => small(i.loss_w) },
    { head: "of the lamp", cell: (i) => percent(i.part_of_electrical) },
    { head: "most at x, y, mm", cell: (i) => (i.hottest_at_mm ? `${number(i.hottest_at_mm[0])}, ${number(i.hottest_at_mm[1])}` : "-") },
    { head: "there, W/cm\u00b2", cell: (i) => small(i.hottest_w_per_cm2) },
  ], copper.islands);
}

// A round value of at least this.
function roundUp(value) {
  const power = 10 ** Math.floor(Math.log10(value));
  return [1, 1.5, 2, 3, 4, 5, 6, 8, 10].map((m) => m * power).find((round) => round >= value * 0.999);
}

// From nothing to a quarter more than the densest neck has on the mean, the same for all layers: at inner corners ever more is
// found the finer one looks, and colours that went so far would show nothing else. `largest`: of the picture.
export function copperRange(view, copper, largest) {
  const first = copper.necks[0];
  const mean = !first ? 0 : view === "density" ? first.density_a_per_mm2 : (100 * first.loss_w) / (first.width_mm * first.length_mm);
  const high = mean > 0 ? 1.25 * mean : largest;
  return [0, high > 0 ? roundUp(high) : 1];
}
