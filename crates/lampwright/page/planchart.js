// A planned run over time: the current in steps, the expected sensor reading with its band, the abort reading.

import { make, number, plain, ticks } from "./words.js";

const HOUR_STEPS = [5, 10, 15, 20, 30, 60, 120, 180, 240, 360, 480, 720];

// "1:20": hours and minutes of a time, s.
export function clock(seconds) {
  const minutes = Math.round(seconds / 60);
  return `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, "0")}`;
}

export function planChart(place, plan, run, course) {
  const width = Math.max(280, place.clientWidth || 640), narrow = width < 480;
  const left = 48, right = 14, top = 36, middle = narrow ? 210 : 250, lower = 86, bottom = 46;
  const height = top + middle + 40 + lower + bottom;
  const abort = plan.variants.find((v) => v.variant === run.variant)?.abort ?? null;
  const points = course.points;
  const end = run.duration_s;
  const highest = Math.max(abort?.above_c ?? -Infinity, ...points.map((p) => p.high_c));
  const lowest = Math.min(plan.ambient_c, ...points.map((p) => p.low_c));
  const room = 0.06 * (highest - lowest || 1);
  const [low, high] = [lowest - room, highest + 1.6 * room];
  const mostA = Math.max(...run.steps.map((s) => s.current_a)) * 1.18;
  const x = (s) => left + (s / end) * (width - left - right);
  const y = (c) => top + ((high - c) / (high - low)) * middle;
  const base = height - bottom;
  const ya = (a) => base - (a / mostA) * lower;
  const svg = make("svg", { viewBox: `0 0 ${width} ${height}`, width, height, role: "img", "aria-label": `${run.variant}: expected reading of ${plan.sensor} in degC, and drive current in A, over ${clock(end)} hours; the numbers stand in the table below` });
  const put = (name, attributes, ...children) => { const made = make(name, attributes, ...children); svg.append(made); return made; };
  put("text", { x: 0, y: 16, "font-size": 16 }, `Expected reading of ${plan.sensor}, degC`);
  for (const tick of ticks(low, high, narrow ? 4 : 6)) {
    put("line", { x1: left, x2: width - right, y1: y(tick), y2: y(tick), stroke: "var(--rule)" });
    put("text", { class: "quiet", x: left - 8, y: y(tick) + 5, "text-anchor": "end", "font-size": 14 }, plain(tick));
  }
  const at = (key) => points.map((p) => `${x(p.at_s).toFixed(1)},${y(p[key]).toFixed(1)}`);
  put("path", { class: "band", d: `M${at("low_c").join("L")}L${at("high_c").reverse().join("L")}Z`, fill: "var(--second)", "fill-opacity": 0.22 });
  put("polyline", { class: "expected", points: at("sensor_c").join(" "), fill: "none", stroke: "var(--second)", "stroke-width": 2.5 });
  for (const step of run.steps) {
    const dot = put("circle", { class: "settled", cx: x(step.start_s + step.dwell_s), cy: y(step.sensor_c), r: 4, fill: "var(--second)", "data-step": step.step });
    dot.append(make("title", {}, `Step ${step.step}, ${plain(step.current_a)} A: ${number(step.sensor_c)} degC, ${number(step.low_c)} to ${number(step.high_c)} degC`));
  }
  if (abort) {
    put("line", { class: "abort", x1: left, x2: width - right, y1: y(abort.above_c), y2: y(abort.above_c), stroke: "var(--accent)", "stroke-width": 2, "stroke-dasharray": "8 4" });
    put("text", { class: "haloed", x: left + 6, y: y(abort.above_c) - 7, "font-size": 14 }, `break off above ${number(abort.above_c, 0)} degC`);
  }
  // The current below, on the same times.
  put("text", { x: 0, y: base - lower - 14, "font-size": 16 }, "Drive current, A");
  for (const tick of ticks(0, mostA, 3)) {
    put("line", { x1: left, x2: width - right, y1: ya(tick), y2: ya(tick), stroke: tick === 0 ? "var(--ink)" : "var(--rule)", "stroke-width": tick === 0 ? 1.5 : 1 });
    put("text", { class: "quiet", x: left - 8, y: ya(tick) + 5, "text-anchor": "end", "font-size": 14 }, plain(tick));
  }
  const way = [`M${x(0)} ${ya(0)}`];
  for (const step of run.steps) way.push(`H${x(step.start_s).toFixed(1)}V${ya(step.current_a).toFixed(1)}`);
  put("path", { class: "current", d: `${way.join("")}H${x(end).toFixed(1)}V${ya(0)}`, fill: "none", stroke: "var(--ink)", "stroke-width": 2 });
  // Where a step is wide enough, its current stands on it.
  for (const step of run.steps) {
    const wide = x(step.start_s + step.dwell_s) - x(step.start_s);
    if (wide > 34) put("text", { x: x(step.start_s) + wide / 2, y: ya(step.current_a) - 5, "text-anchor": "middle", "font-size": 13 }, plain(step.current_a));
  }
  const minutes = HOUR_STEPS.find((m) => end / 60 / m <= (narrow ? 4 : 9)) ?? 1440;
  for (let m = 0; m * 60 <= end; m += minutes) {
    put("line", { x1: x(m * 60), x2: x(m * 60), y1: base, y2: base + 6, stroke: "var(--faint)" });
    put("text", { class: "quiet", x: x(m * 60), y: base + 22, "text-anchor": "middle", "font-size": 14 }, clock(m * 60));
  }
  put("text", { x: width - right, y: height - 4, "text-anchor": "end", "font-size": 14 }, "time from the run's first sample, h:min");
  place.replaceChildren(svg);
}
