// Times of a log in the unit that suits what is shown, with round marks.

const UNITS = [{ word: "s", seconds: 1 }, { word: "min", seconds: 60 }, { word: "h", seconds: 3600 }];
const STEPS_S = [60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 21600, 43200, 86400];

// The unit in which a stretch of time is told.
export function unitFor(span_s) { return UNITS[span_s <= 180 ? 0 : span_s <= 5 * 3600 ? 1 : 2]; }

// Round times in a window, s; under a minute by tens, above by the clock.
export function timeMarks([from, to], about) {
  const raw = (to - from) / Math.max(1, about);
  const power = 10 ** Math.floor(Math.log10(raw));
  const decimal = [1, 2, 5, 10].map((part) => part * power).find((step) => step >= raw);
  const step = raw <= 30 ? Math.min(decimal, 60) : STEPS_S.find((one) => one >= raw) ?? 86400 * Math.ceil(raw / 86400);
  const found = [];
  for (let i = Math.ceil(from / step - 1e-9); i * step <= to + 1e-9 * step; i++) found.push(i * step);
  return { step, found };
}

// As many decimals as tell marks of a step apart, in its unit.
export function decimals(step) {
  for (let digits = 0; digits < 7; digits++) if (Math.abs(step * 10 ** digits - Math.round(step * 10 ** digits)) < 1e-6 * 10 ** digits * step + 1e-9) return digits;
  return 7;
}

// A time in a unit, to a thousandth of what is shown.
export function inUnit(time_s, unit, span_s) {
  const digits = Math.min(6, Math.max(0, Math.ceil(-Math.log10((span_s / unit.seconds) / 1000))));
  return (time_s / unit.seconds).toFixed(digits).replace("-", "\u2212");
}
