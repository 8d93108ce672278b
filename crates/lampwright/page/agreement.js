// Predicted against measured: each plateau's rise as the model has it, over what was measured; on the diagonal they agree.

import { COLOURS, marker } from "./intervals.js";
import { make, number, plain, ticks } from "./words.js";

const ROW = 20;

// plateaus: those of a fit. Hollow marks: by lamp.toml alone; filled ones: with the fitted values.
export function agreement(place, plateaus) {
  if (!plateaus.length) { place.replaceChildren(); return; }
  const variants = [...new Set(plateaus.map((p) => p.variant))];
  const width = Math.min(560, Math.max(260, place.clientWidth || 560));
  const left = 48, right = 14, top = 34 + ROW * (variants.length + 1), bottom = 50;
  const height = top + bottom + Math.round(0.72 * (width - left - right));
  const most = 1.06 * Math.max(...plateaus.flatMap((p) => [p.measured_k, p.predicted_k, p.unfitted_k]));
  const x = (k) => left + (k / most) * (width - left - right);
  const y = (k) => height - bottom - (k / most) * (height - top - bottom);
  const svg = make("svg", { viewBox: `0 0 ${width} ${height}`, width, height, role: "img", "aria-label": "Rise of the sensor above the room as predicted, in K, against the measured one, in K; the numbers stand in the table below" });
  const put = (name, attributes, ...children) => svg.append(make(name, attributes, ...children));
  put("text", { x: 0, y: 16, "font-size": 16 }, "Predicted rise, K");
  for (const tick of ticks(0, most, 5)) {
    put("line", { x1: left, x2: width - right, y1: y(tick), y2: y(tick), stroke: "var(--rule)" });
    put("text", { class: "quiet", x: left - 8, y: y(tick) + 5, "text-anchor": "end", "font-size": 14 }, plain(tick));
    put("line", { x1: x(tick), x2: x(tick), y1: height - bottom, y2: height - bottom + 6, stroke: "var(--faint)" });
    put("text", { class: "quiet", x: x(tick), y: height - bottom + 22, "text-anchor": "middle", "font-size": 14 }, plain(tick));
  }
  put("line", { x1: left, x2: width - right, y1: height - bottom, y2: height - bottom, stroke: "var(--ink)", "stroke-width": 1.5 });
  put("text", { x: width - right, y: height - 8, "text-anchor": "end", "font-size": 14 }, "measured rise, K");
  put("line", { x1: x(0), y1: y(0), x2: x(most), y2: y(most), stroke: "var(--ink)", "stroke-width": 1.2, "stroke-dasharray": "3 4" });
  variants.forEach((variant, index) => {
    const colour = COLOURS[index % COLOURS.length];
    const row = 32 + ROW * index;
    svg.append(marker(index % 3, 10, row, colour, true), marker(index % 3, 30, row, colour, false));
    put("text", { x: 46, y: row + 5, "font-size": 14 }, `${variant}: by lamp.toml alone, and fitted`);
    for (const plateau of plateaus.filter((p) => p.variant === variant)) {
      for (const [key, hollow] of [["unfitted_k", true], ["predicted_k", false]]) {
        const dot = marker(index % 3, x(plateau.measured_k), y(plateau[key]), colour, hollow);
        const by = hollow ? "by lamp.toml alone" : "fitted";
        dot.append(make("title", {}, `${variant} at ${number(plateau.drive_current_a, 3)} A: measured ${number(plateau.measured_k, 2)} K, ${by} ${number(plateau[key], 2)} K`));
        svg.append(dot);
      }
    }
  });
  const row = 32 + ROW * variants.length;
  put("line", { x1: 2, x2: 38, y1: row, y2: row, stroke: "var(--ink)", "stroke-width": 1.2, "stroke-dasharray": "3 4" });
  put("text", { x: 46, y: row + 5, "font-size": 14 }, "as measured");
  place.replaceChildren(svg);
}
