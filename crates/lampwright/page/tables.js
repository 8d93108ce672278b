// The tables behind the pictures.

import { fillTable, number, three } from "./words.js";

// A margin, said in words where it is none.
function margin(value, unit, digits) {
  return value < 0 ? `over by ${number(-value, digits)} ${unit}` : `${number(value, digits)} ${unit}`;
}

export function emitterTable(table, run) {
  fillTable(table, `Emitters at ${three(run.current_a)} A drive current`, [
    { head: "emitter", word: true, cell: (e) => e.ref },
    { head: "junction, degC", cell: (e) => number(e.junction_c) },
    { head: "solder point, degC", cell: (e) => number(e.solder_c) },
    { head: "junction margin", cell: (e) => margin(e.junction_margin_k, "K", 1) },
    { head: "voltage, V", cell: (e) => number(e.forward_v, 3) },
    { head: "heat, W", cell: (e) => number(e.heat_w, 2) },
    { head: "light, lm", cell: (e) => number(e.flux_lm, 0) },
  ], run.emitters, (e) => (e.junction_margin_k < 0 ? "over" : ""));
}

export function limitTable(table, run) {
  const digits = (limit) => ({ A: 3, V: 2 }[limit.unit] ?? 1);
  fillTable(table, "Limits, the nearest of each unit first", [
    { head: "limit", word: true, cell: (l) => l.what },
    { head: "found", cell: (l) => `${number(l.found, digits(l))} ${l.unit}` },
    { head: "allowed", cell: (l) => `${number(l.limit, digits(l))} ${l.unit}` },
    { head: "margin", cell: (l) => margin(l.margin, l.unit === "degC" ? "K" : l.unit, digits(l)) },
  ], run.limits, (l) => (l.margin < 0 ? "over" : ""));
}

export function runTable(table, runs) {
  const over = (run) => run.limits.some((limit) => limit.margin < 0);
  const emitters = runs.some((run) => run.emitters.length);
  fillTable(table, emitters ? "Each variant at each drive current" : "Each variant", [
    { head: "variant", word: true, cell: (run) => run.variant },
    ...(emitters ? [{ head: "current, A", cell: (run) => three(run.current_a) }] : []),
    { head: "heat, W", cell: (run) => three(run.heat_w) },
    ...(emitters ? [
      { head: "light, lm", cell: (run) => number(run.light_lm, 0) },
      { head: "junction, degC", cell: (run) => (run.state === "runaway" ? "runs away" : number(run.hottest_junction_c)) },
      { head: "solder point, degC", cell: (run) => number(run.hottest_solder_c) },
    ] : []),
    { head: "board, degC", cell: (run) => number(run.hottest_board_c) },
    ...(runs.find((run) => run.sensors.length)?.sensors ?? []).map((sensor, i, all) => ({ head: `${all.length > 1 ? sensor.name : "sensor"}, degC`, cell: (run) => number(run.sensors[i]?.reading_c) })),
    { head: "limits", word: true, cell: (run) => (run.state === "runaway" ? "no steady state" : over(run) ? "over" : "kept") },
  ], runs, (run) => (over(run) || run.state === "runaway" ? "over" : ""));
}

export function layerTable(table, layers) {
  fillTable(table, "Layers from the emitter side down", [
    { head: "layer", word: true, cell: (l) => l.name },
    { head: "thickness, um", cell: (l) => number(l.thickness_um, 0) },
    { head: "area, mm\u00b2", cell: (l) => number(l.area_mm2, 0) },
    { head: "substance", word: true, cell: (l) => l.material },
    { head: "in plane, W/m/K", cell: (l) => three(l.kx_w_per_m_k) },
    { head: "through, W/m/K", cell: (l) => three(l.kz_w_per_m_k) },
    { head: "source", wide: true, cell: (l) => l.source },
  ], layers);
}

export function fileTable(table, artwork) {
  const files = [
    ...(artwork?.layers ?? []).map((l) => [l.file, l.role, `${number(l.area_mm2, 1)} mm\u00b2 in ${l.pieces} ${l.pieces === 1 ? "piece" : "pieces"}`, l.role_source]),
    ...(artwork?.drills ?? []).map((d) => [d.file, "drill", d.tools.map((t) => `${number(t.diameter_mm, 2)} mm: ${t.hits} holes${t.slots ? `, ${t.slots} slots` : ""}`).join("; "), `digits ${d.digits}`]),
  ];
  table.parentElement.hidden = !files.length;
  fillTable(table, "Fabrication files", [
    { head: "file", word: true, cell: (f) => f[0] }, { head: "role", word: true, cell: (f) => f[1] },
    { head: "what is in it", word: true, cell: (f) => f[2] }, { head: "how known", word: true, cell: (f) => f[3] },
  ], files);
}
