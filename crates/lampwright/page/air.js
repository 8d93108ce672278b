// The air side: the fan's and the system's curve with the operating point, in a sentence, a picture and tables; what changes would do.

import { WhatIf, kelvins } from "./what_if.js";
import { fillTable, make, number, plain, three, ticks } from "./words.js";

const ROW = 20;

// What the air side does, in a sentence.
export function airAnswer(air) {
  const ways = [`${number(air.fins_k)}\u00a0K over fins and film`];
  if (air.air_out_c !== null) ways.push(`${number(air.warming_k)}\u00a0K because the air warms, to ${number(air.air_out_c)}\u00a0degC where it leaves`);
  if (air.housing_k > 0.05) ways.push(`${number(air.housing_k)}\u00a0K because the air in the housing is warm${air.walls_w === null ? "" : ` (${three(air.vents_w)}\u00a0W leave by its vents with ${three(air.draught_l_per_s)}\u00a0l/s of draught, ${three(air.walls_w)}\u00a0W by its walls)`}`);
  const fan = air.fan && (air.fan.stands
    ? `The fan stands at ${air.fan.voltage_v}\u00a0V; the heatsink cools by itself. `
    : `At ${air.fan.voltage_v}\u00a0V the fan moves ${three(air.fan.flow_l_per_s)}\u00a0l/s against ${three(air.fan.pressure_pa)}\u00a0Pa${air.fan.speed_m_per_s === null ? "" : `, ${three(air.fan.speed_m_per_s)}\u00a0m/s between the fins`}. `);
  return `${fan ?? ""}From the heatsink's back (${number(air.back_c)}\u00a0degC) to the room it is ${three(air.k_per_w)}\u00a0K/W: ${ways.join(", ")}.`;
}

// Points of a curve below a pressure, the last one cut off at it.
function below(points, most) {
  const kept = [];
  for (const [index, [q, p]] of points.entries()) {
    if (p <= most) { kept.push([q, p]); continue; }
    const before = points[index - 1];
    if (before && before[1] < most) kept.push([before[0] + ((q - before[0]) * (most - before[1])) / (p - before[1]), most]);
    break;
  }
  return kept;
}

// Fan and system curves; nothing without a fan that turns.
export function airDiagram(place, fan) {
  if (!fan || fan.stands) { place.replaceChildren(); return; }
  const width = Math.min(620, Math.max(260, place.clientWidth));
  const left = 48, right = 14, top = 62, bottom = 50, height = top + bottom + 220;
  const reach = 1.04 * Math.max(...fan.curve.map((p) => p[0]));
  const most = 1.12 * Math.max(fan.pressure_pa, ...fan.curve.map((p) => p[1]));
  const x = (flow) => left + (flow / reach) * (width - left - right);
  const y = (pressure) => height - bottom - (pressure / most) * (height - top - bottom);
  const said = `Operating point: ${three(fan.flow_l_per_s)} l/s at ${three(fan.pressure_pa)} Pa`;
  const svg = make("svg", { viewBox: `0 0 ${width} ${height}`, width, height, role: "img", "aria-label": `Pressure in Pa against flow in l/s: the fan's curve falls, the system's rises. ${said}` });
  svg.append(make("text", { x: 0, y: 16, "font-size": 16 }, "Pressure, Pa"));
  for (const tick of ticks(0, most, 5)) {
    svg.append(make("line", { x1: left, x2: width - right, y1: y(tick), y2: y(tick), stroke: "var(--rule)", "stroke-width": 1 }));
    svg.append(make("text", { class: "quiet", x: left - 8, y: y(tick) + 5, "text-anchor": "end", "font-size": 14 }, String(tick)));
  }
  for (const tick of ticks(0, reach, 6)) {
    svg.append(make("line", { x1: x(tick), x2: x(tick), y1: height - bottom, y2: height - bottom + 6, stroke: "var(--faint)" }));
    svg.append(make("text", { class: "quiet", x: x(tick), y: height - bottom + 22, "text-anchor": "middle", "font-size": 14 }, String(tick)));
  }
  svg.append(make("line", { x1: left, x2: width - right, y1: height - bottom, y2: height - bottom, stroke: "var(--ink)", "stroke-width": 1.5 }));
  svg.append(make("text", { x: width - right, y: height - 8, "text-anchor": "end", "font-size": 14 }, "flow, l/s"));
  const curves = [["fan at its voltage", fan.curve, "var(--accent)", ""], ["what fins and vents ask for", fan.system, "var(--second)", "9 5"]];
  curves.forEach(([name, points, colour, dash], index) => {
    const line = below(points, most).map(([q, p]) => `${x(q).toFixed(1)},${y(Math.max(p, 0)).toFixed(1)}`).join(" ");
    svg.append(make("polyline", { points: line, fill: "none", stroke: colour, "stroke-width": 2.5, "stroke-dasharray": dash }));
    const row = 32 + ROW * index;
    svg.append(make("line", { x1: 2, x2: 38, y1: row, y2: row, stroke: colour, "stroke-width": 2.5, "stroke-dasharray": dash }));
    svg.append(make("text", { x: 46, y: row + 5, "font-size": 14 }, name));
  });
  const [px, py] = [x(fan.flow_l_per_s), y(fan.pressure_pa)];
  for (const line of [{ x2: px, y2: height - bottom }, { x2: left, y2: py }]) {
    svg.append(make("line", { x1: px, y1: py, ...line, stroke: "var(--ink)", "stroke-width": 1, "stroke-dasharray": "3 4" }));
  }
  const dot = make("circle", { cx: px, cy: py, r: 6, fill: "var(--paper)", stroke: "var(--ink)", "stroke-width": 2.5 });
  dot.append(make("title", {}, said));
  svg.append(dot);
  // Beside the point, on the side with more room: to the right well below the falling curve, to the left between both.
  const start = px < 0.55 * width;
  svg.append(make("text", { class: "haloed", x: px + (start ? 12 : -14), y: start ? height - bottom - 10 : py + 5, "text-anchor": start ? "start" : "end", "font-size": 15 }, `${three(fan.flow_l_per_s)} l/s, ${three(fan.pressure_pa)} Pa`));
  place.replaceChildren(svg);
}

// What changes of the cooling would do, in a sentence.
export function coolingWords(answer) {
  const { what_ifs: all, current_a: current } = answer;
  if (!all.length) return ["There is nothing to change: no fan that turns, no vents and no other way round, or no steady state as asked."];
  const at = current > 0 ? `At ${plain(current)}\u00a0A, with` : "With";
  const away = all.find((one) => !one.steady);
  if (away) return [make("strong", {}, `${at} ${away.what} the lamp runs away.`)];
  const worst = all.reduce((a, b) => (b.hotter_k > a.hotter_k ? b : a));
  if (worst.hotter_k < 0.05) return ["None of these changes makes it hotter."];
  const hottest = worst.hottest_junction_c;
  return [`${at} ${worst.what} the hottest ${hottest === null ? "place of the board" : "junction"} is `, make("strong", {}, `${kelvins(worst.hotter_k)}\u00a0K hotter`), `${hottest === null ? "" : `, at ${number(hottest)}\u00a0degC`}${all.length > 1 ? "; no other of these changes costs as much" : ""}.`];
}

// asked(): the question that stands.
export function coolingCosts(work, asked) {
  return new WhatIf({
    work, question: asked, name: "cooling", route: "/api/air", doing: "Changing the cooling", words: coolingWords,
    title: "What if the cooling were another, solved in full",
    columns: [
      { head: "what if", word: true, cell: (w) => w.what },
      { head: "hotter by, K", cell: (w) => (w.steady ? kelvins(w.hotter_k) : "runs away") },
      { head: "hottest junction, degC", cell: (w) => number(w.hottest_junction_c) },
      { head: "back to room, K/W", cell: (w) => three(w.k_per_w) },
      { head: "flow, l/s", cell: (w) => three(w.flow_l_per_s) },
    ],
  });
}

// Where every watt leaves: a row for each way, its parts set in under it, and the sum.
export function waysOutTable(table, run) {
  const sum = { way: "all", heat_w: run.ways_out_w, all: true };
  fillTable(table, "Where every watt leaves", [
    { head: "by", word: true, cell: (w) => (w.part_of ? `of it ${w.way}` : w.way) },
    { head: "leaves, W", cell: (w) => three(w.heat_w) },
    { head: "convection, W", cell: (w) => (w.all ? "" : three(w.convection_w)) },
    { head: "radiation, W", cell: (w) => (w.all ? "" : three(w.radiation_w)) },
  ], [...run.ways_out, sum], (w) => (w.all ? "sum" : w.part_of ? "part" : ""));
}

// Surfaces that can burn, in sentences.
export function touchWords(run) {
  return run.touch.filter((one) => one.burns_within !== null).map((one) =>
    `Touch: ${one.surface} reaches ${number(one.hottest_c, 0)}\u00a0degC; as ${one.material} it can burn skin within ${one.burns_within} (${one.source}).`);
}
