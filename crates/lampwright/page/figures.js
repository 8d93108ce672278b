// What each figure of a verdict or fit is, told from the findings it was printed from.

import { number, plain } from "./words.js";

// A figure of the findings: its value, the unit it is printed with, and how it was got. Of a range: its first end.
const figure = (value, unit, how) => ({ value, unit, how });

// Finds the figure that a printed text is: the same unit, and the same value as far as it is printed.
export function found(text, figures) {
  const [, digits, decimals] = /[\u2212-]?(\d+(?:\.(\d+))?)/.exec(text) ?? [];
  const unit = /(degC|lm\/W|lm|K|A|V|%|times)$/.exec(text)?.[1] ?? "";
  const half = 0.5000001 * 10 ** -(decimals?.length ?? 0);
  const near = figures.filter((one) => one.unit === unit && Math.abs(Math.abs(one.value) - Number(digits)) <= half);
  return near[0]?.how;
}

const LIMITS = { junction: "junction limit", solder: "solder point's limit", board: "board's limit", current: "emitters' highest current", runaway: "runaway" };
const of = (emitter) => (emitter ? ` of ${emitter}` : "");

// Where what is known of a lamp comes from, and how bands are made.
export const drawn = (one) => `${one.drawn} lamps are drawn, each with departures of its own of the values that are not known exactly, ${one.fitted ? "as the fit to the bench test leaves them" : "by their tolerances alone"}, and with forward voltages of its own; each is asked through the reduced model`;

function verdictFigures(one) {
  const all = [
    figure(one.hottest_ambient_c, "degC", "the hottest room the lamp must stand: hottest in [lamp] of lamp.toml, or 40 degC (the lamp's own room where that is hotter) when it says none."),
    figure(one.ambient_c, "degC", "the lamp's room: ambient in [lamp] of lamp.toml, or 25 degC when it says none."),
    figure(one.nominal_current_a, "A", "the current the lamp is meant to run at: nominal in [drive] of lamp.toml."),
  ];
  return all;
}

function safeFigures(one) {
  const safe = one.safe_currents.find((s) => Math.abs(s.ambient_c - one.hottest_ambient_c) < 0.5);
  if (!safe) return [];
  const at = `In a room of ${plain(one.hottest_ambient_c)} degC`;
  return [
    // Printed rounded down.
    figure(Math.floor(100 * safe.low_a + 1e-6) / 100, "A", `${at} 39 lamps of 40 stand more than ${number(safe.low_a, 3)} A: the low end of the 95 % band, which reaches to ${number(safe.high_a, 3)} A. ${drawn(one)} for the drive current at which its first limit is just met.`),
    figure(safe.current_a, "A", `${at} the likeliest lamp just meets the ${LIMITS[safe.limited_by]}${of(safe.emitter)} at ${number(safe.current_a, 3)} A.`),
  ];
}

function throttleFigures(one) {
  const t = one.throttle;
  if (!t) return [];
  const room = `The room is made hotter until at ${plain(t.current_a)} A the hottest junction is at its limit; what ${t.sensor} then reads is the reading`;
  return [
    figure(t.reading_c, "degC", `${room}. The 95 % band goes from ${number(t.reading_c)} to ${number(t.high_c)} degC, and its low end keeps the junctions safe. ${drawn(one)}.`),
    figure(t.likeliest_c, "degC", `${room} of the likeliest lamp.`),
    figure(t.first_limit_reading_c ?? NaN, "degC", `The same for whichever limit is met first, in the likeliest lamp the ${LIMITS[t.first_limit] ?? "junction limit"}: the low end of its band, which is to be set.`),
    figure(t.current_a, "A", "the current the lamp is meant to run at: nominal in [drive] of lamp.toml."),
  ];
}

function chanceFigures(one) {
  const c = one.chance;
  if (!c) return [];
  return [
    figure(100 * c.part, "%", `${c.passed} of ${c.of} lamps drawn as they may be built keep to every limit at ${plain(c.current_a)} A in a room of ${plain(c.ambient_c)} degC.`),
    figure(100 * c.low_95, "%", `how well ${c.passed} of ${c.of} tells a chance: its 95 % interval is ${number(100 * c.low_95)} to ${number(100 * c.high_95)} %.`),
  ];
}

function weakestFigures(one) {
  const w = one.weakest;
  if (!w) return [];
  return [
    figure(w.margin_k, "K", `of all limits of the likeliest lamp at ${plain(one.nominal_current_a)} A in a room of ${plain(one.hottest_ambient_c)} degC, the ${LIMITS[w.limit]}${of(w.emitter)} is nearest: ${number(w.margin_k)} K ${w.margin_k < 0 ? "less than none" : "are left"}.`),
    figure(w.low_k, "K", `the least margin of each drawn lamp: 95 % of them have ${number(w.low_k)} to ${number(w.high_k)} K. ${drawn(one)}.`),
    ...one.changes.map((c) => figure(c.saves_k, "K", `the likeliest lamp with this changed and all else left (${c.what}), at ${plain(one.nominal_current_a)} A in a room of ${plain(one.ambient_c)} degC: its hottest junction is cooler by ${number(c.saves_k, 2)} K.`)),
  ];
}

function lightFigures(one) {
  const now = one.light[0];
  if (!now) return [];
  const each = (l) => [
    figure(l.light_lm, "lm", `the flux of each emitter's sheet at its current and its junction's temperature, added up, in a room of ${plain(l.ambient_c)} degC.`),
    figure(l.light_lm, "", `the flux of each emitter's sheet at its current and its junction's temperature, added up, in a room of ${plain(l.ambient_c)} degC.`),
    figure(l.low_lm, "", `95 % of the drawn lamps give ${number(l.low_lm, 0)} to ${number(l.high_lm, 0)} lm in a room of ${plain(l.ambient_c)} degC. ${drawn(one)}.`),
  ];
  return [
    ...one.light.flatMap(each),
    figure(now.per_watt_lm_per_w, "lm/W", `${number(now.light_lm, 0)} lm over the emitters' electrical power of ${number(now.light_lm / now.per_watt_lm_per_w)} W.`),
    figure(now.above_binning_k, "K", `the hottest junction is at ${number(now.binning_junction_c + now.above_binning_k)} degC, the sheet's flux was binned at ${plain(now.binning_junction_c)} degC.`),
    figure(now.binning_junction_c, "degC", "the junction temperature at which the maker binned the flux, from the emitter sheet."),
  ];
}

function lifeFigures(one) {
  return one.life.flatMap((l) => [
    figure(l.solder_c, "degC", `the solder point of ${l.emitter} in the likeliest lamp at ${plain(one.nominal_current_a)} A in a room of ${plain(l.ambient_c)} degC.`),
    figure(l.ambient_c, "degC", "the room for which the life is told."),
  ]);
}

// All figures of an answer of a verdict, by what the answer is about.
export function ofVerdict(text, one) {
  const about = [[/throttle when/, throttleFigures], [/chance of/, chanceFigures], [/^Weakest/, weakestFigures], [/^Light/, lightFigures], [/^L\d\d/, lifeFigures]];
  const own = about.find(([pattern]) => pattern.test(text))?.[1] ?? safeFigures;
  return [...own(one), ...verdictFigures(one)];
}

// All figures of a remark on the life: what the ageing tests are asked for, and which of them is taken.
export function ofLifeRemark(text, one) {
  const l = one.life.find((life) => life.remarks.includes(text));
  if (!l) return [];
  const read = (pattern) => Number(pattern.exec(text)?.[1] ?? NaN);
  return [
    figure(l.solder_c, "degC", `the solder point of ${l.emitter} in the likeliest lamp at ${plain(one.nominal_current_a)} A in a room of ${plain(l.ambient_c)} degC, which stands for the case of the ageing tests.`),
    figure(read(/test at ([\d.]+) A/), "A", "the drive current of an ageing test in the emitter sheet, the next one that is not below the emitter's own."),
    figure(read(/one at ([\d.]+) degC/), "degC", "the case temperature of an ageing test in the emitter sheet, the coolest at that current."),
    figure(read(/^([\d.]+) A was not tested/), "A", `the emitter's own current with ${plain(one.nominal_current_a)} A of drive current.`),
  ];
}

// A value's name with whose it is; which sensor's needs no word where there is one.
export function nameOf(v, fit) {
  const sensors = new Set(fit.values.map((one) => one.sensor).filter(Boolean));
  return [v.value, sensors.size > 1 ? v.sensor : null, v.variant].filter(Boolean).join(", ");
}

// All figures of an answer of a fit.
export function ofFit(text, fit) {
  if (/^What one more/.test(text)) {
    const best = fit.further[0];
    return best ? [figure(Number(/at ([\d.]+) A/.exec(best.what)?.[1] ?? NaN), "A", "the current the lamp is meant to run at: nominal in [drive] of lamp.toml."), figure(Number(/within ([\d.]+) K/.exec(best.what)?.[1] ?? NaN), "K", "how well it is taken to be measured, as a standard deviation."), figure(best.doubt_with_it_k, "K", `half the 95 % interval of the hottest junction at the nominal current if that were measured, too (${best.what}); the fit's own gradients tell it, nothing has been measured.`), figure(best.doubt_now_k, "K", "half the 95 % interval of the hottest junction at the nominal current as the fit leaves it.")] : [];
  }
  if (/^The model /.test(text)) {
    const worst = fit.plateaus.reduce((a, b) => (Math.abs(b.residual_k) > Math.abs(a.residual_k) ? b : a));
    return [
      figure(worst.residual_k, "K", `${worst.variant} at ${number(worst.drive_current_a, 3)} A (run ${worst.run}, ${worst.sensor}): fitted ${number(worst.predicted_k, 2)} K, measured ${number(worst.measured_k, 2)} K.`),
      figure(fit.chi_square, "", `each plateau's fitted less measured, over its standard deviation, squared and added up over ${fit.plateaus.length} readings, outlying ones in full.`),
      figure(fit.chi_square_expected, "", `what that sum is on average where the model is right: ${fit.plateaus.length} readings less what the fitted values took up of them.`),
      figure(fit.p_value ?? NaN, "", `of 100 bench tests of lamps of which the model is right, about ${number(100 * fit.p_value, 0)} would leave a sum above ${number(fit.chi_square)}.`),
    ];
  }
  if (/on the bench at/.test(text)) {
    return fit.junctions.filter((j) => text.startsWith(`${j.variant}:`)).flatMap((j) => [
      figure(j.combined_c, "degC", `${j.emitter} at ${number(j.drive_current_a, 3)} A of run ${j.run}: ${number(j.from_sensor_c)} \u00b1 ${number(j.from_sensor_doubt_k)} degC from the sensor through the fitted model${j.from_voltage_c === null ? "; its forward voltage was not logged" : `, ${number(j.from_voltage_c)} \u00b1 ${number(j.from_voltage_doubt_k)} degC by forward voltage, together by their certainty`}. The doubt is half the 95 % interval, the grid's error in it.`),
      figure(j.drive_current_a, "A", `the drive current of the plateau of run ${j.run} at which the junction of ${j.variant} was hottest.`),
    ]).concat([
      figure(Number(/limit of (\d+)/.exec(text)?.[1] ?? NaN), "degC", "the junction limit of the emitter sheet."),
      figure(Number(/(\d+) K (?:below|above)/.exec(text)?.[1] ?? NaN), "K", "the junction limit of the emitter sheet less the junction on the bench."),
    ]);
  }
  return fit.values.map((v) => {
    const shown = v.unit === "kelvin" ? "K" : "times";
    const digits = v.unit === "kelvin" ? 2 : 3;
    const name = nameOf(v, fit);
    return figure(v.fitted, shown, `${name}: ${number(v.fitted, digits)}, 95 % from ${number(v.low, digits)} to ${number(v.high, digits)}; before the bench test ${number(v.prior_low, digits)} to ${number(v.prior_high, digits)} (${v.source}). The plateaus took ${number(100 * (1 - v.shrinkage), 0)} % of the doubt away.`);
  });
}
