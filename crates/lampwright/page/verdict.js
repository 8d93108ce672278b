// What do I set? The verdict of a variant: answers, the curve of safe currents, and the tables behind.

import { drawn, found, ofLifeRemark, ofVerdict } from "./figures.js";
import { drawFitted, fitted } from "./fitted.js";
import { origin, originTable, sentence } from "./origins.js";
import { Stopped } from "./work.js";
import { make, number, plain, ticks } from "./words.js";

// What stands behind an answer, by what it is about.
function how(text, one) {
  const known = one.fitted ? "as the fit to the bench test leaves them" : "by their tolerances alone";
  const about = [
    [/throttle/, `the sensor reading at the current and the room at which the first limit is met, and likewise the hottest junction's; to be set is the low end of the band, which 39 lamps in 40 stand. ${drawn(one)}.`],
    [/chance/, `${one.chance?.passed ?? "some"} of ${one.chance?.of ?? "all"} drawn lamps keep to every limit; the range is the 95 % interval of that count. Values ${known}.`],
    [/^Weakest/, "the margin to each limit at the nominal current in the hottest room, the least of the likeliest lamp; in brackets its 95 % band. What a change buys is asked by making that change in the likeliest lamp, at the nominal current in the lamp's room."],
    [/^Light/, `the flux of the emitter sheets at current and junction temperature of each emitter, added up; in brackets the 95 % band of the drawn lamps, values ${known}.`],
    [/^L\d\d/, "projected after IES TM-21 from the maker's ageing tests in the emitter sheet, at the current and solder-point temperature of the likeliest lamp."],
  ].find(([pattern]) => pattern.test(text));
  return about ? about[1] : `the drive current at which the first limit (junction, solder point, board, current, runaway) is just met. ${drawn(one)}; to be set is the low end of the band.`;
}

// What is told of each figure of an answer: what it is by the findings, else what stands behind the whole answer.
const each = (text, one) => (figure) => found(figure, ofVerdict(text, one)) ?? how(text, one);

// Of each figure of a remark.
const cautioned = (text, one) => (figure) => found(figure, ofLifeRemark(text, one)) ?? "what this remark is about; it holds for the verdict as a whole.";

const LIMITS = { junction: "junction", solder: "solder point", board: "board", current: "emitter's highest current", runaway: "runaway" };

// Runs of neighbouring points that the same limit sets: [limit, first, last].
export function stretches(points) {
  const found = [];
  for (const point of points) {
    const last = found.at(-1);
    if (last && last.limit === point.limited_by) last.points.push(point);
    else found.push({ limit: point.limited_by, points: [point] });
  }
  return found;
}

function curve(place, one) {
  const points = one.safe_currents;
  if (!points.length) return;
  const width = Math.max(280, place.clientWidth || 640), height = Math.round(Math.min(420, Math.max(300, 0.45 * width)));
  const left = 48, right = 14, top = 34, bottom = 52;
  const rooms = points.map((p) => p.ambient_c);
  const [low, high] = [Math.min(...rooms), Math.max(...rooms)];
  const most = Math.max(one.nominal_current_a, ...points.map((p) => p.high_a)) * 1.12;
  const x = (c) => left + ((c - low) / (high - low || 1)) * (width - left - right);
  const y = (a) => height - bottom - (a / most) * (height - top - bottom);
  const svg = make("svg", { viewBox: `0 0 ${width} ${height}`, width, height, role: "img", "aria-label": "Highest safe drive current in A against room temperature in degC, with its 95 % band; the numbers stand in the table below" });
  const put = (name, attributes, ...children) => svg.append(make(name, attributes, ...children));
  put("text", { x: 0, y: 16, "font-size": 16 }, "Highest safe drive current, A");
  for (const tick of ticks(0, most, 5)) {
    put("line", { x1: left, x2: width - right, y1: y(tick), y2: y(tick), stroke: "var(--rule)" });
    put("text", { class: "quiet", x: left - 8, y: y(tick) + 5, "text-anchor": "end", "font-size": 14 }, String(tick));
  }
  for (const tick of ticks(low, high, width < 400 ? 4 : 8)) {
    put("line", { x1: x(tick), x2: x(tick), y1: height - bottom, y2: height - bottom + 6, stroke: "var(--faint)" });
    put("text", { class: "quiet", x: x(tick), y: height - bottom + 22, "text-anchor": "middle", "font-size": 14 }, number(tick, 0));
  }
  put("line", { x1: left, x2: width - right, y1: height - bottom, y2: height - bottom, stroke: "var(--ink)", "stroke-width": 1.5 });
  put("text", { x: width - right, y: height - 8, "text-anchor": "end", "font-size": 14 }, "room, degC");
  const at = (key) => points.map((p) => `${x(p.ambient_c).toFixed(1)},${y(p[key]).toFixed(1)}`);
  put("path", { class: "band", d: `M${at("low_a").join("L")}L${at("high_a").reverse().join("L")}Z`, fill: "var(--second)", "fill-opacity": 0.22 });
  put("polyline", { class: "set", points: at("low_a").join(" "), fill: "none", stroke: "var(--accent)", "stroke-width": 3 });
  put("polyline", { class: "likeliest", points: at("current_a").join(" "), fill: "none", stroke: "var(--second)", "stroke-width": 2, "stroke-dasharray": "9 5" });
  for (const point of points) {
    const dot = make("circle", { class: "safe", cx: x(point.ambient_c), cy: y(point.low_a), r: 4.5, fill: "var(--accent)", "data-room": point.ambient_c, "data-current": point.low_a });
    dot.append(make("title", {}, `At ${plain(point.ambient_c)} degC set at most ${number(point.low_a, 3)} A; limited by ${LIMITS[point.limited_by]}`));
    svg.append(dot);
  }
  // What limits it, over its stretch of the curve.
  for (const { limit, points: own } of stretches(points)) {
    const middle = own[Math.floor(own.length / 2)];
    const px = Math.min(width - right - 50, Math.max(left + 50, x((own[0].ambient_c + own.at(-1).ambient_c) / 2)));
    put("text", { class: "haloed", x: px, y: y(middle.high_a) - 10, "text-anchor": "middle", "font-size": 14 }, `limit: ${LIMITS[limit]}`);
  }
  const nominal = y(one.nominal_current_a);
  put("line", { class: "nominal", x1: left, x2: width - right, y1: nominal, y2: nominal, stroke: "var(--ink)", "stroke-width": 1.2, "stroke-dasharray": "3 4" });
  put("text", { class: "haloed", x: left + 6, y: nominal + 17, "font-size": 13 }, `nominal ${plain(one.nominal_current_a)} A`);
  const hot = x(one.hottest_ambient_c);
  put("line", { class: "hottest", x1: hot, x2: hot, y1: top, y2: height - bottom, stroke: "var(--ink)", "stroke-width": 1.2, "stroke-dasharray": "3 4" });
  put("text", { class: "haloed", x: hot - 6, y: height - bottom - 8, "text-anchor": "end", "font-size": 13 }, `hottest room ${plain(one.hottest_ambient_c)} degC`);
  place.replaceChildren(svg);
}

function currentTable(one, told) {
  const band = how("", one);
  return originTable("Highest safe drive current against the room", [
    { head: "room, degC", how: "rooms from cold to hot, the lamp's own and the hottest of lamp.toml among them.", cell: (p) => number(p.ambient_c, 0) },
    { head: "set at most, A", how: band, cell: (p) => number(p.low_a, 3) },
    { head: "likeliest lamp, A", how: band, cell: (p) => number(p.current_a, 3) },
    { head: "39 of 40 below, A", how: band, cell: (p) => number(p.high_a, 3) },
    { head: "limited by", word: true, how: "the limit that the likeliest lamp meets first at its highest safe current.", cell: (p) => `${LIMITS[p.limited_by]}${p.emitter ? ` of ${p.emitter}` : ""}` },
  ], one.safe_currents, told);
}

function behind(one, told) {
  const parts = [];
  if (one.changes.length) {
    parts.push(originTable("The three changes that buy most at the hottest junction", [
      { head: "change", word: true, cell: (c) => c.what },
      { head: "cooler by, K", how: how("Weakest", one), cell: (c) => number(c.saves_k) },
    ], one.changes.filter((c) => c.saves_k > 0).slice(0, 3), told));
  }
  if (one.throttle) {
    const t = one.throttle;
    const rows = [[`to be set: first of all limits${t.first_limit ? ` (${LIMITS[t.first_limit]})` : ""}`, t.first_limit_reading_c], ["for the junctions alone", t.reading_c], ["junctions, likeliest lamp", t.likeliest_c], ["junctions, 39 of 40 lamps below", t.high_c]];
    parts.push(originTable(`When the driver must throttle at ${plain(t.current_a)} A`, [
      { head: `reading of ${t.sensor}`, word: true, cell: (r) => r[0] },
      { head: "reading, degC", how: how("throttle", one), cell: (r) => number(r[1]) },
    ], rows.filter((r) => r[1] !== null && r[1] !== undefined), told));
  }
  parts.push(originTable("Light at the nominal current", [
    { head: "room, degC", how: "the lamp's room and the hottest one, by [lamp] of lamp.toml.", cell: (l) => number(l.ambient_c, 0) },
    { head: "light, lm", how: how("Light", one), cell: (l) => number(l.light_lm, 0) },
    { head: "95 % of lamps, lm", how: how("Light", one), cell: (l) => `${number(l.low_lm, 0)} to ${number(l.high_lm, 0)}` },
    { head: "per watt, lm/W", how: "the light over the emitters' electrical power.", cell: (l) => number(l.per_watt_lm_per_w, 0) },
  ], one.light, told));
  if (one.life.length) {
    parts.push(originTable("How long the light lasts", [
      { head: "room, degC", how: "the lamp's room and the hottest one, by [lamp] of lamp.toml.", cell: (l) => number(l.ambient_c, 0) },
      { head: "emitter", word: true, cell: (l) => l.emitter },
      { head: "solder point, degC", how: how("L70", one), cell: (l) => number(l.solder_c) },
      { head: "reported after IES TM-21", word: true, how: how("L70", one), cell: (l) => l.reported.replace("reported ", "") },
    ], one.life, told));
  }
  return parts;
}

// A part of a drawer, and what is in it.
function drawer(words, ...parts) {
  return make("details", { class: "behind" }, make("summary", {}, words), ...parts);
}

export class Verdict {
  // The lamp's chosen variant is asked of `variant`; `work` says what is done and cancels.
  constructor({ work, variant }) {
    Object.assign(this, { work, variant, found: null, asking: null });
    this.by = (id) => document.getElementById(`verdict-${id}`);
    this.by("ask").addEventListener("click", () => this.ask());
  }

  async ask() {
    this.asking?.stop();
    const job = this.work.begin("Judging the lamp");
    this.asking = job;
    this.by("state").textContent = "Judging; this takes some seconds.";
    try {
      this.found = await job.ask("/api/verdict", {});
      this.by("state").textContent = "";
      this.by("ask").textContent = "Judge again";
      this.show();
    } catch (trouble) {
      if (trouble instanceof Stopped && !trouble.byHand) return;
      const kept = this.found ? " You see the verdict before." : "";
      this.by("state").textContent = trouble instanceof Stopped ? `Cancelled after ${number(trouble.seconds, 1)} s.${kept}` : `${trouble.message}${kept}`;
    } finally {
      job.end();
    }
  }

  show() {
    if (!this.found) return;
    const one = this.found.verdict.verdicts.find((v) => v.variant === this.variant());
    const told = origin();
    if (!one) {
      this.by("shown").replaceChildren(make("p", {}, "This variant has no emitters, or was not there when the lamp was judged."));
      return;
    }
    const [first, ...others] = one.answers;
    const figure = make("figure", { class: "plot" });
    const key = make("figcaption", {}, "Strong line: set at most (39 lamps in 40 stand more); dashed line: the likeliest lamp; band: 95 % of lamps as they may be built.");
    const quiet = this.found.fit ? [] : [make("p", { class: "doubt", id: "verdict-no-fit" }, `${this.found.why_no_fit}.`)];
    this.by("shown").replaceChildren(
      make("p", { class: "says", id: "verdict-answer" }, ...sentence(first ?? "", each(first ?? "", one), told)),
      make("ul", { class: "remarks", id: "verdict-answers" }, ...others.map((text) => make("li", {}, ...sentence(text, each(text, one), told)))),
      ...quiet, make("p", { class: "hint" }, "Choose a number, or the head of a column, to see how it was got."), told.place,
      make("figure", {}, figure, key),
      drawer("The numbers behind the curve", currentTable(one, told)),
      drawer("Changes, throttle reading, light and life", ...behind(one, told)),
      drawer("Before you rely on it", make("ul", { class: "remarks", id: "verdict-remarks" }, ...[...new Set([...one.life.flatMap((l) => l.remarks), ...one.remarks])].map((text) => make("li", {}, ...sentence(text, cautioned(text, one), told))))),
      ...(this.found.fit ? fitted(this.found.fit) : []),
    );
    curve(figure, one);
    if (this.found.fit) drawFitted(this.found.fit);
  }
}
