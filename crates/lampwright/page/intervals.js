// Values with their 95 % intervals over drive current or heat; drawn at its real width, so that its words keep their size.

import { make, number, plain, ticks } from "./words.js";

export const COLOURS = ["var(--accent)", "var(--second)", "var(--ink)", "var(--faint)"];
const DASHES = ["", "9 5", "2 5", "12 4 2 4"];
const ROW = 20;

// The mark of a series: filled, or hollow.
export function marker(kind, x, y, colour, hollow) {
  const fill = hollow ? "var(--paper)" : colour;
  if (kind === 0) return make("circle", { cx: x, cy: y, r: 5, fill, stroke: colour, "stroke-width": 2 });
  if (kind === 1) return make("rect", { x: x - 5, y: y - 5, width: 10, height: 10, fill, stroke: colour, "stroke-width": 2 });
  return make("path", { d: `M${x} ${y - 6}L${x + 6} ${y + 5}L${x - 6} ${y + 5}Z`, fill, stroke: colour, "stroke-width": 2 });
}

// series: [{name, points: [{x, y, low, high, unclear}]}]; `across` names the horizontal axis with its unit; upright: {x, name}.
export function intervals(place, { title, unit, across, series, upright, says }) {
  const points = series.flatMap((one) => one.points);
  place.parentElement.hidden = !points.length;
  if (!points.length) { place.replaceChildren(); return; }
  const named = series.length > 1;
  const width = Math.max(260, place.clientWidth);
  const left = 48, right = 14, top = 34 + (named ? ROW * series.length : 6), bottom = 50;
  const height = top + bottom + Math.min(300, Math.max(190, 0.5 * width));
  const reach = Math.max(...points.map((p) => p.x)) * 1.06;
  let [low, high] = [Math.min(0, ...points.map((p) => p.low)), Math.max(0, ...points.map((p) => p.high))];
  const room = 0.08 * (high - low || 1);
  if (high > 0) high += room;
  if (low < 0) low -= room;
  const x = (value) => left + (value / reach) * (width - left - right);
  const y = (value) => height - bottom - ((value - low) / (high - low)) * (height - top - bottom);
  const svg = make("svg", { viewBox: `0 0 ${width} ${height}`, width, height, role: "img", "aria-label": `${title} in ${unit} against ${across}, with 95 % intervals; the numbers stand in the table below` });
  svg.append(make("text", { x: 0, y: 16, "font-size": 16 }, `${title}, ${unit}`));
  for (const tick of ticks(low, high, 6)) {
    svg.append(make("line", { x1: left, x2: width - right, y1: y(tick), y2: y(tick), stroke: tick === 0 ? "var(--ink)" : "var(--rule)", "stroke-width": tick === 0 ? 2 : 1 }));
    svg.append(make("text", { class: "quiet", x: left - 8, y: y(tick) + 5, "text-anchor": "end", "font-size": 14 }, number(tick, tick % 1 ? 1 : 0)));
  }
  for (const tick of ticks(0, reach, width < 340 ? 4 : 6)) {
    svg.append(make("line", { x1: x(tick), x2: x(tick), y1: height - bottom, y2: height - bottom + 6, stroke: "var(--faint)" }));
    svg.append(make("text", { class: "quiet", x: x(tick), y: height - bottom + 22, "text-anchor": "middle", "font-size": 14 }, String(tick)));
  }
  svg.append(make("line", { x1: left, x2: width - right, y1: height - bottom, y2: height - bottom, stroke: "var(--ink)", "stroke-width": 1.5 }));
  svg.append(make("text", { x: width - right, y: height - 8, "text-anchor": "end", "font-size": 14 }, across));
  if (upright) {
    svg.append(make("line", { x1: x(upright.x), x2: x(upright.x), y1: top, y2: height - bottom, stroke: "var(--ink)", "stroke-width": 1.2, "stroke-dasharray": "3 4" }));
    const toLeft = x(upright.x) > width / 2;
    svg.append(make("text", { class: "quiet haloed", x: x(upright.x) + (toLeft ? -7 : 7), y: height - bottom - 10, "text-anchor": toLeft ? "end" : "start", "font-size": 13 }, upright.name));
  }
  series.forEach((one, index) => {
    const colour = COLOURS[index % COLOURS.length];
    const line = one.points.map((p) => `${x(p.x).toFixed(1)},${y(p.y).toFixed(1)}`).join(" ");
    svg.append(make("polyline", { points: line, fill: "none", stroke: colour, "stroke-width": 1.5, "stroke-dasharray": DASHES[index % DASHES.length] }));
    for (const p of one.points) {
      const upper = y(p.high), lower = y(p.low), at = x(p.x);
      svg.append(make("path", { d: `M${at} ${upper}V${lower}M${at - 6} ${upper}h12M${at - 6} ${lower}h12`, fill: "none", stroke: colour, "stroke-width": 2 }));
      const dot = marker(index % 3, at, y(p.y), colour, p.unclear);
      dot.append(make("title", {}, `${one.name}: ${says(p)} at ${plain(p.x)}`));
      svg.append(dot);
    }
    if (!named) return;
    const row = 32 + ROW * index;
    svg.append(make("line", { x1: 2, x2: 38, y1: row, y2: row, stroke: colour, "stroke-width": 1.5, "stroke-dasharray": DASHES[index % DASHES.length] }));
    svg.append(marker(index % 3, 20, row, colour));
    svg.append(make("text", { x: 46, y: row + 5, "font-size": 14 }, one.name));
  });
  place.replaceChildren(svg);
}
