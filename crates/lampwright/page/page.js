// The page: what was asked, what came back, and how it is shown.

import { airAnswer, airDiagram, coolingCosts, touchWords, waysOutTable } from "./air.js";
import { Board } from "./board.js";
import { chart } from "./chart.js";
import { COPPER_VIEWS, copperAnswer, copperRange, hottestWords, islandTable, neckTable, numbered, ruleWords, stringTable } from "./copper.js";
import { BenchPart } from "./bench.js";
import { OF_VARIANT, asGiven, fill, right, same, typed, wrong } from "./controls.js";
import { contactCosts } from "./contact.js";
import { Lie, lieAnswer } from "./lie.js";
import { scale } from "./scale.js";
import { choiceAnswer, hotAnswer, laidOut, sources, wayAnswer } from "./sentences.js";
import { staircase, stepName } from "./staircase.js";
import { emitterTable, fileTable, layerTable, limitTable, runTable } from "./tables.js";
import { Plan } from "./plan.js";
import { Verdict } from "./verdict.js";
import { Stopped, Work } from "./work.js";
import { make, number, plain, small } from "./words.js";

const by = (id) => document.getElementById(id);

const state = {
  lamp: null, asked: null, past: [], future: [], solved: null, emitter: null, step: 0, depth: 0, view: "temperature", layer: 0, neck: null, asking: null, runs: new Map(), followHottest: true,
};
const field = new Board(by("field"));
const ordered = new Board(by("ordered"));
const lie = new Lie(by("lie-field"));

const work = new Work({ strip: by("strip"), says: by("strip-says"), told: by("strip-told"), button: by("cancel") });
new Plan({ work });
const onContact = contactCosts(work, () => state.asked);
const onCooling = coolingCosts(work, () => state.asked);
const verdict = new Verdict({ work, variant: () => state.asked?.variant });

const bench = new BenchPart(work);

function variantOf(name) {
  return state.lamp.variants.find((variant) => variant.variant === name);
}

function show(asked) {
  state.filled = asked.variant;
  fill(state.lamp, asked, state);
}

// Asks anew; `answered` keeps the history once there is an answer. A newer question stops an older one.
async function see(asked, answered = remember, byButton = false) {
  state.asking?.stop();
  onContact.stop();
  onCooling.stop();
  const job = work.begin(`Solving "${asked.variant}"`);
  state.asking = job;
  right();
  by("working").textContent = state.asked ? `Solving "${asked.variant}"; what you see is the answer before.` : `Solving "${asked.variant}".`;
  try {
    const solved = await job.ask("/api/solve", { ...asked, ...looked({ ...state, layer: asked.variant === state.asked?.variant ? state.layer : 0 }) });
    answered(state.asked, asked);
    state.asked = asked;
    state.solved = solved;
    show(asked);
    showSolved();
    await sweep(asked, job);
  } catch (trouble) {
    if (trouble instanceof Stopped) {
      if (trouble.byHand) backToAnswer(asked, trouble.seconds);
      return;
    }
    by("working").textContent = state.solved ? "What you see is the answer before." : "";
    wrong(trouble, byButton);
  } finally {
    job.end();
  }
}

function remember(before, now) {
  if (before && !same(before, now)) { state.past.push(before); state.future = []; }
}

function undo() {
  if (state.past.length) see(state.past.at(-1), (before) => { state.future.push(before); state.past.pop(); });
}

function redo() {
  if (state.future.length) see(state.future.at(-1), (before) => { state.past.push(before); state.future.pop(); });
}

// After Cancel: what is shown, in words, pictures and controls alike, is the last question that was answered.
function backToAnswer(asked, seconds) {
  const after = `Cancelled after ${number(seconds, 1)} s.`;
  if (!state.asked) {
    by("answer").textContent = "Nothing is solved yet.";
    by("working").textContent = `${after} "See again" asks once more.`;
    return;
  }
  show(state.asked);
  const charts = state.charted < state.toChart ? ` The charts hold ${state.charted} of ${state.toChart} runs; "See again" completes them.` : "";
  by("working").textContent = same(asked, state.asked) ? `${after} The answer stands.${charts}` : `${after} You see the last answer again, and the controls that belong to it.${charts}`;
}

// All variants over all currents, for the charts, one after the other.
async function sweep(asked, job) {
  state.runs = new Map();
  const currents = [...new Set([...state.lamp.currents_a, state.solved.run.current_a])].sort((a, b) => a - b).filter((a) => a > 0);
  // Without emitters there is nothing to drive: one run each.
  const lit = (variant) => variant.drawing.emitters.length > 0;
  const jobs = state.lamp.variants.flatMap((variant) => (lit(variant) ? currents : [0]).map((current) => [variant.variant, current]));
  state.charted = 0;
  state.toChart = jobs.length;
  const solvedIn = `Solved in ${number(state.solved.run.seconds, 2)} s on ${state.solved.run.cells.toLocaleString("en")} cells`;
  const leftOut = new Map();
  for (const [variant, current] of jobs) {
    by("working").textContent = `${solvedIn.replace(/ on .*/, "")}. Charting: ${state.charted + 1} of ${jobs.length}.`;
    const given = asGiven(state.lamp, variant);
    const changed = { ...asked, variant, current: `${current} A` };
    // What was not changed on the page stays each variant's own.
    const own = asGiven(state.lamp, asked.variant);
    for (const name of OF_VARIANT) if (asked[name] === own[name]) changed[name] = given[name];
    try {
      const { run } = await job.ask("/api/solve", changed, `Charting run ${state.charted + 1} of ${jobs.length}, "${variant}"${current ? ` at ${plain(current)} A` : ""}`);
      if (!state.runs.has(variant)) state.runs.set(variant, []);
      state.runs.get(variant).push(run);
    } catch (trouble) {
      if (trouble instanceof Stopped) throw trouble;
      // A variant that cannot take the change is left out of the charts, and that is said.
      leftOut.set(variant, trouble.message);
    }
    state.charted += 1;
    if (state.charted % 3 === 0 || state.charted === jobs.length) showCharts();
  }
  const left = [...leftOut].map(([variant, why]) => ` "${variant}" is left out of the charts: ${why}.`).join("");
  by("working").textContent = `${solvedIn}.${left}`;
}

// What is looked at: a depth, and a copper layer where its current is.
function looked({ depth, view, layer } = state) {
  return view === "temperature" ? { depth } : { depth, copper_layer: layer };
}

// The same answer looked at in another way: another depth, or the current in a copper layer.
async function look(change, words) {
  state.looking?.stop();
  const next = { depth: state.depth, view: state.view, layer: state.layer, ...change };
  // A layer's density and its loss come together.
  if (next.depth === state.depth && next.layer === state.layer && (next.view === "temperature" || state.solved.copper_map)) {
    Object.assign(state, next);
    showField();
    return;
  }
  const job = work.begin(words);
  state.looking = job;
  try {
    state.solved = await job.ask("/api/solve", { ...state.asked, ...looked(next) });
    Object.assign(state, next);
    showField();
  } catch (trouble) {
    if (trouble instanceof Stopped && !trouble.byHand) return;
    showChoices();
    by("working").textContent = trouble instanceof Stopped ? "Cancelled; the picture is the one before." : trouble.message;
  } finally {
    job.end();
  }
}

function showAnswer(run) {
  by("answer").replaceChildren(...hotAnswer(run, state.lamp.variants.length > 1));
  by("doubt").hidden = run.state === "runaway";
}

// Fills a choice anew where its names have changed.
function choices(select, names) {
  if ([...select.options].map((option) => option.textContent).join() === names.join()) return;
  select.replaceChildren(...names.map((name, index) => make("option", { value: index }, name)));
}

// The current of a copper layer, where it is looked at and there.
function copperView() {
  const view = COPPER_VIEWS[state.view];
  return view && state.solved.copper_map && state.solved.run.copper ? view : null;
}

function showChoices() {
  const { slice, depths, copper_layers, copper_map } = state.solved;
  if (copper_map) state.layer = Math.max(0, copper_layers.indexOf(copper_map.layer));
  const view = copperView();
  if (!by("view").options.length) {
    const all = [["temperature", "Temperature"], ...Object.entries(COPPER_VIEWS).map(([value, one]) => [value, one.name])];
    by("view").replaceChildren(...all.map(([value, name]) => make("option", { value }, name)));
  }
  choices(by("depth"), depths.map((depth) => `${depth.name} (${number(depth.depth_mm, 2)} mm down)`));
  choices(by("layer"), copper_layers);
  by("view").value = view ? state.view : "temperature";
  by("depth").value = String(state.depth);
  by("layer").value = String(state.layer);
  by("view-box").hidden = !slice || !copper_layers.length;
  by("depth").closest("label").hidden = !slice || Boolean(view);
  by("layer-box").hidden = !view || copper_layers.length < 2;
  by("lines-key").hidden = !slice || Boolean(view);
  by("copper-key").hidden = !view;
  const says = view ? `the ${view.says}` : "its temperatures";
  by("field").setAttribute("aria-label", `The board with ${says}. Arrow keys move the reading mark, with shift ten times as far; Enter chooses the emitter under it.`);
}

function showField() {
  const { slice, depths } = state.solved;
  const view = copperView();
  showChoices();
  field.chosen = state.emitter;
  field.neck = state.neck;
  field.show(variantOf(state.asked.variant).drawing, !view && /heatsink/.test(depths[state.depth]?.name ?? ""));
  if (view) {
    showCurrent(view);
  } else if (!slice) {
    field.temperatures(null, null);
    state.range = null;
    by("range").textContent = "Without a steady state there are no temperatures to draw: this is the board as ordered.";
  } else {
    let [low, high] = [Infinity, -Infinity];
    for (const value of slice.temperature_c) if (value !== null) { low = Math.min(low, value); high = Math.max(high, value); }
    by("range").textContent = `From ${number(low)} to ${number(high)} degC at this depth.`;
    if (!(high - low > 0.2)) { low -= 0.1; high += 0.1; }
    state.range = [low, high];
    field.temperatures(slice, state.range);
  }
  showScale();
  readOut();
}

function showCurrent(view) {
  const { copper_map: map, run } = state.solved;
  let largest = 0;
  for (const value of map[view.key]) if (value !== null) largest = Math.max(largest, value);
  state.range = copperRange(state.view, run.copper, largest);
  state.beyond = largest > state.range[1];
  const beyond = state.beyond ? ` Colours end at ${plain(state.range[1])} ${view.unit}: beyond lie inner corners and the edges of lands, where ever more is found the finer one looks.` : "";
  by("range").textContent = `Up to ${small(largest)} ${view.unit} in ${map.layer}, on picture points of ${plain(map.pitch_mm)} mm.${beyond}`;
  field.current(map, map[view.key], state.range, numbered(run.copper).filter((neck) => neck.layer === map.layer));
}

function showScale() {
  const view = copperView();
  scale(by("scale"), state.range, view?.unit, Boolean(view), state.beyond);
}

function showCopper(run) {
  const copper = run.copper;
  by("copper").hidden = !copper;
  if (!copper) return;
  if (state.neck > copper.necks.length) state.neck = null;
  by("copper-says").replaceChildren(...copperAnswer(copper));
  by("copper-hottest").textContent = hottestWords(copper);
  by("copper-see").hidden = !state.solved.copper_layers.length;
  by("necks-box").hidden = !copper.necks.length;
  neckTable(by("neck-table"), copper, state.neck, chooseNeck);
  by("rule-says").textContent = ruleWords(copper);
  by("copper-remarks").replaceChildren(...copper.remarks.map((text) => make("li", {}, text)));
  stringTable(by("string-table"), copper);
  islandTable(by("island-table"), copper);
}

// Shows a neck on the board, and its line in the table.
async function chooseNeck(chosen) {
  const neck = numbered(state.solved.run.copper).find((one) => one.number === chosen);
  state.neck = chosen;
  showCopper(state.solved.run);
  by("neck-table").querySelectorAll(".mark")[chosen - 1]?.focus({ preventScroll: true });
  const layer = Math.max(0, state.solved.copper_layers.indexOf(neck.layer));
  await look({ view: COPPER_VIEWS[state.view] ? state.view : "density", layer }, "Drawing the current in the copper");
  pointAt(neck.at_mm);
  by("field").scrollIntoView({ block: "nearest" });
}

function showWay(run) {
  const select = by("emitter");
  const names = run.emitters.map((one) => one.ref);
  select.replaceChildren(...names.map((name) => make("option", {}, name)));
  if (!names.includes(state.emitter) || state.followHottest) state.emitter = run.hottest_emitter ?? names[0] ?? null;
  if (state.emitter) select.value = state.emitter;
  const emitter = run.emitters.find((one) => one.ref === state.emitter);
  const path = emitter?.heat_path ?? [];
  by("way").hidden = !path.length;
  if (!path.length) return;
  if (state.followHottest || state.step >= path.length) state.step = path.reduce((best, step, index) => (step.drop_k > path[best].drop_k ? index : best), 0);
  by("way-says").textContent = wayAnswer(emitter, path, stepName);
  staircase(by("staircase"), path, run.ambient_c, state.step, (index) => {
    state.step = index;
    state.followHottest = false;
    showWay(run);
    by("staircase").querySelectorAll(".stair")[index]?.focus();
  });
  const step = path[state.step];
  by("step-says").textContent = `${stepName(step)}: ${number(step.drop_k)}\u00a0K, from ${step.from} (${number(step.from_c)}\u00a0degC) to ${step.to} (${number(step.to_c)}\u00a0degC). Lowered by: ${step.lowered_by}`;
}

// The gap between board and heatsink, where it is uneven.
function showLie(run) {
  const map = state.solved.gap_map;
  by("lie").hidden = !map;
  if (!map) return;
  const { drawing } = variantOf(state.asked.variant);
  by("lie-says").replaceChildren(...lieAnswer(run.bond, drawing.screws.length));
  by("lie-remarks").replaceChildren(...run.bond.remarks.map((text) => make("li", {}, text)));
  lie.show(drawing, false);
  state.gaps = lie.gaps(map);
  scale(by("lie-scale"), state.gaps, "um");
  readGap(lie.mark);
}

function readGap(place) {
  const mark = place ?? null;
  lie.mark = mark;
  lie.draw();
  const gap = mark && lie.at(mark);
  const where = mark ? ` at x ${number(mark[0])}, y ${number(mark[1])} mm` : "";
  const fills = state.solved.gap_map.fills_to_um;
  const filled = gap > fills + 0.5 ? `, ${number(fills, 0)} um of it filled` : "";
  by("lie-readout").textContent = !mark ? "Point at the board, or use the arrow keys on it, to read a gap." : gap === null ? `No film${where}.` : `${number(gap, 0)} um of gap${filled}${where}`;
  by("lie-readout").dataset.value = gap === null ? "" : String(gap);
}

function showTables(run) {
  by("emitters-box").hidden = !run.emitters.length;
  by("limits-box").hidden = !run.limits.length;
  emitterTable(by("emitter-table"), run);
  limitTable(by("limit-table"), run);
  by("sources").replaceChildren(...sources(run).map((text) => make("p", {}, text)));
}

function showAir(run) {
  const air = run.air_side;
  by("air").hidden = !air;
  by("air-box").hidden = !run.ways_out.length;
  if (air) {
    by("air-says").textContent = airAnswer(air);
    airDiagram(by("air-diagram"), air.fan);
  }
  waysOutTable(by("ways-out-table"), run);
  by("touch").replaceChildren(...touchWords(run).map((text) => make("p", {}, text)));
}

function showSolved() {
  const { run } = state.solved;
  showAnswer(run);
  showWay(run);
  showAir(run);
  showField();
  showCopper(run);
  showLie(run);
  onContact.show(run.bond !== null);
  onCooling.show(run.air_side !== null);
  showTables(run);
  showOrdered();
  verdict.show();
}

function showCharts() {
  const names = state.lamp.variants.map((variant) => variant.variant).filter((name) => state.runs.has(name));
  const series = (value) => names.map((name) => ({
    name, points: state.runs.get(name).filter((run) => run.current_a > 0 && Number.isFinite(value(run))).map((run) => [run.current_a, value(run)]),
  })).filter((one) => one.points.length);
  const limits = state.lamp.variants.map((variant) => variant.junction_limit_c).filter((limit) => limit !== null);
  const current = state.solved.run.current_a;
  const uprights = current > 0 ? [{ name: `${plain(current)} A`, value: current }] : [];
  const junction = (run) => run.hottest_junction_c ?? NaN;
  chart(by("chart-junction"), { title: "Hottest junction", unit: "degC", series: series(junction), uprights, limits: limits.length ? [{ name: `junction limit ${Math.min(...limits)} degC`, value: Math.min(...limits) }] : [] });
  chart(by("chart-sensor"), { title: state.solved.run.sensors[0]?.name ?? "Sensor", unit: "degC", series: series((run) => run.sensors[0]?.reading_c ?? NaN), uprights, limits: state.lamp.board_limit_c ? [{ name: `board limit ${state.lamp.board_limit_c} degC`, value: state.lamp.board_limit_c }] : [] });
  chart(by("chart-light"), { title: "Light", unit: "lm", series: series((run) => (Number.isFinite(junction(run)) ? run.light_lm : NaN)), uprights, fromZero: true });
  const at = names.map((name) => state.runs.get(name).find((run) => !(current > 0) || Math.abs(run.current_a - current) < 1e-9)).filter((run) => run && run.state !== "runaway");
  // Half of the runs would make half an answer.
  by("choices-answer").replaceChildren(...(at.length === state.lamp.variants.length || state.charted === state.toChart ? choiceAnswer(at, state.lamp.variants.length, current) : []));
  runTable(by("run-table"), names.flatMap((name) => state.runs.get(name)));
}

function showOrdered() {
  const variant = variantOf(state.asked.variant);
  ordered.show(variant.drawing, false);
  if (!variant.understood) return;
  by("laid-answer").textContent = laidOut(variant);
  const { drawing } = variant;
  const shown = [
    ["copper", "copper", drawing.copper.length], ["mask-open", "mask opening", drawing.mask_openings_mm?.length],
    ["board", "board under mask", drawing.mask_openings_mm?.length], ["hole", "hole", drawing.bores.length],
    ["patch", "warm part", drawing.heat_patches.length],
  ];
  by("ordered-key").replaceChildren(...shown.filter((one) => one[2]).map(([ink, text]) => make("span", {}, make("i", { class: `ink-${ink}` }), text)));
  layerTable(by("layer-table"), variant.understood.layers);
  fileTable(by("file-table"), variant.understood.artwork);
}

function readOut() {
  const place = field.mark;
  const says = by("readout");
  const view = copperView();
  const what = view ? "what the copper carries" : "a temperature";
  if (!place || !field.shown) { says.textContent = field.shown ? `Point at the board, or use the arrow keys on it, to read ${what}.` : ""; return; }
  const at = `at x ${number(place[0])}, y ${number(place[1])} mm`;
  if (view) {
    const { copper_map: map } = state.solved;
    const point = field.pointAt(place);
    const value = point < 0 ? null : map[view.key][point];
    says.textContent = value === null ? `No copper that carries current ${at}` : `${small(map.density_a_per_mm2[point])} A/mm\u00b2, ${small(map.loss_w_per_cm2[point])} W/cm\u00b2 ${at}`;
    says.dataset.value = value === null ? "" : String(value);
    return;
  }
  const value = field.at(place);
  says.textContent = value === null ? "Nothing there." : `${number(value)} degC ${at}`;
  says.dataset.value = value === null ? "" : String(value);
}

function pointAt(place) {
  field.mark = place;
  field.draw();
  readOut();
}

function wire() {
  by("controls").addEventListener("submit", (event) => { event.preventDefault(); see(typed(state.lamp), remember, true); });
  by("controls").addEventListener("change", (event) => {
    if (event.target.id === "variant") {
      // The new variant's own values, but what was changed by hand stays.
      const [given, next, now] = [asGiven(state.lamp, state.filled), asGiven(state.lamp, by("variant").value), typed(state.lamp)];
      const to = variantOf(by("variant").value);
      const takes = { bond: next.bond !== "", heatsink: to.has_heatsink, fan: next.fan !== "", vents: next.vents !== "" };
      for (const name of OF_VARIANT) if (now[name] === given[name] || !takes[name]) by(name).value = next[name];
    }
    see(typed(state.lamp));
  });
  by("undo").addEventListener("click", undo);
  by("redo").addEventListener("click", redo);
  by("as-given").addEventListener("click", () => see(asGiven(state.lamp, by("variant").value)));
  document.addEventListener("keydown", (event) => {
    if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z" && !event.altKey) {
      // While something is being typed, the control's own undo is meant.
      const at = event.target;
      if (at instanceof HTMLInputElement && state.asked && at.value !== state.asked[at.name]) return;
      event.preventDefault();
      (event.shiftKey ? redo : undo)();
    }
  });
  by("depth").addEventListener("change", (event) => look({ depth: Number(event.target.value) }, "Drawing another depth"));
  by("view").addEventListener("change", (event) => look({ view: event.target.value }, "Drawing the current in the copper"));
  by("layer").addEventListener("change", (event) => look({ layer: Number(event.target.value) }, "Drawing another copper layer"));
  by("see-current").addEventListener("click", async () => {
    await look({ view: "density" }, "Drawing the current in the copper");
    by("field").scrollIntoView({ block: "nearest" });
    by("field").focus({ preventScroll: true });
  });
  by("emitter").addEventListener("change", (event) => choose(event.target.value));
  const canvas = by("field");
  canvas.addEventListener("pointermove", (event) => pointAt(field.place(event)));
  canvas.addEventListener("click", (event) => {
    const neck = field.neckAt(event);
    if (neck) { state.neck = field.neck = neck.number; showCopper(state.solved.run); }
    const emitter = neck ? null : field.emitterAt(field.place(event));
    pointAt(neck ? neck.at_mm : field.place(event));
    if (emitter) choose(emitter.ref);
  });
  canvas.addEventListener("keydown", (event) => {
    const moves = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    if (event.key === "Enter" && field.mark && field.drawing) {
      const emitter = field.emitterAt(field.mark);
      if (emitter) choose(emitter.ref);
      return;
    }
    const move = moves[event.key];
    if (!move || !field.box) return;
    event.preventDefault();
    const far = event.shiftKey ? 5 : 0.5;
    const [x0, y0, x1, y1] = field.box;
    const from = field.mark ?? [(x0 + x1) / 2, (y0 + y1) / 2];
    pointAt([Math.min(x1, Math.max(x0, from[0] + far * move[0])), Math.min(y1, Math.max(y0, from[1] + far * move[1]))]);
  });
  by("lie-field").addEventListener("pointermove", (event) => readGap(lie.place(event)));
  by("lie-field").addEventListener("keydown", (event) => {
    const move = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (!move || !lie.box) return;
    event.preventDefault();
    const far = event.shiftKey ? 5 : 0.5;
    const [x0, y0, x1, y1] = lie.box;
    const from = lie.mark ?? [(x0 + x1) / 2, (y0 + y1) / 2];
    readGap([Math.min(x1, Math.max(x0, from[0] + far * move[0])), Math.min(y1, Math.max(y0, from[1] + far * move[1]))]);
  });
  by("shade").addEventListener("click", () => shade(document.documentElement.dataset.shade !== "dark"));
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", (event) => shade(event.matches));
  // Charts, stair and scale are drawn at their real width.
  let width = 0;
  new ResizeObserver(() => {
    const now = document.querySelector("main").clientWidth;
    if (now === width) return;
    bench.compare();
    if (!state.solved) return;
    width = now;
    showWay(state.solved.run);
    showAir(state.solved.run);
    showScale();
    if (state.solved.gap_map) scale(by("lie-scale"), state.gaps, "um");
    if (state.runs.size) showCharts();
    verdict.show();
  }).observe(document.querySelector("main"));
}

function choose(ref) {
  state.emitter = ref;
  state.followHottest = false;
  field.chosen = ref;
  field.draw();
  showWay(state.solved.run);
}

function shade(dark) {
  document.documentElement.dataset.shade = dark ? "dark" : "light";
  by("shade").textContent = dark ? "Light paper" : "Dark paper";
  field.draw();
  ordered.draw();
  lie.draw();
  bench.redraw();
}

function remarkItem(remark) {
  const place = [remark.file, remark.line, remark.column].filter((part) => part !== null && part !== undefined).join(":");
  return make("li", { class: remark.severity === "error" ? "grave" : null }, `${place ? `${place}: ` : ""}${remark.severity}: ${remark.text}`);
}

function showRemarks() {
  const remarks = state.lamp.remarks;
  by("remarks-title").textContent = `What was noticed while reading (${remarks.length})`;
  by("remarks").replaceChildren(...remarks.map(remarkItem));
  by("remarks-box").hidden = !remarks.length;
}

// A lamp with errors: what is wrong and where, and what to do then; controls and empty pictures are left out.
function showBroken(remarks) {
  const errors = remarks.filter((remark) => remark.severity === "error");
  by("answer").textContent = errors.length === 1 ? "That cannot be said yet: the lamp has an error." : `That cannot be said yet: the lamp has ${errors.length} errors.`;
  by("trouble").replaceChildren(
    make("h3", {}, "What must be mended"),
    make("ul", { class: "remarks" }, ...errors.map(remarkItem)),
    make("p", {}, "The places are file, line and column. Mend the files, then load this page again: it reads the folder anew. ", make("code", {}, "lampwright check"), " says the same on the terminal."),
  );
  by("trouble").hidden = false;
  for (const id of ["sheet", "lie", "contact-costs", "behind-hot", "way", "choices", "laid-out", "plan", "bench", "verdict"]) by(id).hidden = true;
  for (const link of document.querySelectorAll("nav a")) link.hidden = true;
}

async function begin() {
  shade(matchMedia("(prefers-color-scheme: dark)").matches);
  wire();
  state.lamp = await (await fetch("/api/lamp")).json();
  by("lamp-name").textContent = state.lamp.name;
  document.title = `${state.lamp.name} - Lampwright`;
  showRemarks();
  if (!state.lamp.variants.length) {
    showBroken(state.lamp.remarks);
    return;
  }
  by("variant").replaceChildren(...state.lamp.variants.map((variant) => make("option", { value: variant.variant }, variant.variant)));
  show(asGiven(state.lamp, state.lamp.variants[0].variant));
  bench.read();
  await see(asGiven(state.lamp, state.lamp.variants[0].variant));
}

begin().catch((trouble) => {
  by("answer").textContent = "The page cannot be shown.";
  by("trouble").hidden = false;
  by("trouble").textContent = trouble instanceof TypeError && !state.lamp
    ? `The program does not answer; look at its terminal, or start "lampwright serve" again. (${trouble.message})`
    : `A mistake in the page, not in your lamp: ${trouble.message}`;
});
