// How the board lies on the heatsink: the gap between them over the board, with the screws.

import { Board } from "./board.js";
import { isotherm } from "./isotherms.js";
import { make, number } from "./words.js";

const DARK = "rgb(20 20 24)";
const LIGHT = "rgb(255 253 246)";

export class Lie extends Board {
  // A gap map and the range that the colours span; without one, nothing is drawn.
  gaps(map) {
    this.edge = [];
    if (!map) { this.temperatures(null, null); return null; }
    let [low, high] = [Infinity, -Infinity];
    for (const gap of map.gap_um) if (gap !== null) { low = Math.min(low, gap); high = Math.max(high, gap); }
    if (!(high - low > 2)) { low = Math.max(0, low - 1); high += 1; }
    if (low < map.fills_to_um && map.fills_to_um < high) this.edge = isotherm(map.gap_um, map.nx, map.ny, map.fills_to_um);
    this.temperatures({ ...map, temperature_c: map.gap_um }, [low, high]);
    return [low, high];
  }

  // Where there is no film, the bare board shows.
  drawField(c, k) {
    c.fillStyle = getComputedStyle(document.documentElement).getPropertyValue("--board").trim();
    c.fill(this.paths.outline, "evenodd");
    super.drawField(c, k);
  }

  drawWords(c, screen) {
    c.setLineDash([7, 5]);
    for (const line of this.edge ?? []) {
      for (const [ink, width] of [[LIGHT, 5], [DARK, 2.4]]) {
        c.strokeStyle = ink;
        c.lineWidth = width;
        c.beginPath();
        line.map((p) => screen(this.onBoard(p))).forEach(([x, y], index) => (index ? c.lineTo(x, y) : c.moveTo(x, y)));
        c.stroke();
      }
    }
    c.setLineDash([]);
    for (const screw of this.drawing.screws) drawScrew(c, screen(screw.at_mm), Math.max(5, 0.5 * screw.head_mm * this.scale));
    super.drawWords(c, screen);
  }
}

// A head with its cross.
function drawScrew(c, [x, y], radius) {
  c.fillStyle = LIGHT;
  c.beginPath(); c.arc(x, y, radius, 0, 2 * Math.PI); c.fill();
  c.strokeStyle = DARK;
  c.lineWidth = 1.6;
  c.stroke();
  const arm = 0.55 * radius;
  c.lineWidth = 2;
  c.beginPath(); c.moveTo(x - arm, y); c.lineTo(x + arm, y); c.moveTo(x, y - arm); c.lineTo(x, y + arm); c.stroke();
}

const percent = (part) => `${number(100 * part, 0)}\u00a0%`;
const place = (at) => ` at x\u00a0${number(at[0])}, y\u00a0${number(at[1])}\u00a0mm`;

// How thick the film is and what it fills.
export function lieAnswer(bond, screws) {
  if (bond.mean_um === null) return [];
  const thick = bond.greatest_um - bond.least_um > 0.5
    ? [`The ${bond.kind} is `, make("strong", {}, `${number(bond.mean_um, 0)}\u00a0um`), ` thick in the mean, from ${number(bond.least_um, 0)}\u00a0um${place(bond.least_at_mm)} to ${number(bond.greatest_um, 0)}\u00a0um${place(bond.greatest_at_mm)}.`]
    : [`The ${bond.kind} is `, make("strong", {}, `${number(bond.mean_um, 0)}\u00a0um`), " thick everywhere."];
  const parts = [[bond.part_contact, "in contact"], [bond.part_filled, "wider and filled"], [bond.part_air, "wider than is filled, with air"], [bond.part_untouched, "without film"]]
    .filter(([part]) => part > 0.0005).map(([part, words]) => `${percent(part)} ${words}`);
  const pull = bond.screw_pull_n > 1 ? ` To hold the board so, ${screws === 1 ? "the" : "a"} screw must pull with ${number(bond.screw_pull_n, 0)}\u00a0N.` : "";
  return [...thick, ` Of ${number(bond.area_mm2, 0)}\u00a0mm\u00b2: ${parts.join(", ")}.${pull}`];
}
