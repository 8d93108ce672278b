// The heat path as a staircase: from the junction down to the room, each step as high as its kelvins. Where there is little
// width the stair lies on its side: a row for each step, as long as its kelvins.

import { make, number } from "./words.js";

export const STEP_NAMES = {
  package: "package", dielectric: "dielectric", core: "core", board: "board", bond: "bond line", base: "heatsink base", air: "heatsink to room", fins: "fins and film", warming: "air warms", housing: "housing",
};
const NARROW = 620;

export function stepName(step) {
  return STEP_NAMES[step.step] ?? step.step;
}

function frame(width, height) {
  return make("svg", { viewBox: `0 0 ${width} ${height}`, width, height, role: "group", "aria-label": "Heat path as a staircase of kelvins, from the junction to the room" });
}

function stair(step, index, chosen, choose) {
  const group = make("g", {
    class: `stair${index === chosen ? " chosen" : ""}`, tabindex: 0, role: "button", "aria-pressed": String(index === chosen),
    "aria-label": `${stepName(step)}: ${number(step.drop_k)} K, from ${step.from} ${number(step.from_c)} to ${step.to} ${number(step.to_c)} degC. ${step.lowered_by}`,
  });
  const pick = () => choose(index);
  group.addEventListener("click", pick);
  group.addEventListener("keydown", (event) => {
    if (event.key === "Enter" || event.key === " ") { event.preventDefault(); pick(); }
  });
  return group;
}

// Draws the steps; `choose` is told which one was picked.
export function staircase(place, path, room_c, chosen, choose) {
  const total = path.reduce((sum, step) => sum + step.drop_k, 0);
  if (!path.length || !(total > 0)) { place.replaceChildren(); return; }
  const width = Math.max(260, place.clientWidth);
  place.replaceChildren((width < NARROW ? lying : upright)(width, path, total, room_c, chosen, choose));
}

function upright(width, path, total, room_c, chosen, choose) {
  const top = 34, height = 330, floor = top + height, edge = 2;
  const run = (width - 2 * edge) / path.length;
  const svg = frame(width, floor + 50);
  let y = top;
  svg.append(make("text", { x: edge, y: top - 12, "font-size": 16 }, `${path[0].from} ${number(path[0].from_c)} degC`));
  path.forEach((step, index) => {
    const tall = (step.drop_k / total) * height;
    const x = edge + index * run;
    const group = stair(step, index, chosen, choose);
    // The whole column can be clicked, also where the step is thin.
    group.append(make("rect", { x, y: top, width: run, height: height + 28, fill: "transparent" }));
    group.append(make("line", { x1: x, x2: x, y1: y + tall, y2: floor, stroke: "var(--faint)", "stroke-width": 0.6, "stroke-dasharray": "2 4" }));
    group.append(make("rect", { class: "face", x, y, width: run, height: Math.max(tall, 2), "stroke-width": 1.5 }));
    const inside = tall > 30;
    // Beside a thin step: below it, or above it where the floor is too near.
    const beside = y + tall + 24 > floor ? y - 7 : y + tall + 19;
    group.append(make("text", { class: inside ? "inside" : "", x: x + run / 2, y: inside ? y + tall / 2 + 6 : beside, "text-anchor": "middle", "font-size": 16 }, `${number(step.drop_k)} K`));
    group.append(make("text", { class: "quiet", x: x + run / 2, y: floor + 20, "text-anchor": "middle", "font-size": 14 }, stepName(step)));
    svg.append(group);
    y += tall;
  });
  svg.append(make("line", { x1: edge, x2: width - edge, y1: floor, y2: floor, stroke: "var(--ink)", "stroke-width": 1.5 }));
  svg.append(make("text", { x: width - edge, y: floor + 44, "text-anchor": "end", "font-size": 16 }, `room ${number(room_c)} degC`));
  return svg;
}

function lying(width, path, total, room_c, chosen, choose) {
  const top = 28, row = 50, edge = 2;
  const svg = frame(width, top + row * path.length + 28);
  svg.append(make("text", { x: edge, y: 16, "font-size": 15 }, `${path[0].from} ${number(path[0].from_c)} degC`));
  let x = edge;
  path.forEach((step, index) => {
    const long = (step.drop_k / total) * (width - 2 * edge);
    const y = top + row * index;
    const group = stair(step, index, chosen, choose);
    group.append(make("rect", { x: 0, y, width, height: row, fill: "transparent" }));
    group.append(make("line", { x1: edge, x2: x, y1: y + 33, y2: y + 33, stroke: "var(--faint)", "stroke-width": 0.6, "stroke-dasharray": "2 4" }));
    group.append(make("text", { x: edge, y: y + 18, "font-size": 15 }, `${stepName(step)}, ${number(step.drop_k)} K`));
    group.append(make("rect", { class: "face", x, y: y + 24, width: Math.max(long, 2), height: 18, "stroke-width": 1.5 }));
    svg.append(group);
    x += long;
  });
  svg.append(make("text", { x: width - edge, y: top + row * path.length + 18, "text-anchor": "end", "font-size": 15 }, `room ${number(room_c)} degC`));
  return svg;
}
