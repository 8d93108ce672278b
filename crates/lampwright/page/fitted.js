// What the bench test taught: predicted against measured, fitted values against their priors, junctions.

import { agreement } from "./agreement.js";
import { found, nameOf, ofFit } from "./figures.js";
import { intervals } from "./intervals.js";
import { origin, originTable, sentence } from "./origins.js";
import { make, number } from "./words.js";

const DOUBT = "half the 95 % interval";
const HOW = {
  current: "the drive current of the plateau, by the log or the steps of its bench sheet.",
  measured: `the sensor's rise above the room at the settled plateau of the log, with ${DOUBT} as the fit took it.`,
  fitted: "the same rise of the model with the fitted values.",
  unfitted: "the same rise by lamp.toml alone, as predict says it.",
  remark: "from the rows of this plateau in the tables above: measured, fitted, and its weight.",
  off: "fitted less measured.",
  others: `predicted by a fit without this plateau, with ${DOUBT} of that less the measurement.`,
  value: "least squares over all plateaus of all variants, with the tolerances as priors; ranges hold 95 %. A factor is on what lamp.toml says.",
  junction: `the hottest junction of the fitted model at the plateau, with ${DOUBT}; both: the sensor and the forward voltage weighed by their certainty.`,
  further: `${DOUBT} of the hottest junction at the nominal current, now and if that were measured, too; by the fit's own gradients.`,
};

const withDoubt = (value, doubt, digits = 1) => (value === null || value === undefined ? "-" : `${number(value, digits)} \u00b1 ${number(doubt, digits)}`);
const value = (of, x) => (of.unit === "kelvin" ? `${number(x, 2)} K` : number(x, 3));

// One row a value: its range before faint, its range now strong, on an axis of its own range before.
function interval(of, fit) {
  const [low, high] = [Math.min(of.low, of.prior_low), Math.max(of.high, of.prior_high)];
  const x = (v) => 4 + (232 * (v - low)) / (high - low || 1);
  const words = `${nameOf(of, fit)}: before ${value(of, of.prior_low)} to ${value(of, of.prior_high)}, fitted ${value(of, of.low)} to ${value(of, of.high)}`;
  return make("svg", { class: "interval", viewBox: "0 0 240 22", width: 240, height: 22, role: "img", "aria-label": words },
    make("line", { x1: x(of.prior_low), x2: x(of.prior_high), y1: 11, y2: 11, stroke: "var(--idle)", "stroke-width": 12 }),
    make("line", { x1: x(of.low), x2: x(of.high), y1: 11, y2: 11, stroke: "var(--accent)", "stroke-width": 5 }),
    make("circle", { cx: x(of.fitted), cy: 11, r: 5, fill: "var(--paper)", stroke: "var(--ink)", "stroke-width": 2 }));
}

// Draws the figures of `fitted`, once they stand on the page.
export function drawFitted(fit) {
  // Each board by itself, and where several sensors were read, each sensor.
  const several = fit.plateaus.some((p) => p.sensor !== fit.plateaus[0].sensor);
  const plateaus = several ? fit.plateaus.map((p) => ({ ...p, variant: `${p.variant}, ${p.sensor}` })) : fit.plateaus;
  agreement(document.getElementById("chart-agreement"), plateaus);
  const variants = [...new Set(plateaus.map((p) => p.variant))];
  const point = (p) => {
    const [y, half] = [p.residual_k, 1.96 * p.standard_k];
    return { x: p.drive_current_a, y, low: y - half, high: y + half };
  };
  intervals(document.getElementById("chart-off"), {
    title: "Fitted less measured", unit: "K", across: "drive current, A",
    series: variants.map((name) => ({ name, points: plateaus.filter((p) => p.variant === name).map(point).sort((a, b) => a.x - b.x) })),
    says: (p) => `${number(p.y, 2)} K, ${number(p.low, 2)} to ${number(p.high, 2)} K`,
  });
}

// What a figure of a remark is: a plateau's, or one of a pair of values.
const remarkFigure = (fit) => (text) => {
  const pair = fit.tied.find((one) => text === number(one.correlation, 2).replace("\u2212", "-"));
  return pair ? `how ${pair.one} and ${pair.other} go together in what the fit leaves open: 1 and -1 are not told apart at all, 0 apart.` : HOW.remark;
};

// The parts below the verdict, where there is a fit.
export function fitted(fit) {
  const told = origin();
  const further = fit.further.filter((f) => f.doubt_with_it_k < 0.97 * f.doubt_now_k).slice(0, 4);
  return [
    make("h3", {}, "Predicted against measured"),
    make("ul", { class: "remarks", id: "fit-answers" }, ...fit.answers.map((text) => make("li", {}, ...sentence(text, (figure) => found(figure, ofFit(text, fit)) ?? HOW.value, told)))),
    told.place,
    make("figure", {}, make("div", { id: "chart-agreement" })),
    make("figure", {}, make("div", { id: "chart-off" }), make("figcaption", {}, "What the fitted model leaves over at each plateau, with the 95 % interval of the measurement: bars that cross zero agree.")),
    originTable("Rise of the sensor above the room at each plateau", [
      { head: "variant", word: true, cell: (p) => p.variant },
      ...(fit.plateaus.some((p) => p.sensor !== fit.plateaus[0].sensor) ? [{ head: "sensor", word: true, cell: (p) => p.sensor }] : []),
      { head: "current, A", how: HOW.current, cell: (p) => number(p.drive_current_a, 3) },
      { head: "measured, K", how: HOW.measured, cell: (p) => withDoubt(p.measured_k, 1.96 * p.standard_k, 2) },
      { head: "fitted, K", how: HOW.fitted, cell: (p) => number(p.predicted_k, 2) },
      { head: "off, K", how: HOW.off, cell: (p) => number(p.residual_k, 2) },
      { head: "from the others, K", how: HOW.others, cell: (p) => withDoubt(p.from_the_others_k, p.from_the_others_doubt_k, 2) },
      { head: "unfitted, K", how: HOW.unfitted, cell: (p) => number(p.unfitted_k, 2) },
    ], fit.plateaus, told),
    make("h3", {}, "Fitted values against their priors"),
    originTable("Faint: the range before the bench test; strong: after it; ring: fitted", [
      { head: "value", word: true, cell: (v) => nameOf(v, fit) },
      { head: "each on its own scale", word: true, cell: (v) => interval(v, fit) },
      { head: "fitted", how: HOW.value, cell: (v) => value(v, v.fitted) },
      { head: "range", how: HOW.value, cell: (v) => `${value(v, v.low)} to ${value(v, v.high)}` },
      { head: "before", how: "the tolerance as a 95 % range; where it comes from stands at the end of the row.", cell: (v) => `${value(v, v.prior_low)} to ${value(v, v.prior_high)}` },
      { head: "told", how: "the part of a value's doubt (its standard deviation) that the plateaus took away.", cell: (v) => `${number(100 * (1 - v.shrinkage), 0)} %` },
      { head: "from", word: true, cell: (v) => v.source },
    ], fit.values, told),
    originTable("The hottest junction at each plateau", [
      { head: "variant", word: true, cell: (j) => j.variant },
      { head: "current, A", how: HOW.current, cell: (j) => number(j.drive_current_a, 3) },
      { head: "emitter", word: true, cell: (j) => j.emitter },
      { head: "from the sensor, degC", how: HOW.junction, cell: (j) => withDoubt(j.from_sensor_c, j.from_sensor_doubt_k) },
      { head: "by voltage, degC", how: HOW.junction, cell: (j) => withDoubt(j.from_voltage_c, j.from_voltage_doubt_k) },
      { head: "both, degC", how: HOW.junction, cell: (j) => withDoubt(j.combined_c, j.combined_doubt_k) },
    ], fit.junctions, told),
    ...(further.length ? [originTable("What one more measurement would tell of the hottest junction", [
      { head: "measure", word: true, cell: (f) => f.what },
      { head: "known within now, K", how: HOW.further, cell: (f) => number(f.doubt_now_k) },
      { head: "with it, K", how: HOW.further, cell: (f) => number(f.doubt_with_it_k) },
    ], further, told)] : []),
    make("ul", { class: "remarks" }, ...fit.remarks.map((text) => make("li", {}, ...sentence(text, remarkFigure(fit), told)))),
  ];
}
