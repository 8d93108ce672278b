// A small chart: values over drive current, one line for each variant, limits as ruled lines. Drawn at its real width, so
// that its words keep their size.

import { make, number, plain, ticks } from "./words.js";

const DASHES = ["", "9 5", "2 5", "12 4 2 4"];
const COLOURS = ["var(--accent)", "var(--second)", "var(--ink)", "var(--faint)"];
const ROW = 20;

function marker(kind, x, y, colour) {
  if (kind === 0) return make("circle", { cx: x, cy: y, r: 4.5, fill: colour });
  if (kind === 1) return make("rect", { x: x - 4.5, y: y - 4.5, width: 9, height: 9, fill: "var(--paper)", stroke: colour, "stroke-width": 2 });
  return make("path", { d: `M${x} ${y - 6}L${x + 6} ${y + 5}L${x - 6} ${y + 5}Z`, fill: colour });
}

// On which side of a limit's line, and at which end, its name lies farthest from the curves.
function freest(series, limit, x, y, left, right) {
  const half = 4 * limit.name.length;
  const curve = series.flatMap((one) => one.points.flatMap(([a, b], index) => {
    const [c, d] = one.points[index + 1] ?? [a, b];
    return Array.from({ length: 12 }, (_, i) => [x(a + ((c - a) * i) / 12), y(b + ((d - b) * i) / 12)]);
  }));
  const places = [[true, false], [false, false], [true, true], [false, true]].map(([start, above]) => {
    const [px, py] = [start ? left + 8 + half : right - 8 - half, y(limit.value) + (above ? -13 : 12)];
    return { start, above, room: Math.min(40, ...curve.map(([a, b]) => Math.hypot(Math.max(0, Math.abs(a - px) - half), b - py))) };
  });
  return places.reduce((a, b) => (b.room > a.room + 1 ? b : a));
}

// series: [{name, points: [[x, y]]}]; limits: [{name, value}]; uprights: [{name, value}]; fromZero: the axis begins at 0.
export function chart(place, { title, unit, series, limits = [], uprights = [], fromZero = false }) {
  const points = series.flatMap((one) => one.points);
  place.parentElement.hidden = !points.length;
  if (!points.length) { place.replaceChildren(); return; }
  const width = Math.max(260, place.clientWidth);
  const left = 48, right = 12, top = 34 + ROW * series.length, bottom = 50;
  const height = top + bottom + Math.min(280, Math.max(180, 0.5 * width));
  const values = [...points.map((p) => p[1]), ...limits.map((limit) => limit.value)];
  const currents = [...points.map((p) => p[0]), ...uprights.map((u) => u.value)];
  const reach = Math.max(...currents) * 1.06;
  let [low, high] = [Math.min(...values), Math.max(...values)];
  if (fromZero || (low > 0 && low < 0.5 * high)) low = 0;
  const room = 0.08 * (high - low || 1);
  high += room;
  if (low !== 0) low -= room;
  const x = (value) => left + (value / reach) * (width - left - right);
  const y = (value) => height - bottom - ((value - low) / (high - low)) * (height - top - bottom);
  const svg = make("svg", { viewBox: `0 0 ${width} ${height}`, width, height, role: "img", "aria-label": `${title} in ${unit} against drive current in A; the numbers stand in the table below` });
  svg.append(make("text", { x: 0, y: 16, "font-size": 16 }, `${title}, ${unit}`));
  for (const tick of ticks(low, high, 5)) {
    svg.append(make("line", { x1: left, x2: width - right, y1: y(tick), y2: y(tick), stroke: "var(--rule)", "stroke-width": 1 }));
    svg.append(make("text", { class: "quiet", x: left - 8, y: y(tick) + 5, "text-anchor": "end", "font-size": 14 }, number(tick, tick % 1 ? 1 : 0)));
  }
  for (const tick of ticks(0, reach, width < 340 ? 4 : 6)) {
    svg.append(make("line", { x1: x(tick), x2: x(tick), y1: height - bottom, y2: height - bottom + 6, stroke: "var(--faint)" }));
    svg.append(make("text", { class: "quiet", x: x(tick), y: height - bottom + 22, "text-anchor": "middle", "font-size": 14 }, String(tick)));
  }
  svg.append(make("line", { x1: left, x2: width - right, y1: height - bottom, y2: height - bottom, stroke: "var(--ink)", "stroke-width": 1.5 }));
  svg.append(make("text", { x: width - right, y: height - 8, "text-anchor": "end", "font-size": 14 }, "drive current, A"));
  for (const limit of limits) {
    svg.append(make("line", { x1: left, x2: width - right, y1: y(limit.value), y2: y(limit.value), stroke: "var(--ink)", "stroke-width": 2.5 }));
    const { start, above } = freest(series, limit, x, y, left, width - right);
    svg.append(make("text", {
      class: "haloed", x: start ? left + 8 : width - right - 8, "text-anchor": start ? "start" : "end",
      y: y(limit.value) + (above ? -8 : 17), "font-size": 14,
    }, limit.name));
  }
  for (const upright of uprights) {
    svg.append(make("line", { x1: x(upright.value), x2: x(upright.value), y1: top, y2: height - bottom, stroke: "var(--ink)", "stroke-width": 1.2, "stroke-dasharray": "3 4" }));
    svg.append(make("text", { class: "quiet haloed", x: x(upright.value) - 6, y: height - bottom - 8, "text-anchor": "end", "font-size": 13 }, `asked: ${upright.name}`));
  }
  series.forEach((one, index) => {
    const colour = COLOURS[index % COLOURS.length];
    const line = one.points.map(([a, b]) => `${x(a).toFixed(1)},${y(b).toFixed(1)}`).join(" ");
    svg.append(make("polyline", { points: line, fill: "none", stroke: colour, "stroke-width": 2.5, "stroke-dasharray": DASHES[index % DASHES.length] }));
    for (const [a, b] of one.points) {
      const dot = marker(index % 3, x(a), y(b), colour);
      dot.append(make("title", {}, `${one.name}: ${number(b)} ${unit} at ${plain(a)} A`));
      svg.append(dot);
    }
    // The key stands between title and curves.
    const row = 32 + ROW * index;
    svg.append(make("line", { x1: 2, x2: 38, y1: row, y2: row, stroke: colour, "stroke-width": 2.5, "stroke-dasharray": DASHES[index % DASHES.length] }));
    svg.append(marker(index % 3, 20, row, colour));
    svg.append(make("text", { x: 46, y: row + 5, "font-size": 14 }, one.name));
  });
  place.replaceChildren(svg);
}
