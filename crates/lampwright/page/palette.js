// Colours for temperatures: lightness rises evenly in OKLab from ink blue over mauve and apricot to pale straw, so that
// warmer is always lighter, also for colour-blind eyes and in grey.
// OKLab: B. Ottosson, "A perceptual color space for image processing" (2020); matrices from memory.

const STOPS = [[0.27, 0.075, 265], [0.42, 0.105, 315], [0.58, 0.125, 10], [0.75, 0.115, 55], [0.94, 0.07, 98]];

function srgb(lightness, chroma, hue) {
  const a = chroma * Math.cos((hue * Math.PI) / 180);
  const b = chroma * Math.sin((hue * Math.PI) / 180);
  const l = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3;
  const m = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3;
  const s = (lightness - 0.0894841775 * a - 1.291485548 * b) ** 3;
  const linear = [
    4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s,
    -1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s,
    -0.0041960863 * l - 0.7034186147 * m + 1.707614701 * s,
  ];
  return linear.map((v) => {
    const c = Math.min(1, Math.max(0, v));
    return Math.round(255 * (c <= 0.0031308 ? 12.92 * c : 1.055 * c ** (1 / 2.4) - 0.055));
  });
}

// 256 colours as [red, green, blue], coolest first.
export const COLOURS = Array.from({ length: 256 }, (_, index) => {
  const place = (index / 255) * (STOPS.length - 1);
  const at = Math.min(STOPS.length - 2, Math.floor(place));
  const part = place - at;
  const [from, to] = [STOPS[at], STOPS[at + 1]];
  const turn = ((to[2] - from[2] + 540) % 360) - 180;
  // Lightness is even over the whole range; only chroma and hue follow the stops.
  const lightness = STOPS[0][0] + (index / 255) * (STOPS[STOPS.length - 1][0] - STOPS[0][0]);
  return srgb(lightness, from[1] + part * (to[1] - from[1]), from[2] + part * turn);
});

export function colour(part) {
  return COLOURS[Math.round(255 * Math.min(1, Math.max(0, part)))];
}

export function css(part) {
  return `rgb(${colour(part).join(" ")})`;
}

// Whether a dark line stands out better than a light one. Relative luminance: WCAG 2.2; even contrast with black and white
// where (L + 0.05)² = 1.05 × 0.05.
export function isLight(part) {
  const [r, g, b] = colour(part).map((v) => (v <= 10.31 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4));
  return 0.2126 * r + 0.7152 * g + 0.0722 * b > Math.sqrt(1.05 * 0.05) - 0.05;
}
