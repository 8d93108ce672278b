// The colour scale under the board: both ends and round values between, with their unit.

import { css } from "./palette.js";
import { make, number, plain, ticks } from "./words.js";

// `round`: the ends are round values; `beyond`: values above the range have its last colour.
export function scale(place, range, unit = "degC", round = false, beyond = false) {
  if (!range) { place.replaceChildren(); return; }
  const [low, high] = range;
  const width = Math.max(240, place.clientWidth);
  const svg = make("svg", { viewBox: `0 0 ${width} 46`, width, height: 46 });
  const strips = 128;
  for (let i = 0; i < strips; i++) svg.append(make("rect", { x: (i * width) / strips, y: 4, width: width / strips + 0.7, height: 16, fill: css(i / (strips - 1)) }));
  svg.append(make("rect", { x: 0.5, y: 4, width: width - 1, height: 16, fill: "none", stroke: "var(--ink)" }));
  const digits = high - low < 1 ? 2 : 1;
  const ending = `${round ? plain(high) : number(high, digits)} ${unit}${round && beyond ? " and more" : ""}`;
  const word = (x, anchor, text) => svg.append(make("text", { x, y: 40, "font-size": 14, "text-anchor": anchor }, text));
  word(0, "start", round ? plain(low) : number(low, digits));
  word(width, "end", ending);
  for (const tick of ticks(low, high, width > 600 ? 9 : 5)) {
    const x = ((tick - low) / (high - low || 1)) * width;
    svg.append(make("line", { x1: x, x2: x, y1: 20, y2: 26, stroke: "var(--ink)" }));
    // The ends have their own numbers.
    if (x > (round ? 24 : 60) && x < width - 30 - 8 * ending.length) word(x, "middle", String(tick));
  }
  place.replaceChildren(svg);
}
