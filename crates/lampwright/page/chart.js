// A small chart: values over drive current, one line for each variant, limits as ruled lines.

import { make, number, ticks } from "./words.js";

const DASHES = ["", "9 5", "2 5", "12 4 2 4"];
const COLOURS = ["var(--accent)", "var(--second)", "var(--ink)", "var(--faint)"];

function marker(kind, x, y, colour) {
  if (kind === 0) return make("circle", { cx: x, cy: y, r: 4.5, fill: colour });
  if (kind === 1) return make("rect", { x: x - 4.5, y: y - 4.5, width: 9, height: 9, fill: "var(--paper)", stroke: colour, "stroke-width": 2 });
  return make("path", { d: `M${x} ${y - 6}L${x + 6} ${y + 5}L${x - 6} ${y + 5}Z`, fill: colour });
}

// series: [{name, points: [[x, y]]}]; limits: [{name, value}]; uprights: [{name, value}]
export function chart(place, { title, unit, series, limits = [], uprights = [], digits = 0 }) {
  const width = 560, height = 380, left = 62, right = 16, top = 40, bottom = 56;
  const points = series.flatMap((one) => one.points);
  if (!points.length) { place.replaceChildren(); return; }
  const values = [...points.map((p) => p[1]), ...limits.map((limit) => limit.value)];
  const currents = [...points.map((p) => p[0]), ...uprights.map((u) => u.value)];
  const reach = Math.max(...currents) * 1.06;
  let [low, high] = [Math.min(...values), Math.max(...values)];
  low = Math.min(low, low > 0 && low < 0.5 * high ? 0 : low);
  const room = 0.06 * (high - low || 1);
  high += room;
  if (low !== 0) low -= room;
  const x = (value) => left + (value / reach) * (width - left - right);
  const y = (value) => height - bottom - ((value - low) / (high - low)) * (height - top - bottom);
  const svg = make("svg", { viewBox: `0 0 ${width} ${height}`, width: "100%", role: "img", "aria-label": `${title}, ${unit}, against drive current in A per string` });
  svg.append(make("text", { x: 0, y: 20, "font-size": 17 }, `${title}, ${unit}`));
  for (const tick of ticks(low, high, 6)) {
    svg.append(make("line", { x1: left, x2: width - right, y1: y(tick), y2: y(tick), stroke: "var(--rule)", "stroke-width": 1 }));
    svg.append(make("text", { class: "quiet", x: left - 8, y: y(tick) + 5, "text-anchor": "end", "font-size": 14 }, number(tick, tick % 1 ? 1 : 0)));
  }
  for (const tick of ticks(0, reach, 6)) {
    svg.append(make("line", { x1: x(tick), x2: x(tick), y1: height - bottom, y2: height - bottom + 6, stroke: "var(--faint)" }));
    svg.append(make("text", { class: "quiet", x: x(tick), y: height - bottom + 23, "text-anchor": "middle", "font-size": 14 }, String(tick)));
  }
  svg.append(make("line", { x1: left, x2: width - right, y1: height - bottom, y2: height - bottom, stroke: "var(--ink)", "stroke-width": 1.5 }));
  svg.append(make("text", { x: width - right, y: height - 12, "text-anchor": "end", "font-size": 15 }, "drive current, A per string"));
  for (const limit of limits) {
    svg.append(make("line", { x1: left, x2: width - right, y1: y(limit.value), y2: y(limit.value), stroke: "var(--ink)", "stroke-width": 2.5 }));
    svg.append(make("text", { x: left + 8, y: y(limit.value) - 7, "font-size": 14 }, limit.name));
  }
  for (const upright of uprights) {
    svg.append(make("line", { x1: x(upright.value), x2: x(upright.value), y1: top, y2: height - bottom, stroke: "var(--ink)", "stroke-width": 1.2, "stroke-dasharray": "3 4" }));
    svg.append(make("text", { class: "quiet", x: x(upright.value) - 5, y: top + 12, "text-anchor": "end", "font-size": 13 }, upright.name));
  }
  series.forEach((one, index) => {
    const colour = COLOURS[index % COLOURS.length];
    const line = one.points.map(([a, b]) => `${x(a).toFixed(1)},${y(b).toFixed(1)}`).join(" ");
    svg.append(make("polyline", { points: line, fill: "none", stroke: colour, "stroke-width": 2.5, "stroke-dasharray": DASHES[index % DASHES.length] }));
    for (const [a, b] of one.points) {
      const dot = marker(index % 3, x(a), y(b), colour);
      dot.append(make("title", {}, `${one.name}: ${number(b, digits || 1)} ${unit} at ${a} A`));
      svg.append(dot);
    }
  });
  // A key in the upper left, where the curves are low.
  series.forEach((one, index) => {
    const colour = COLOURS[index % COLOURS.length];
    const row = top + 16 + 21 * index + (limits.length ? 18 : 0);
    svg.append(make("line", { x1: left + 10, x2: left + 46, y1: row, y2: row, stroke: colour, "stroke-width": 2.5, "stroke-dasharray": DASHES[index % DASHES.length] }));
    svg.append(marker(index % 3, left + 28, row, colour));
    svg.append(make("text", { x: left + 54, y: row + 5, "font-size": 14 }, one.name));
  });
  place.replaceChildren(svg);
}
