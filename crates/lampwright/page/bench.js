// What did the bench say? The answer, the log with its plateaus, the variants side by side, and the tables behind.

import { comparisonTable, doubt, howItWasGot, plateauTable, riseDoubt } from "./benchtables.js";
import { intervals } from "./intervals.js";
import { TimeChart } from "./timechart.js";
import { listenToButtons, tellReading, tellWindow } from "./timetelling.js";
import { Stopped } from "./work.js";
import { count, make, number } from "./words.js";

const by = (id) => document.getElementById(id);
const INKS = ["--accent", "--copper", "--ink"];
const BREAK_STEPS = 3;

export class BenchPart {
  constructor(work) {
    Object.assign(this, { work, bench: null, fitted: [], run: null, drawn: null });
    by("bench-again").addEventListener("click", () => this.read());
    by("bench-run").addEventListener("change", (event) => this.choose(event.target.value));
    by("bench-pair").addEventListener("change", () => this.compare());
    by("bench-equal").addEventListener("change", () => this.compare());
    listenToButtons(() => this.chart);
  }

  // Asks for the findings and shows them.
  async read() {
    const job = this.work.begin("Reading the logs of the bench test");
    by("bench-answer").textContent = "Reading the logs.";
    by("bench-again").hidden = true;
    try {
      const { how_to_add, bench, fitted } = await job.ask("/api/bench", {});
      Object.assign(this, { bench, fitted });
      this.show(how_to_add);
    } catch (trouble) {
      by("bench-answer").textContent = trouble instanceof Stopped ? "The reading of the logs was stopped." : `The logs cannot be read: ${trouble.message}`;
      by("bench-again").hidden = false;
    } finally {
      job.end();
    }
  }

  show(howToAdd) {
    const { bench } = this;
    by("bench").dataset.shown = bench ? "logs" : "none";
    by("bench-here").hidden = true;
    by("bench-trouble").hidden = true;
    by("bench-answer").classList.toggle("answer", Boolean(bench));
    if (!bench) {
      const [before, command, after] = howToAdd.split("`");
      by("bench-answer").replaceChildren("There are no logs of a bench test yet: ", before, make("code", {}, command), `${after}.`);
      return;
    }
    this.showTrouble();
    const answers = bench.answers.length ? bench.answers : ["Nothing can be told yet."];
    by("bench-answer").replaceChildren(...answers.slice(0, 1).flatMap(emphasised));
    by("bench-more").replaceChildren(...answers.slice(1).map((text) => make("p", {}, ...emphasised(text))));
    const drawable = bench.runs.filter((run) => run.rows > 1 && !broken(run));
    by("bench-here").hidden = !drawable.length;
    if (!drawable.length) return;
    by("bench-run").replaceChildren(...drawable.map((run) => make("option", { value: run.run }, run.variant ? `${run.run}: ${run.variant} board` : run.run)));
    by("bench-pair").replaceChildren(...bench.comparisons.map((pair, index) => make("option", { value: index }, `${pair.first} and ${pair.second}, ${pair.sensor}`)));
    by("bench-pair").closest("label").hidden = bench.comparisons.length < 2;
    plateauTable(by("plateau-table"), bench.plateaus);
    howItWasGot(by("bench-how"), bench);
    this.compare();
    this.choose(drawable[0].run);
  }

  // What is wrong with a log, with its place; what is right is shown all the same.
  showTrouble() {
    const wrong = this.bench.runs.filter(broken);
    by("bench-trouble").hidden = !wrong.length;
    const remarks = wrong.flatMap((run) => run.remarks.filter((remark) => remark.severity === "error"));
    by("bench-trouble").replaceChildren(
      make("h3", {}, `What must be mended before ${wrong.length === 1 ? `the run ${wrong[0].run}` : "these runs"} can be used`),
      make("ul", { class: "remarks" }, ...remarks.map((remark) => make("li", { class: "grave" }, `${[remark.file, remark.line, remark.column].filter((part) => part !== null && part !== undefined).join(":")}: ${remark.text}`))),
      make("p", {}, "Mend the files and load this page again."),
    );
  }

  choose(name) {
    this.run = this.bench.runs.find((run) => run.run === name);
    this.drawn = null;
    by("bench-run").value = name;
    this.chart ??= new TimeChart(by("log-chart"), {
      ask: (from, to, columns) => this.ask(from, to, columns),
      moved: tellWindow,
      read: (time, values) => tellReading(this.chart.window, this.drawn && time, values),
    });
    this.showMarks();
    this.chart.reset(0, this.run.span_s);
  }

  // Asks for a window; a newer question stops an older one.
  async ask(from_s, to_s, columns) {
    this.asking?.stop();
    const job = this.work.begin(`Drawing the log of ${this.run.run}`);
    this.asking = job;
    try {
      this.drawn = await job.ask("/api/bench/trace", { run: this.run.run, from_s, to_s, columns });
      this.chart.show(this.picture());
      by("log-detail").textContent = this.detail();
      Object.assign(by("log-chart").dataset, { from: from_s, to: to_s, rows: this.drawn.rows });
    } catch (trouble) {
      if (!(trouble instanceof Stopped)) by("log-detail").textContent = trouble.message;
    } finally {
      job.end();
    }
  }

  plateaus() { return this.bench.plateaus.map((plateau, index) => ({ ...plateau, fitted: this.fitted[index] })).filter((one) => one.run === this.run.run); }

  troubles() { return this.plateaus().flatMap((one) => one.anomalies.map((anomaly) => ({ ...anomaly, one }))).sort((a, b) => a.at_s - b.at_s); }

  picture() {
    const { drawn, run } = this;
    const columns = (trace) => ({ from_s: drawn.from_s, to_s: drawn.to_s, count: drawn.columns, at: trace.at, least: trace.least, largest: trace.largest, first: trace.first, last: trace.last });
    const break_s = run.step_s ? BREAK_STEPS * run.step_s : undefined;
    const trace = (one, ink, rest) => ({ name: one.name, ink, break_s, columns: columns(one), ...rest });
    const sensors = drawn.traces.filter((one) => one.is === "sensor" && one.unit === "degC");
    const ambient = drawn.traces.filter((one) => one.is === "ambient" && one.unit === "degC");
    const current = drawn.traces.filter((one) => one.is === "drive current");
    const plateaus = this.plateaus();
    const settled = plateaus.filter((one) => one.rise_k !== null && one.ambient_c !== null);
    const spans = [];
    for (const one of plateaus) if (!spans.some((span) => span.from_s === one.from_s)) spans.push({ ...one, name: one.drive_current_a === null ? "" : `${number(one.drive_current_a, 2)} A`, number: String(spans.length + 1) });
    const panels = [{
      name: "Temperature", unit: "degC", tall: 3, room: 1,
      traces: [...ambient.map((one) => trace(one, "--second", { dash: [1, 0], wide: 1.4 })), ...sensors.map((one, i) => trace(one, INKS[i % INKS.length], { wide: 1.6 }))],
      levels: settled.map((one) => ({ from_s: one.used_from_s, to_s: one.to_s, value: one.settled_sensor_c, low: one.ambient_c + one.rise_low_k, high: one.ambient_c + one.rise_high_k })),
      curves: plateaus.filter((one) => one.fitted?.length).map((one) => ({ points: one.fitted })),
    }];
    if (current.length) panels.push({ name: "Drive current", unit: "A", tall: 1, room: 0.05, fromZero: true, traces: current.map((one) => trace(one, "--ink", { wide: 1.8 })) });
    return { panels, spans, gaps: run.gaps.map((gap) => ({ from_s: gap.from_s, to_s: gap.from_s + gap.length_s })), marks: this.troubles().map((one, i) => ({ at_s: one.at_s, letter: letter(i) })) };
  }

  detail() {
    const { drawn } = this;
    const each = Math.ceil(drawn.rows / drawn.columns);
    return each > 1
      ? `${count(drawn.rows, "row").replace(/\d+/, (n) => Number(n).toLocaleString("en"))} in view: each picture column holds about ${each.toLocaleString("en")} of them and reaches from their least to their largest value, so that no spike is lost.`
      : `${count(drawn.rows, "row")} in view, each drawn.`;
  }

  // Anomalies by their letters, and gaps, in words.
  showMarks() {
    const { run } = this;
    const wrong = this.troubles().map((one, i) => make("li", {}, make("b", { class: "letter" }, letter(i)), ` ${number(one.at_s / 60, 1)}\u00a0min, ${one.kind}: ${one.text}.`));
    const gaps = run.gaps.slice(0, 5).map((gap) => make("li", {}, `Gap in the rows from ${number(gap.from_s / 60, 1)}\u00a0min on, ${gap.length_s < 120 ? `${number(gap.length_s, 0)}\u00a0s` : `${number(gap.length_s / 60, 1)}\u00a0min`} long (hatched): nothing was recorded there.`));
    if (run.gap_count > 5) gaps.push(make("li", {}, `${count(run.gap_count - 5, "more gap")}.`));
    by("log-marks").replaceChildren(...wrong, ...gaps);
    const reached = this.plateaus().filter((one) => one.settled_sensor_c !== null).map((one) => `${one.drive_current_a === null ? "" : `${number(one.drive_current_a, 2)}\u00a0A: `}${number(one.settled_sensor_c)} \u00b1 ${doubt(riseDoubt(one), 1)}\u00a0degC`);
    by("log-says").textContent = reached.length ? `The run ${run.run} settles to ${reached.join("; ")}.` : `Nothing settled in the run ${run.run}.`;
    by("log-chart").setAttribute("aria-label", `The log of ${run.run} over time. ${by("log-says").textContent} Arrow keys move the reading mark, with shift the window; plus and minus look closer and farther; Home shows the whole log; Backspace goes a step back.`);
  }

  compare() {
    const { bench } = this;
    if (!bench) return;
    const byHeat = by("bench-equal").value === "heat";
    const pair = bench.comparisons[Number(by("bench-pair").value) || 0];
    const across = byHeat ? "heat, W" : "drive current, A";
    const sensor = pair?.sensor ?? bench.plateaus[0]?.sensor;
    const measured = bench.plateaus.filter((one) => one.rise_k !== null && one.sensor === sensor && (byHeat ? one.heat_w : one.drive_current_a) !== null);
    const names = [...new Set(measured.map((one) => one.variant ?? one.run))];
    const rises = names.map((name) => ({ name, points: measured.filter((one) => (one.variant ?? one.run) === name).map((one) => ({ x: byHeat ? one.heat_w : one.drive_current_a, y: one.rise_k, low: one.rise_low_k, high: one.rise_high_k })).sort((a, b) => a.x - b.x) }));
    by("compare-box").hidden = !measured.length;
    by("compare-title").textContent = pair ? "Which board is cooler?" : "How far above the room?";
    intervals(by("chart-rise"), { title: `Above the room, ${sensor}`, unit: "K", across, series: rises, says: (p) => `${number(p.y, 2)} K (${number(p.low, 2)} to ${number(p.high, 2)})` });
    const all = pair ? (byHeat ? pair.at_equal_heat : pair.at_equal_current) : [];
    const points = all.map((d) => ({ x: byHeat ? d.heat_w : d.drive_current_a, y: d.difference_k, low: d.difference_k - d.difference_doubt_k, high: d.difference_k + d.difference_doubt_k, unclear: Math.abs(d.difference_k) <= d.difference_doubt_k }));
    const clear = !byHeat && pair?.clear_from_a ? { x: pair.clear_from_a, name: `clear of zero from ${number(pair.clear_from_a, 2)} A on` } : undefined;
    intervals(by("chart-difference"), { title: pair ? `${pair.first} less ${pair.second}` : "", unit: "K", across, series: points.length ? [{ name: pair.second, points }] : [], upright: clear, says: (p) => `${number(p.y, 2)} K (${number(p.low, 2)} to ${number(p.high, 2)})` });
    by("comparison-scroller").hidden = !pair;
    if (pair) comparisonTable(by("comparison-table"), pair, byHeat);
  }

  redraw() {
    this.chart?.redraw();
    this.compare();
  }
}

const letter = (i) => (i < 26 ? String.fromCharCode(97 + i) : String(i + 1));

const broken = (run) => run.remarks.some((remark) => remark.severity === "error");

// The number with its doubt stands out and keeps to one line.
function emphasised(text) {
  return text.split(/(\d[\d.]* \u00b1 \d[\d.]* (?:K|degC))/).map((part, i) => (i % 2 ? make("strong", {}, part.replaceAll(" ", "\u00a0")) : part));
}
