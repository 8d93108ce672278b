// The heat path as a staircase: from the junction at the upper left down to the room, each step as high as its kelvins.

import { make, number } from "./words.js";

export const STEP_NAMES = {
  package: "package", dielectric: "dielectric", core: "core", board: "board", bond: "bond line", base: "heatsink base", air: "heatsink to room",
};

// Draws the steps; `choose` is told which one was picked.
export function staircase(place, path, room_c, chosen, choose) {
  const width = 900, top = 34, left = 8, right = 8;
  const height = 330, floor = top + height;
  const total = path.reduce((sum, step) => sum + step.drop_k, 0);
  if (!path.length || !(total > 0)) { place.replaceChildren(); return; }
  const run = (width - left - right) / path.length;
  const svg = make("svg", { viewBox: `0 0 ${width} ${floor + 46}`, width: "100%", role: "group", "aria-label": "Heat path as a staircase of kelvins" });
  let y = top;
  const first = path[0];
  svg.append(make("text", { x: left, y: top - 12, "font-size": 17 }, `${first.from} ${number(first.from_c)} degC`));
  path.forEach((step, index) => {
    const tall = (step.drop_k / total) * height;
    const x = left + index * run;
    const group = make("g", {
      class: `stair${index === chosen ? " chosen" : ""}`, tabindex: 0, role: "button", "aria-pressed": String(index === chosen),
      "aria-label": `${STEP_NAMES[step.step] ?? step.step}: ${number(step.drop_k)} K, from ${step.from} ${number(step.from_c)} to ${step.to} ${number(step.to_c)} degC. ${step.lowered_by}`,
    });
    group.append(make("rect", { class: "face", x, y, width: run, height: Math.max(tall, 2), "stroke-width": 1.5 }));
    group.append(make("line", { x1: x, x2: x, y1: y + tall, y2: floor, stroke: "currentColor", "stroke-width": 0.6, "stroke-dasharray": "2 4" }));
    const inside = tall > 30;
    group.append(make("text", { class: inside ? "inside" : "", x: x + run / 2, y: inside ? y + tall / 2 + 6 : y + tall + 19, "text-anchor": "middle", "font-size": 18 }, `${number(step.drop_k)} K`));
    group.append(make("text", { class: "quiet", x: x + run / 2, y: floor + 20, "text-anchor": "middle", "font-size": 15 }, STEP_NAMES[step.step] ?? step.step));
    const pick = () => choose(index);
    group.addEventListener("click", pick);
    group.addEventListener("keydown", (event) => {
      if (event.key === "Enter" || event.key === " ") { event.preventDefault(); pick(); }
    });
    svg.append(group);
    y += tall;
  });
  svg.append(make("line", { x1: left, x2: width - right, y1: floor, y2: floor, stroke: "currentColor", "stroke-width": 1.5 }));
  svg.append(make("text", { x: width - right, y: floor + 42, "text-anchor": "end", "font-size": 16 }, `room ${number(room_c)} degC`));
  place.replaceChildren(svg);
}
