// How do I test it? The plan of the bench test: answer, each run over time, tables, check list, cautions.

import { origin, originTable, sentence } from "./origins.js";
import { clock, planChart } from "./planchart.js";
import { Stopped } from "./work.js";
import { make, number, plain } from "./words.js";

const BAND = "the reduced model at the values of lamp.toml; the band holds 95 % of some hundred lamps drawn from the tolerances, the sensor's own error among them.";
const LASTS = "so long as the slow time constant, by two lumps of heat capacity (board; heatsink with fins) and the model's resistances, the slowest within the tolerances, needs until a tenth of a kelvin is left of the largest step; rounded up to a minute.";
const ABORT = "the sensor reading at the highest planned current and the room in which the first of all temperature limits is met; the low end of the 95 % band over lamps within the tolerances, rounded down. `lampwright record` watches the same.";
const APART = "the sensor rise of the one board less that of the other at equal current; values that both share depart together. Told apart: by the logger's steps and noise, by what the dwell leaves and by the room's sensor (0.2 K), at 95 %, sensors' own errors taken off by the reading without power.";

function how(text) {
  if (/^Break off/.test(text)) return ABORT;
  if (/^The test takes/.test(text)) return LASTS;
  if (/difference between/.test(text)) return APART;
  return BAND;
}

function expectedTable(v, told) {
  const logged = v.expected.some((e) => e.output_v) ? ["output_v", "V", 3] : v.expected.some((e) => e.output_ohm) ? ["output_ohm", "ohm", 1] : null;
  const columns = [
    { head: "drive current, A", cell: (e) => plain(e.current_a) },
    { head: "sensor, degC", how: BAND, cell: (e) => number(e.sensor_c) },
    { head: "95 % of lamps, degC", how: BAND, cell: (e) => `${number(e.low_c)} to ${number(e.high_c)}` },
  ];
  if (logged) {
    const [key, unit, digits] = logged;
    columns.push({ head: `as logged, ${unit}`, how: "the sensor's law at the expected reading.", cell: (e) => (e[key] ? number(e[key][0], digits) : "-") });
    columns.push({ head: `95 % of lamps, ${unit}`, how: "the sensor's law at both ends of the band.", cell: (e) => (e[key] ? `${number(Math.min(e[key][1], e[key][2]), digits)} to ${number(Math.max(e[key][1], e[key][2]), digits)}` : "-") });
  }
  columns.push({ head: "hottest junction, degC", how: BAND, cell: (e) => number(e.junction_c) }, { head: "power, W", how: "voltage times current of all emitters, by their sheets, at the settled junction temperatures.", cell: (e) => number(e.electrical_w) });
  return originTable(`${v.variant}: what to expect`, columns, v.expected, told);
}

function stepTable(run, told) {
  return originTable(`Run ${run.run}: ${run.variant}, mounting ${run.mounting}; bench sheet ${run.name}.toml`, [
    { head: "step", cell: (s) => String(s.step) },
    { head: "at, h:min", cell: (s) => clock(s.start_s) },
    { head: "set, A", cell: (s) => plain(s.current_a) },
    { head: "hold, min", how: LASTS, cell: (s) => number(s.dwell_s / 60, 0) },
    { head: "expect, degC", how: BAND, cell: (s) => number(s.sensor_c) },
    { head: "95 % of lamps, degC", how: BAND, cell: (s) => `${number(s.low_c)} to ${number(s.high_c)}` },
    { head: "break off above, degC", how: ABORT, cell: (s) => number(s.abort_above_c, 0) },
    { head: "read", word: true, cell: () => "________" },
  ], run.steps, told);
}

function differenceTable(all, told) {
  return originTable("What the boards are expected to differ by", [
    { head: "boards", word: true, cell: (d) => `${d.variant} less ${d.other}` },
    { head: "drive current, A", cell: (d) => plain(d.current_a) },
    { head: "difference, K", how: APART, cell: (d) => number(d.difference_k) },
    { head: "95 % of lamps, K", how: APART, cell: (d) => `${number(d.low_k)} to ${number(d.high_k)}` },
    { head: "told apart, K", how: APART, cell: (d) => number(d.told_apart_k, 2) },
    { head: "can be seen", word: true, cell: (d) => (d.seen ? "yes" : "no") },
  ], all, told);
}

function items(tag, name, all) {
  return make(tag, { class: "remarks", id: `plan-${name}` }, ...all.map((text) => make("li", {}, text)));
}

export class Plan {
  // `work` says what is done and cancels.
  constructor({ work }) {
    Object.assign(this, { work, found: null, asking: null });
    this.by = (id) => document.getElementById(`plan-${id}`);
    this.by("ask").addEventListener("click", () => this.ask());
    for (const id of ["order", "seed", "mountings"]) {
      this.by(id).addEventListener("change", () => { this.by("seed-box").hidden = this.by("order").value !== "random"; if (this.found) this.ask(); });
    }
    let width = 0;
    new ResizeObserver(() => {
      const now = this.by("shown").clientWidth;
      if (this.found && now && now !== width) { width = now; this.draw(); }
    }).observe(this.by("shown"));
  }

  async ask() {
    this.asking?.stop();
    const job = this.work.begin("Planning the test");
    this.asking = job;
    this.by("state").textContent = "Planning; the first time this takes some seconds.";
    try {
      this.found = await job.ask("/api/plan", { order: this.by("order").value, seed: this.by("seed").value, mountings: this.by("mountings").value });
      this.by("state").textContent = "";
      this.by("ask").textContent = "Plan again";
      this.show();
    } catch (trouble) {
      if (trouble instanceof Stopped && !trouble.byHand) return;
      const kept = this.found ? " You see the plan before." : "";
      this.by("state").textContent = trouble instanceof Stopped ? `Cancelled after ${number(trouble.seconds, 1)} s.${kept}` : `${trouble.message}${kept}`;
    } finally {
      job.end();
    }
  }

  show() {
    const { plan } = this.found;
    const told = origin();
    const [first, ...others] = plan.answers;
    this.figures = plan.runs.map((run, at) => ({ run, at, place: make("figure", { class: "plot plan-run" }) }));
    const seed = plan.seed === null ? "" : `, seed ${plan.seed}`;
    this.by("shown").replaceChildren(
      make("p", { class: "says", id: "plan-answer" }, ...sentence(first ?? "", how(first ?? ""), told)),
      make("ul", { class: "remarks", id: "plan-answers" }, ...others.map((text) => make("li", {}, ...sentence(text, how(text), told)))),
      make("p", { class: "hint" }, "Choose a number, or the head of a column, to see how it was got."), told.place,
      ...this.figures.map(({ run, place }) => make("div", { class: "plan-block" },
        make("h3", {}, `Run ${run.run}: ${run.variant}${plan.mountings > 1 ? `, mounting ${run.mounting}` : ""} (${plan.order} order${seed})`),
        make("figure", {}, place, make("figcaption", {}, "Line: what the likeliest lamp reads; band: 95 % of lamps within the tolerances; dots: settled readings; below: the current to set.")),
        stepTable(run, told))),
      make("h3", {}, "What do I do, and in which order?"),
      items("ol", "check-list", plan.check_list),
      make("h3", {}, "What hurts?"),
      items("ul", "cautions", plan.cautions),
      make("details", { class: "behind" }, make("summary", {}, "The numbers behind the plan"),
        ...plan.variants.map((v) => expectedTable(v, told)),
        ...(plan.differences.length ? [differenceTable(plan.differences, told)] : []),
        make("p", {}, `Sampling: ${number(plan.sampling_interval_s, 0)} s between samples: ${plan.sampling_reason}.`),
        make("p", {}, "`lampwright plan` writes plan.txt, plan.csv and a bench sheet for each run into results/.")),
      make("details", { class: "behind" }, make("summary", {}, "Before you rely on it"), items("ul", "remarks", plan.remarks)),
    );
    this.draw();
  }

  draw() {
    for (const { run, at, place } of this.figures ?? []) planChart(place, this.found.plan, run, this.found.courses[at]);
  }
}
