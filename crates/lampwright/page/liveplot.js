// Draws a time chart as SVG: panels one beneath another over one axis of time, lines, and what is marked on them.

import { decimals, timeMarks } from "./livescale.js";
import { make, number, ticks } from "./words.js";

const LEFT = 54, RIGHT = 10, HEAD = 26, FLAGS = 26, SPAN_NAMES = 18, FOOT = 44, BETWEEN = 14;

// Index of the first time after `from`, less one; and of the last before `to`, and one: the part of a line that a window needs.
function needed(times, from, to) {
  let [low, high] = [0, times.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (times[middle] < from) low = middle + 1; else high = middle;
  }
  let end = low;
  while (end < times.length && times[end] <= to) end++;
  return [Math.max(0, low - 1), Math.min(times.length, end + 1)];
}

// Least and greatest of what a panel shows in the window.
function range(panel, index, { points, marks, window: [from, to] }) {
  let [low, high] = [Infinity, -Infinity];
  const take = (value) => { if (Number.isFinite(value)) { low = Math.min(low, value); high = Math.max(high, value); } };
  for (const { key } of panel.series) {
    const { time_s: times, value: values } = points[key];
    const [first, end] = needed(times, from, to);
    const inside = (i) => times[i] >= from && times[i] <= to && values[i] !== null;
    let any = false;
    for (let i = first; i < end; i++) if (inside(i)) { take(values[i]); any = true; }
    // Between two points of a line the window is crossed by it.
    if (!any) for (let i = first; i < end; i++) if (values[i] !== null) take(values[i]);
  }
  const here = (one) => (one.panel ?? 0) === index;
  const seen = (one) => here(one) && one.to_s >= from && one.from_s <= to;
  for (const level of marks.levels?.filter(seen) ?? []) { take(level.low); take(level.high); }
  for (const limit of marks.limits?.filter(here) ?? []) take(limit.value);
  if (!(high >= low)) [low, high] = [0, 1];
  if (panel.fromZero) low = Math.min(0, low);
  const room = 0.07 * (high - low) || Math.max(0.05, 0.02 * Math.abs(high));
  return [panel.fromZero && low === 0 ? 0 : low - room, high + room];
}

// A line as a path; a missing value breaks it, and a value alone is a dot.
function path({ time_s: times, value: values }, [from, to], x, y, step) {
  const [first, end] = needed(times, from, to);
  let text = "";
  let pen = false;
  for (let i = first; i < end; i++) {
    if (values[i] === null) { pen = false; continue; }
    const [px, py] = [x(times[i]).toFixed(1), y(values[i]).toFixed(1)];
    if (!pen) text += `M${px} ${py}h0`;
    else text += step ? `H${px}V${py}` : `L${px} ${py}`;
    pen = true;
  }
  return text;
}

// The names of a panel's lines, beside its title; on a narrow chart beneath one another.
function key(svg, panel, top, width) {
  const title = `${panel.title}, ${panel.unit}`;
  svg.append(make("text", { x: 0, y: top + 14, "font-size": 15 }, title));
  if (panel.series.length === 1 && panel.series[0].name.toLowerCase() === panel.title.toLowerCase()) return;
  const wide = panel.series.map((one) => 46 + 7.6 * one.name.length);
  let at = Math.max(14 + 8.2 * title.length, width - wide.reduce((a, b) => a + b, 0));
  for (const [index, one] of panel.series.entries()) {
    svg.append(make("line", { x1: at, x2: at + 28, y1: top + 9, y2: top + 9, stroke: one.colour, "stroke-width": Math.max(2, one.width ?? 2), "stroke-dasharray": one.dash ?? null }));
    svg.append(make("text", { x: at + 34, y: top + 14, "font-size": 14 }, one.name));
    at += wide[index];
  }
}

// Stretches of time as bands in each panel; `name` puts words to a band that has the room.
function bands(svg, list, kind, window, x, boxes, name) {
  for (const one of list ?? []) {
    const [a, b] = [Math.max(one.from_s, window[0]), Math.min(one.to_s, window[1])];
    if (b <= a) continue;
    const wide = Math.max(1, x(b) - x(a));
    const group = make("g", { class: kind });
    for (const { top, bottom } of boxes) group.append(make("rect", { x: x(a), y: top, width: wide, height: bottom - top }));
    name(group, one, x(a), wide);
    svg.append(group);
  }
}

function gaps(svg, { marks, window }, x, boxes) {
  const foot = boxes.at(-1).bottom - 8;
  bands(svg, marks.gaps, "time-gap", window, x, boxes, (group, _, at, wide) => {
    if (wide > 34) group.append(make("text", { class: "quiet", x: at + wide / 2, y: foot, "text-anchor": "middle", "font-size": 13 }, "gap"));
  });
}

function spans(svg, { marks, window }, x, boxes) {
  const { top } = boxes[0];
  bands(svg, marks.spans, "time-span", window, x, boxes, (group, span, at, wide) => {
    // A tab with the name above the panel.
    group.append(make("rect", { x: at, y: top - SPAN_NAMES, width: wide, height: SPAN_NAMES }));
    for (const edge of [at, at + wide]) group.append(make("line", { x1: edge, x2: edge, y1: top - SPAN_NAMES, y2: boxes[0].bottom }));
    if (span.label && wide > 7.4 * span.label.length + 6) group.append(make("text", { x: at + wide / 2, y: top - 5, "text-anchor": "middle", "font-size": 13 }, span.label));
  });
}

// Settled values with their interval, and the words beside them where there is room.
function levels(inner, outer, marks, index, window, x, y) {
  for (const level of marks.levels ?? []) {
    if ((level.panel ?? 0) !== index || level.to_s < window[0] || level.from_s > window[1]) continue;
    const [a, b] = [x(Math.max(level.from_s, window[0])), x(Math.min(level.to_s, window[1]))];
    const height = Math.max(2, y(level.low) - y(level.high));
    inner.append(make("rect", { class: "time-interval", x: a, y: y(level.high) - (height === 2 ? 1 : 0), width: b - a, height }));
    inner.append(make("line", { class: "time-level", x1: a, x2: b, y1: y(level.value), y2: y(level.value) }));
    if (level.label && b - a > 7 * level.label.length) {
      outer.push(make("text", { class: "haloed-sheet", x: (a + b) / 2, y: y(level.high) - 7, "text-anchor": "middle", "font-size": 13 }, level.label));
    }
  }
}

function flags(svg, marks, window, x, top, bottom) {
  let last = -Infinity;
  for (const flag of [...(marks.flags ?? [])].sort((a, b) => a.at_s - b.at_s)) {
    if (flag.at_s < window[0] || flag.at_s > window[1]) continue;
    const at = x(flag.at_s);
    svg.append(make("line", { class: "time-flag", x1: at, x2: at, y1: top - SPAN_NAMES - 6, y2: bottom }));
    // Discs that would cover one another stand aside.
    const disc = Math.max(at, last + 21);
    last = disc;
    const sign = make("g", {}, make("circle", { class: "time-flag-disc", cx: disc, cy: top - SPAN_NAMES - 14, r: 9.5 }),
      make("text", { class: "time-flag-number", x: disc, y: top - SPAN_NAMES - 9.5, "text-anchor": "middle", "font-size": 13 }, String(flag.number)), make("title", {}, flag.text));
    svg.append(sign);
  }
}

function panelOf(svg, panel, index, box, asked) {
  const { marks, window, points } = asked;
  const { x, left, right, top, bottom } = box;
  const [low, high] = range(panel, index, asked);
  const y = (value) => bottom - ((value - low) / (high - low)) * (bottom - top);
  const marksY = ticks(low, high, Math.max(2, Math.round((bottom - top) / 42)));
  const digits = marksY.length > 1 ? decimals(marksY[1] - marksY[0]) : 1;
  for (const tick of marksY) {
    svg.append(make("line", { x1: left, x2: right, y1: y(tick), y2: y(tick), stroke: "var(--rule)", "stroke-width": 1 }));
    svg.append(make("text", { class: "quiet", x: left - 8, y: y(tick) + 5, "text-anchor": "end", "font-size": 14 }, number(tick, digits)));
  }
  // An svg within the svg cuts off what goes beyond the panel.
  const inner = make("svg", { x: left, y: top, width: right - left, height: bottom - top, viewBox: `${left} ${top} ${right - left} ${bottom - top}` });
  const words = [];
  levels(inner, words, marks, index, window, x, y);
  for (const one of panel.series) {
    inner.append(make("path", { class: "time-line", "data-key": one.key, d: path(points[one.key], window, x, y, one.step), stroke: one.colour, "stroke-width": one.width ?? 1.5, "stroke-dasharray": one.dash ?? null }));
  }
  for (const curve of marks.curves ?? []) {
    if ((curve.panel ?? 0) === index) inner.append(make("path", { class: "time-fit", d: path(curve, window, x, y) }));
  }
  for (const limit of marks.limits ?? []) {
    if ((limit.panel ?? 0) !== index) continue;
    inner.append(make("line", { x1: left, x2: right, y1: y(limit.value), y2: y(limit.value), stroke: "var(--ink)", "stroke-width": 2 }));
    words.push(make("text", { class: "haloed-sheet", x: left + 6, y: y(limit.value) - 6, "font-size": 13 }, limit.name));
  }
  svg.append(inner, ...words);
  svg.append(make("rect", { x: left, y: top, width: right - left, height: bottom - top, fill: "none", stroke: "var(--faint)", "stroke-width": 1 }));
}

function timeAxis(svg, { window, width, begin, unit }, x, bottom) {
  const { step, found } = timeMarks(window, Math.max(2, width / 120));
  const digits = decimals(step / unit.seconds);
  for (const time of found) {
    svg.append(make("line", { x1: x(time), x2: x(time), y1: bottom, y2: bottom + 6, stroke: "var(--faint)" }));
    svg.append(make("text", { class: "quiet", x: x(time), y: bottom + 21, "text-anchor": "middle", "font-size": 14 }, number(time / unit.seconds, digits)));
  }
  svg.append(make("text", { x: width - RIGHT, y: bottom + 39, "text-anchor": "end", "font-size": 14 }, `time since ${begin}, ${unit.word}`));
}

// Draws it into `place`; the answer tells where: left, right, bottom in px, and the time at an x.
export function plot(place, asked) {
  const { panels, width, window, marks } = asked;
  const shares = panels.map((panel) => panel.share ?? 1);
  const room = Math.min(430, Math.max(270, 0.42 * width));
  const heights = shares.map((share) => (share / shares.reduce((a, b) => a + b, 0)) * room);
  const left = LEFT, right = width - RIGHT;
  const x = (time) => left + ((time - window[0]) / (window[1] - window[0])) * (right - left);
  let top = 0;
  const boxes = panels.map((_, index) => {
    top += HEAD + (index === 0 ? FLAGS + SPAN_NAMES - 8 : 0);
    const box = { x, left, right, top, bottom: top + heights[index] };
    top = box.bottom + BETWEEN;
    return box;
  });
  const [first, last] = [boxes[0], boxes.at(-1)];
  const height = last.bottom + FOOT;
  const svg = make("svg", { viewBox: `0 0 ${width} ${height}`, width, height, "aria-hidden": "true" });
  for (const box of boxes) svg.append(make("rect", { class: "time-paper", x: left, y: box.top, width: right - left, height: box.bottom - box.top }));
  spans(svg, asked, x, boxes);
  gaps(svg, asked, x, boxes);
  panels.forEach((panel, index) => {
    key(svg, panel, index === 0 ? 0 : boxes[index].top - HEAD + 2, width - RIGHT);
    panelOf(svg, panel, index, boxes[index], asked);
  });
  flags(svg, marks, window, x, first.top, last.bottom);
  timeAxis(svg, asked, x, last.bottom);
  if (asked.chosen) {
    const [a, b] = asked.chosen.map((time) => x(Math.min(Math.max(time, window[0]), window[1])));
    svg.append(make("rect", { class: "time-chosen", x: a, y: first.top, width: Math.max(1, b - a), height: last.bottom - first.top }));
  }
  if (asked.mark !== null && asked.mark >= window[0] && asked.mark <= window[1]) {
    svg.append(make("line", { class: "time-mark", x1: x(asked.mark), x2: x(asked.mark), y1: first.top, y2: last.bottom }));
  }
  place.replaceChildren(svg);
  return { left, right, bottom: last.bottom, time: (px) => Math.min(Math.max(window[0] + ((px - left) / (right - left)) * (window[1] - window[0]), window[0]), window[1]) };
}
