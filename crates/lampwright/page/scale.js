// The colour scale under the board: both ends and round values between, in degC.

import { css } from "./palette.js";
import { make, number, ticks } from "./words.js";

export function scale(place, range) {
  if (!range) { place.replaceChildren(); return; }
  const [low, high] = range;
  const width = Math.max(240, place.clientWidth);
  const svg = make("svg", { viewBox: `0 0 ${width} 46`, width, height: 46 });
  const strips = 128;
  for (let i = 0; i < strips; i++) svg.append(make("rect", { x: (i * width) / strips, y: 4, width: width / strips + 0.7, height: 16, fill: css(i / (strips - 1)) }));
  svg.append(make("rect", { x: 0.5, y: 4, width: width - 1, height: 16, fill: "none", stroke: "var(--ink)" }));
  const digits = high - low < 1 ? 2 : 1;
  const word = (x, anchor, text) => svg.append(make("text", { x, y: 40, "font-size": 14, "text-anchor": anchor }, text));
  word(0, "start", number(low, digits));
  word(width, "end", `${number(high, digits)} degC`);
  for (const tick of ticks(low, high, width > 600 ? 9 : 5)) {
    const x = ((tick - low) / (high - low || 1)) * width;
    svg.append(make("line", { x1: x, x2: x, y1: 20, y2: 26, stroke: "var(--ink)" }));
    // The ends have their own numbers.
    if (x > 60 && x < width - 100) word(x, "middle", String(tick));
  }
  place.replaceChildren(svg);
}
