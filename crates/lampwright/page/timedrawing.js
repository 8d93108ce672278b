// How a time chart is drawn on a canvas: panels one above the other over one axis of time.

import { ticks } from "./words.js";

export const EDGE = { left: 58, right: 14, top: 26, bottom: 44, between: 30 };
const UNITS = [[1, "s"], [60, "min"], [3600, "h"], [86400, "d"]];

// The unit in which a stretch of time is read best: 4 to a few hundred of it.
export function timeUnit(span_s) {
  return UNITS.findLast(([seconds]) => span_s / seconds >= 4) ?? UNITS[0];
}

function digits(step) { return step > 0 ? Math.max(0, Math.min(6, -Math.floor(Math.log10(step) + 1e-9))) : 0; }

export function words(value, step) { return value.toFixed(digits(step)).replace("-", "\u2212"); }

// Least and largest of what is drawn between two times, with some room.
export function reach(panel, from, to) {
  let [low, high] = [Infinity, -Infinity];
  const take = (a, b) => { low = Math.min(low, a); high = Math.max(high, b); };
  for (const { columns } of panel.traces) {
    const width = (columns.to_s - columns.from_s) / columns.count;
    columns.at.forEach((at, i) => {
      const time = columns.from_s + (at + 0.5) * width;
      if (time >= from && time <= to) take(columns.least[i], columns.largest[i]);
    });
  }
  for (const level of panel.levels ?? []) if (level.to_s >= from && level.from_s <= to) take(level.low, level.high);
  for (const limit of panel.limits ?? []) take(limit.value, limit.value);
  if (!(low <= high)) return [0, 1];
  if (panel.fromZero) take(0, 0);
  const room = Math.max(0.07 * (high - low), panel.room ?? 0.1);
  return [panel.fromZero && low >= 0 ? 0 : low - room, high + room];
}

// Places of panels and the two scales.
export function layout(width, height, panels, from, to) {
  const shares = panels.reduce((sum, panel) => sum + (panel.tall ?? 1), 0);
  const room = height - EDGE.top - EDGE.bottom - EDGE.between * (panels.length - 1);
  let top = EDGE.top;
  const boxes = panels.map((panel) => {
    const tall = (room * (panel.tall ?? 1)) / shares;
    const box = { top, bottom: top + tall, range: reach(panel, from, to) };
    box.y = (value) => box.bottom - ((value - box.range[0]) / (box.range[1] - box.range[0])) * tall;
    top += tall + EDGE.between;
    return box;
  });
  const x = (time) => EDGE.left + ((time - from) / (to - from)) * (width - EDGE.left - EDGE.right);
  return { boxes, x, left: EDGE.left, right: width - EDGE.right, bottom: height - EDGE.bottom };
}

function axes(c, ink, panel, box, place, from, to, last, begin) {
  c.fillStyle = ink("--faint");
  c.textAlign = "left";
  c.fillText(`${panel.name}, ${panel.unit}`, 0, box.top - 10);
  const marks = ticks(box.range[0], box.range[1], box.bottom - box.top > 120 ? 6 : 3);
  const step = marks.length > 1 ? marks[1] - marks[0] : 1;
  for (const tick of marks) {
    c.strokeStyle = ink("--rule");
    line(c, place.left, box.y(tick), place.right, box.y(tick));
    c.textAlign = "right";
    c.fillText(words(tick, step), place.left - 7, box.y(tick) + 4.5);
  }
  const [seconds, unit] = timeUnit(to - from);
  const times = ticks(from / seconds, to / seconds, place.right - place.left > 600 ? 9 : 4);
  const apart = times.length > 1 ? times[1] - times[0] : 1;
  c.strokeStyle = ink("--ink");
  line(c, place.left, box.bottom, place.right, box.bottom);
  for (const tick of times) {
    const x = place.x(tick * seconds);
    line(c, x, box.bottom, x, box.bottom + 5);
    c.textAlign = "center";
    if (last) c.fillText(words(tick, apart), x, box.bottom + 19);
  }
  c.textAlign = "right";
  if (last) c.fillText(`time from ${begin}, ${unit}`, place.right, box.bottom + 38);
}

function line(c, x1, y1, x2, y2) {
  c.beginPath();
  c.moveTo(x1, y1);
  c.lineTo(x2, y2);
  c.stroke();
}

// A trace: within a column from least to largest, from column to column last to first; broken where rows are missing.
function trace(c, ink, one, box, place) {
  const { columns } = one;
  const width = (columns.to_s - columns.from_s) / columns.count;
  const open = Math.max(1.5, (one.break_s ?? Infinity) / width + 1);
  c.strokeStyle = ink(one.ink);
  c.lineWidth = one.wide ?? 1.4;
  c.lineJoin = "round";
  c.setLineDash(one.dash ?? []);
  c.beginPath();
  let before = -Infinity;
  columns.at.forEach((at, i) => {
    const x = place.x(columns.from_s + (at + 0.5) * width);
    const [first, last] = [box.y(columns.first[i]), box.y(columns.last[i])];
    if (at - before > open) {
      c.moveTo(x, first);
      // A lone reading is seen too.
      c.lineTo(x + 0.7, first);
    } else c.lineTo(x, first);
    if (columns.least[i] < columns.largest[i]) {
      c.lineTo(x, box.y(columns.least[i]));
      c.lineTo(x, box.y(columns.largest[i]));
      c.lineTo(x, last);
    }
    before = at;
  });
  c.stroke();
  c.setLineDash([]);
}

function level(c, ink, one, box, place) {
  const [a, b] = [place.x(one.from_s), place.x(one.to_s)];
  c.fillStyle = ink("--ink");
  c.globalAlpha = 0.16;
  c.fillRect(a, box.y(one.high), b - a, Math.max(1, box.y(one.low) - box.y(one.high)));
  c.globalAlpha = 1;
  c.strokeStyle = ink("--ink");
  c.lineWidth = 1.2;
  line(c, a, box.y(one.value), b, box.y(one.value));
  // Both ends of the interval, as a bracket where the plateau ends.
  for (const end of [one.low, one.high]) line(c, b - 7, box.y(end), b, box.y(end));
  line(c, b, box.y(one.low), b, box.y(one.high));
}

function curve(c, ink, one, box, place) {
  // Gaps as long as the dashes: what was measured shows between them.
  c.strokeStyle = ink("--ink");
  c.lineWidth = 1.6;
  c.setLineDash([7, 7]);
  c.beginPath();
  one.points.forEach(([t, value], i) => c[i ? "lineTo" : "moveTo"](place.x(t), box.y(value)));
  c.stroke();
  c.setLineDash([]);
}

// What must not be passed: a line across, with its name below it.
function limit(c, ink, one, box, place) {
  c.strokeStyle = c.fillStyle = ink("--accent");
  c.lineWidth = 2;
  c.setLineDash([10, 4]);
  line(c, place.left, box.y(one.value), place.right, box.y(one.value));
  c.setLineDash([]);
  c.textAlign = "right";
  c.fillText(one.name, place.right - 4, box.y(one.value) + 16);
}

// A plateau: a bar above the first panel, thick where it was used, and its name where there is room.
function span(c, ink, one, box, place) {
  const [a, b] = [place.x(one.from_s), place.x(one.to_s)];
  c.fillStyle = ink("--second");
  c.globalAlpha = 0.07;
  c.fillRect(a, box.top, b - a, box.bottom - box.top);
  c.globalAlpha = 1;
  c.fillRect(a, box.top, b - a, 1.5);
  const [ua, ub] = [place.x(one.used_from_s ?? one.from_s), place.x(one.used_to_s ?? one.to_s)];
  c.fillRect(ua + 1, box.top, Math.max(1, ub - ua - 2), 5);
  const [left, right] = [Math.max(a, place.left), Math.min(b, place.right)];
  c.textAlign = "center";
  c.fillStyle = ink("--ink");
  const text = [one.name, one.number].find((words) => c.measureText(words).width + 8 < right - left);
  if (text) c.fillText(text, (left + right) / 2, box.top + 21);
}

function gap(c, ink, one, box, place) {
  const [a, b] = [place.x(one.from_s), Math.max(place.x(one.to_s), place.x(one.from_s) + 2)];
  c.save();
  c.beginPath();
  c.rect(a, box.top, b - a, box.bottom - box.top);
  c.clip();
  c.strokeStyle = ink("--faint");
  c.lineWidth = 1;
  const tall = box.bottom - box.top;
  for (let x = a - tall; x < b; x += 7) line(c, x, box.bottom, x + tall, box.top);
  c.restore();
}

// A mark: an upright with its letter in a disc at the foot of the first panel.
function mark(c, ink, one, box, place) {
  const x = place.x(one.at_s);
  c.strokeStyle = c.fillStyle = ink("--accent");
  c.lineWidth = 1.5;
  c.setLineDash([2, 3]);
  line(c, x, box.top, x, box.bottom);
  c.setLineDash([]);
  c.beginPath();
  c.arc(x, box.bottom - 14, 9, 0, 7);
  c.fill();
  c.fillStyle = ink("--on-accent");
  c.textAlign = "center";
  c.fillText(one.letter, x, box.bottom - 9.5);
}

// picture: {panels, spans, gaps, marks}; chosen: [from, to] being dragged over; reading: a time.
export function draw(c, size, picture, view, ink, chosen, reading) {
  c.clearRect(0, 0, size.width, size.height);
  c.font = `14px ${size.font}`;
  const place = layout(size.width, size.height, picture.panels, view.from, view.to);
  picture.panels.forEach((panel, index) => {
    const box = place.boxes[index];
    c.lineWidth = 1;
    axes(c, ink, panel, box, place, view.from, view.to, index === picture.panels.length - 1, picture.begin ?? "the first row");
    c.save();
    c.beginPath();
    c.rect(place.left, box.top, place.right - place.left, box.bottom - box.top);
    c.clip();
    for (const one of picture.gaps ?? []) gap(c, ink, one, box, place);
    if (!index) for (const one of picture.spans ?? []) span(c, ink, one, box, place);
    for (const one of panel.traces) trace(c, ink, one, box, place);
    for (const one of panel.levels ?? []) level(c, ink, one, box, place);
    for (const one of panel.curves ?? []) curve(c, ink, one, box, place);
    for (const one of panel.limits ?? []) limit(c, ink, one, box, place);
    if (!index) for (const one of picture.marks ?? []) mark(c, ink, one, box, place);
    if (chosen) {
      c.fillStyle = ink("--accent");
      c.globalAlpha = 0.18;
      const [a, b] = [place.x(Math.min(...chosen)), place.x(Math.max(...chosen))];
      c.fillRect(a, box.top, b - a, box.bottom - box.top);
      c.globalAlpha = 1;
    }
    if (reading !== null) {
      c.strokeStyle = ink("--ink");
      c.lineWidth = 1;
      line(c, place.x(reading), box.top, place.x(reading), box.bottom);
    }
    c.restore();
  });
  return place;
}
