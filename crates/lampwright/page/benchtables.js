// The tables of the bench test, and in words how each number was got.

import { fillTable, make, number, three } from "./words.js";

// Half an interval is never shown smaller than its last digit.
export function doubt(value, digits) {
  if (value === null || value === undefined) return "-";
  const unit = 10 ** -digits;
  return number(Math.max(unit, Math.ceil(value / unit - 1e-9) * unit), digits);
}

export function riseDoubt(one) {
  return one.rise_k === null ? null : Math.max(one.rise_k - one.rise_low_k, one.rise_high_k - one.rise_k);
}

function held(one) {
  if (one.rise_k === null) return "no value";
  return one.settled ? "settled" : one.minutes_more === null ? "not settled" : `needs ${number(Math.max(1, one.minutes_more), 0)} min more`;
}

export function plateauTable(table, plateaus) {
  fillTable(table, "What each current that was held settled to; \u00b1 is half a 95 % interval", [
    { head: "run", word: true, cell: (p) => p.run },
    { head: "variant", word: true, cell: (p) => p.variant ?? "-" },
    { head: "sensor", word: true, cell: (p) => p.sensor },
    { head: "current, A", cell: (p) => number(p.drive_current_a, 3) },
    { head: "from, min", cell: (p) => number(p.from_s / 60, 1) },
    { head: "to, min", cell: (p) => number(p.to_s / 60, 1) },
    { head: "room, degC", cell: (p) => number(p.ambient_c) },
    { head: "settles to, degC", cell: (p) => number(p.settled_sensor_c) },
    { head: "above room, K", cell: (p) => number(p.rise_k, 2) },
    { head: "\u00b1 K", cell: (p) => doubt(riseDoubt(p), 2) },
    { head: "held", word: true, cell: held },
    { head: "heat, W", cell: (p) => number(p.heat_w, 2) },
    { head: "\u00b1 W", cell: (p) => doubt(p.heat_doubt_w, 2) },
    { head: "sensor to room, K/W", cell: (p) => number(p.resistance_k_per_w, 3) },
    { head: "\u00b1 K/W", cell: (p) => doubt(p.resistance_doubt_k_per_w, 3) },
    { head: "what went wrong", word: true, cell: (p) => [...new Set(p.anomalies.map((a) => a.kind))].join(", ") || "nothing" },
  ], plateaus, (p) => (p.above_board_limit ? "over" : ""));
}

export function comparisonTable(table, pair, byHeat) {
  const rows = byHeat ? pair.at_equal_heat : pair.at_equal_current;
  fillTable(table, `${pair.first} and ${pair.second} at equal ${byHeat ? "heat" : "current"}, by ${pair.sensor}; \u00b1 is half a 95 % interval`, [
    { head: byHeat ? `current of ${pair.first}, A` : "current, A", cell: (d) => number(d.drive_current_a, 3) },
    ...(byHeat ? [{ head: "heat, W", cell: (d) => number(d.heat_w, 2) }] : []),
    { head: `${pair.first} above room, K`, cell: (d) => number(d.first_rise_k, 2) },
    { head: `${pair.second} above room, K`, cell: (d) => number(d.second_rise_k, 2) },
    { head: "difference, K", cell: (d) => number(d.difference_k, 2) },
    { head: "\u00b1 K", cell: (d) => doubt(d.difference_doubt_k, 2) },
    { head: "sure", word: true, cell: (d) => (Math.abs(d.difference_k) > d.difference_doubt_k ? "yes" : "no") },
  ], rows);
}

// How a plateau's numbers were got.
function how(one) {
  const minutes = (s) => number(s / 60, 1);
  const where = `${one.run}, ${one.sensor}${one.drive_current_a === null ? "" : `, ${number(one.drive_current_a, 3)} A`}: `;
  const constants = one.time_constants_s.map((s) => `${three(s)} s`).join(" and ");
  const fit = one.rise_k === null ? "no value could be told" : `the rise is what the readings from ${minutes(one.used_from_s)} to ${minutes(one.used_to_s)} min settle to${constants ? `, by an approach with the time constant${one.time_constants_s.length > 1 ? "s" : ""} ${constants}` : ", which show no approach any more"}; readings lie ${three(one.noise_k)} K about it; ${number(Math.abs(one.remaining_k), 2)} K of the approach was left at the end`;
  const heat = one.heat_from ? `; the heat is electrical power by the ${one.heat_from} less the sheet's light` : "";
  return `${where}${fit}${heat}.${one.remarks.map((text) => ` ${text[0].toUpperCase()}${text.slice(1)}.`).join("")}`;
}

export function howItWasGot(place, bench) {
  const item = (text) => make("li", {}, text);
  const logs = bench.runs.flatMap((run) => run.logs.flatMap((log) => log.detections.map((d) => `${log.file}: ${d.what} ${d.found} (${d.evidence})`)));
  const part = (title, all) => (all.length ? [make("p", {}, title), make("ul", { class: "remarks" }, ...all.map(item))] : []);
  place.replaceChildren(
    ...part("Plateaus", bench.plateaus.map(how)),
    ...part("Comparison", bench.comparisons.flatMap((pair) => pair.sentences.map((text) => `${text}.`))),
    ...part("Sensors with the lamp off", bench.lamp_off.map((off) => `${off.text}.`)),
    ...part("Besides", bench.findings_remarks.map((text) => `${text}.`)),
    ...part("How the logs were read", logs),
  );
}
