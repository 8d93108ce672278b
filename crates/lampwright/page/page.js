// The page: what was asked, what came back, and how it is shown.

import { Board } from "./board.js";
import { chart } from "./chart.js";
import { css } from "./palette.js";
import { STEP_NAMES, staircase } from "./staircase.js";
import { Stopped, Work } from "./work.js";
import { fillTable, make, number, three, ticks } from "./words.js";

const by = (id) => document.getElementById(id);
const FIELDS = ["variant", "current", "ambient", "bond", "heatsink"];

const state = {
  lamp: null, asked: null, past: [], future: [], solved: null, emitter: null, step: 0, depth: 0, asking: null, runs: new Map(), followHottest: true,
};
const field = new Board(by("field"));
const ordered = new Board(by("ordered"));
field.withBase = true;

const work = new Work({ strip: by("strip"), says: by("strip-says"), told: by("strip-told"), button: by("cancel") });

function variantOf(name) {
  return state.lamp.variants.find((variant) => variant.variant === name);
}

// What lamp.toml says for a variant, as it would be typed.
function asGiven(name) {
  const variant = variantOf(name);
  return {
    variant: name,
    current: `${state.lamp.nominal_current_a} A`,
    ambient: `${state.lamp.ambient_c} degC`,
    bond: variant.bond_thickness_um === null ? "" : `${Number(variant.bond_thickness_um.toPrecision(6))} um`,
    heatsink: variant.heatsink_k_per_w === null ? "" : `${variant.heatsink_k_per_w} K/W`,
  };
}

function typed() {
  return Object.fromEntries(FIELDS.map((name) => [name, by(name).value]));
}

function fill(asked) {
  state.filled = asked.variant;
  const given = asGiven(asked.variant);
  for (const name of FIELDS) {
    by(name).value = asked[name];
    by(name).classList.toggle("changed", name !== "variant" && asked[name] !== given[name]);
  }
  by("bond").disabled = given.bond === "";
  by("heatsink").disabled = given.heatsink === "";
  by("current").disabled = !variantOf(asked.variant).drawing.emitters.length;
  by("undo").disabled = !state.past.length;
  by("redo").disabled = !state.future.length;
}

const same = (a, b) => FIELDS.every((name) => a[name] === b[name]);

// Asks anew; `answered` keeps the history once there is an answer. A newer question stops an older one.
async function see(asked, answered = remember) {
  state.asking?.stop();
  const job = work.begin(`Solving "${asked.variant}"`);
  state.asking = job;
  by("field-trouble").textContent = "";
  by("working").textContent = state.asked ? `Solving "${asked.variant}"; what you see is the answer before.` : `Solving "${asked.variant}".`;
  try {
    const solved = await job.ask("/api/solve", { ...asked, depth: state.depth });
    answered(state.asked, asked);
    state.asked = asked;
    state.solved = solved;
    fill(asked);
    showSolved();
    await sweep(asked, job);
  } catch (trouble) {
    if (trouble instanceof Stopped) {
      if (trouble.byHand) backToAnswer(asked, trouble.seconds);
      return;
    }
    by("working").textContent = state.solved ? "What you see is the answer before." : "";
    by("field-trouble").textContent = trouble.message;
    if (trouble.field && by(trouble.field)) by(trouble.field).focus();
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
  fill(state.asked);
  const charts = state.charted < state.toChart ? ` The charts hold ${state.charted} of ${state.toChart} runs; "See again" completes them.` : "";
  by("working").textContent = same(asked, state.asked) ? `${after} The answer stands.${charts}` : `${after} You see the last answer again, and the controls that belong to it.${charts}`;
}

// All variants over all currents, for the charts, one after the other.
async function sweep(asked, job) {
  state.runs = new Map();
  const currents = [...new Set([...state.lamp.currents_a, state.solved.run.current_a])].sort((a, b) => a - b).filter((a) => a > 0);
  const jobs = state.lamp.variants.flatMap((variant) => currents.map((current) => [variant.variant, current]));
  state.charted = 0;
  state.toChart = jobs.length;
  const solvedIn = `Solved in ${number(state.solved.run.seconds, 2)} s on ${state.solved.run.cells.toLocaleString("en")} cells`;
  for (const [variant, current] of jobs) {
    by("working").textContent = `${solvedIn.replace(/ on .*/, "")}. Charting: ${state.charted + 1} of ${jobs.length}.`;
    const given = asGiven(variant);
    const changed = { ...asked, variant, current: `${current} A` };
    // What was not changed on the page stays each variant's own.
    const own = asGiven(asked.variant);
    for (const name of ["bond", "heatsink"]) if (asked[name] === own[name]) changed[name] = given[name];
    try {
      const { run } = await job.ask("/api/solve", changed, `Charting run ${state.charted + 1} of ${jobs.length}, "${variant}" at ${current} A`);
      if (!state.runs.has(variant)) state.runs.set(variant, []);
      state.runs.get(variant).push(run);
    } catch (trouble) {
      if (trouble instanceof Stopped) throw trouble;
      // A variant that cannot take the change is left out of the charts.
    }
    state.charted += 1;
    if (state.charted % 3 === 0 || state.charted === jobs.length) showCharts();
  }
  by("working").textContent = `${solvedIn}.`;
}

// The same answer at another depth.
async function lookAt(depth) {
  state.looking?.stop();
  const job = work.begin("Drawing another depth");
  state.looking = job;
  try {
    state.solved = await job.ask("/api/solve", { ...state.asked, depth });
    state.depth = depth;
    showField();
  } catch (trouble) {
    if (trouble instanceof Stopped && !trouble.byHand) return;
    by("depth").value = String(state.depth);
    by("working").textContent = trouble instanceof Stopped ? "Cancelled; the depth is the one before." : trouble.message;
  } finally {
    job.end();
  }
}

function showAnswer(run) {
  const answer = by("answer");
  const where = `At ${run.emitters.length ? `${three(run.current_a)} A and ` : ""}${number(run.ambient_c, 0)} degC`;
  if (run.state === "runaway") {
    answer.replaceChildren(`${where} there is no steady state: the heat grows faster with the temperature than the lamp can shed it. Lower the current or the resistance to the room.`);
    return;
  }
  if (run.hottest_emitter) {
    const emitter = run.emitters.find((one) => one.ref === run.hottest_emitter);
    const margin = emitter.junction_margin_k;
    answer.replaceChildren(
      `${where} the hottest junction, ${emitter.ref}, reaches `,
      make("strong", {}, `${number(emitter.junction_c, 0)} \u00b1 ${number(Math.max(run.grid_error_k, 0.5), 0)} degC`),
      `: ${number(Math.abs(margin), 0)} K ${margin >= 0 ? "below" : "above"} its limit of ${number(emitter.junction_limit_c, 0)} degC.`,
    );
  } else {
    answer.replaceChildren(`${where} the hottest place of the board reaches `, make("strong", {}, `${number(run.hottest_board_c)} \u00b1 ${number(Math.max(run.grid_error_k, 0.05))} degC`), ".");
  }
}

function showScale([low, high]) {
  const labels = make("svg", {});
  const place = by("scale");
  const width = Math.max(280, place.clientWidth);
  labels.setAttribute("viewBox", `0 0 ${width} 50`);
  labels.append(...Array.from({ length: 128 }, (_, i) => make("rect", { x: (i * width) / 128, y: 4, width: width / 128 + 0.7, height: 16, fill: css(i / 127) })));
  labels.append(make("rect", { x: 0.5, y: 4, width: width - 1, height: 16, fill: "none", stroke: "currentColor" }));
  const shown = ticks(low, high, width > 600 ? 9 : 5);
  shown.forEach((tick, index) => {
    const x = ((tick - low) / (high - low || 1)) * width;
    const anchor = x < 18 ? "start" : x > width - 50 ? "end" : "middle";
    labels.append(make("line", { x1: x, x2: x, y1: 20, y2: 26, stroke: "currentColor" }));
    labels.append(make("text", { x, y: 42, "font-size": 14, "text-anchor": anchor }, index === shown.length - 1 ? `${tick} degC` : String(tick)));
  });
  place.replaceChildren(labels);
}

function showField() {
  const { slice, depths } = state.solved;
  const select = by("depth");
  if (select.options.length !== depths.length) {
    select.replaceChildren(...depths.map((depth, index) => make("option", { value: index }, `${depth.name} (${number(depth.depth_mm, 2)} mm down)`)));
  }
  select.value = String(state.depth);
  field.chosen = state.emitter;
  const drawing = variantOf(state.asked.variant).drawing;
  field.ofBase = /heatsink/.test(depths[state.depth]?.name ?? "");
  if (field.drawing !== drawing) field.show(drawing);
  if (!slice) { field.temperatures(null, null); by("scale").replaceChildren(); return; }
  let [low, high] = [Infinity, -Infinity];
  for (const value of slice.temperature_c) if (value !== null) { low = Math.min(low, value); high = Math.max(high, value); }
  if (!(high - low > 0.2)) { low -= 0.1; high += 0.1; }
  field.temperatures(slice, [low, high]);
  showScale([low, high]);
  readOut();
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
  const total = path.reduce((sum, step) => sum + step.drop_k, 0);
  const largest = path.reduce((a, b) => (b.drop_k > a.drop_k ? b : a));
  by("way-says").textContent = `Of the ${number(total)} K from ${emitter.ref}'s junction to the room, most are lost at the step "${STEP_NAMES[largest.step] ?? largest.step}": ${number(largest.drop_k)} K.`;
  staircase(by("staircase"), path, run.ambient_c, state.step, (index) => {
    state.step = index;
    state.followHottest = false;
    showWay(run);
    by("staircase").querySelectorAll(".stair")[index]?.focus();
  });
  const step = path[state.step];
  by("step-says").textContent = `${STEP_NAMES[step.step] ?? step.step}: ${number(step.drop_k)} K, from ${step.from} (${number(step.from_c)} degC) to ${step.to} (${number(step.to_c)} degC). Lowered by: ${step.lowered_by}`;
}

function showTables(run) {
  fillTable(by("emitter-table"), `Emitters at ${three(run.current_a)} A per string`, [
    { head: "emitter", word: true, cell: (e) => e.ref },
    { head: "junction, degC", cell: (e) => number(e.junction_c) },
    { head: "solder point, degC", cell: (e) => number(e.solder_c) },
    { head: "margin, K", cell: (e) => number(e.junction_margin_k) },
    { head: "voltage, V", cell: (e) => number(e.forward_v, 3) },
    { head: "heat, W", cell: (e) => number(e.heat_w, 2) },
    { head: "light, lm", cell: (e) => number(e.flux_lm, 0) },
  ], run.emitters, (e) => (e.junction_margin_k < 0 ? "over" : ""));
  fillTable(by("limit-table"), "Limits, the nearest first", [
    { head: "limit", word: true, cell: (l) => l.what },
    { head: "found", cell: (l) => `${number(l.found, l.unit === "A" ? 3 : 1)} ${l.unit}` },
    { head: "allowed", cell: (l) => `${number(l.limit, l.unit === "A" ? 3 : 1)} ${l.unit}` },
    { head: "margin", cell: (l) => `${number(l.margin, l.unit === "A" ? 3 : 1)} ${l.unit === "A" ? "A" : "K"}` },
  ], run.limits, (l) => (l.margin < 0 ? "over" : ""));
  const balance = run.energy_balance;
  by("sources").replaceChildren(
    make("p", {}, `Temperatures: steady heat conduction through ${run.cells.toLocaleString("en")} cells built from the artwork and lamp.toml, finest pitch ${number(run.pitch_mm, 3)} mm, ${run.iterations} iterations. The \u00b1 is the grid's error of the hottest temperatures, ${number(run.grid_error_k, 2)} K, from solving on a second, coarser grid; it does not hold the doubt of materials, emitter sheet or heatsink.`),
    make("p", {}, `Energy: ${three(balance.in_w)} W of heat go in; ${three(balance.heatsink_w)} W leave by the heatsink, ${three(balance.convection_w)} W by convection, ${three(balance.radiation_w)} W by radiation; the balance closes to ${Math.abs(balance.relative_error).toExponential(0)}.`),
    make("p", {}, "Junction, voltage, light and heat: from the emitter sheet's curves, solved together with the field. Materials: the table in docs/keys.md, with a source in each row."),
    ...run.remarks.map((remark) => make("p", {}, `${remark.severity}: ${remark.text}`)),
  );
}

function showSolved() {
  const { run } = state.solved;
  showAnswer(run);
  showWay(run);
  showField();
  showTables(run);
  showOrdered();
}

function showCharts() {
  const names = state.lamp.variants.map((variant) => variant.variant).filter((name) => state.runs.has(name));
  const series = (value) => names.map((name) => ({
    name, points: state.runs.get(name).filter((run) => value(run) !== null && value(run) !== undefined).map((run) => [run.current_a, value(run)]),
  })).filter((one) => one.points.length);
  const limits = state.lamp.variants.map((variant) => variant.junction_limit_c).filter((limit) => limit !== null);
  const current = state.solved.run.current_a;
  const uprights = current > 0 ? [{ name: `${three(current)} A`, value: current }] : [];
  chart(by("chart-junction"), { title: "Hottest junction", unit: "degC", series: series((run) => run.hottest_junction_c), uprights, limits: limits.length ? [{ name: `junction limit ${Math.min(...limits)} degC`, value: Math.min(...limits) }] : [] });
  chart(by("chart-sensor"), { title: state.solved.run.sensors[0]?.name ?? "Sensor", unit: "degC", series: series((run) => run.sensors[0]?.reading_c ?? null), uprights, limits: state.lamp.board_limit_c ? [{ name: `board limit ${state.lamp.board_limit_c} degC`, value: state.lamp.board_limit_c }] : [] });
  chart(by("chart-light"), { title: "Light", unit: "lm", series: series((run) => (run.hottest_junction_c === null ? null : run.light_lm)), uprights });
  const at = names.map((name) => state.runs.get(name).find((run) => Math.abs(run.current_a - current) < 1e-9)).filter((run) => run?.hottest_junction_c);
  const answer = by("choices-answer");
  if (at.length >= 2) {
    const cool = at.reduce((a, b) => (b.hottest_junction_c < a.hottest_junction_c ? b : a));
    const warm = at.reduce((a, b) => (b.hottest_junction_c > a.hottest_junction_c ? b : a));
    const buys = warm.hottest_junction_c - cool.hottest_junction_c;
    answer.replaceChildren(`At ${three(current)} A, "${cool.variant}" instead of "${warm.variant}" buys `, make("strong", {}, `${number(buys)} K`), ` at the hottest junction and ${number(cool.light_lm - warm.light_lm, 0)} lm of light.`);
  } else if (at.length) {
    answer.replaceChildren(`There is one variant; its hottest junction reaches ${number(at[0].hottest_junction_c)} degC at ${three(current)} A.`);
  }
  fillTable(by("run-table"), "Each variant at each drive current", [
    { head: "variant", word: true, cell: (run) => run.variant },
    { head: "current, A", cell: (run) => three(run.current_a) },
    { head: "heat, W", cell: (run) => three(run.heat_w) },
    { head: "light, lm", cell: (run) => number(run.light_lm, 0) },
    { head: "junction, degC", cell: (run) => (run.state === "runaway" ? "runs away" : number(run.hottest_junction_c)) },
    { head: "solder point, degC", cell: (run) => number(run.hottest_solder_c) },
    { head: "board, degC", cell: (run) => number(run.hottest_board_c) },
    { head: "sensor, degC", cell: (run) => number(run.sensors[0]?.reading_c) },
  ], names.flatMap((name) => state.runs.get(name)), (run) => (run.limits.some((limit) => limit.margin < 0) ? "over" : ""));
}

function showOrdered() {
  const variant = variantOf(state.asked.variant);
  if (ordered.drawing !== variant.drawing) ordered.show(variant.drawing);
  const u = variant.understood;
  if (!u) return;
  const holes = u.plated_bores + u.unplated_bores;
  by("laid-answer").textContent = `"${variant.variant}": ${variant.title}; ${number(u.outline_area_mm2, 0)} mm\u00b2 of board with ${u.emitters.length} emitters and ${holes} holes, ${u.plated_bores} of them plated.`;
  const swatch = (name, text) => make("span", {}, make("i", { style: null, "data-ink": name }), text);
  by("ordered-key").replaceChildren(swatch("copper", "copper"), swatch("mask-open", "mask opening"), swatch("board", "board under mask"), swatch("hole", "hole"));
  by("ordered-key").querySelectorAll("i").forEach((i) => { i.style.background = `var(--${i.dataset.ink})`; });
  fillTable(by("layer-table"), "Layers from the emitter side down", [
    { head: "layer", word: true, cell: (l) => l.name },
    { head: "thickness, um", cell: (l) => number(l.thickness_um, 0) },
    { head: "area, mm\u00b2", cell: (l) => number(l.area_mm2, 0) },
    { head: "substance", word: true, cell: (l) => l.material },
    { head: "in plane, W/m/K", cell: (l) => three(l.kx_w_per_m_k) },
    { head: "through, W/m/K", cell: (l) => three(l.kz_w_per_m_k) },
    { head: "source", wide: true, cell: (l) => l.source },
  ], u.layers);
  const files = [
    ...(u.artwork?.layers ?? []).map((l) => [l.file, l.role, `${number(l.area_mm2, 1)} mm\u00b2 in ${l.pieces} ${l.pieces === 1 ? "piece" : "pieces"}`, l.role_source]),
    ...(u.artwork?.drills ?? []).map((d) => [d.file, "drill", d.tools.map((t) => `${number(t.diameter_mm, 2)} mm: ${t.hits} holes${t.slots ? `, ${t.slots} slots` : ""}`).join("; "), `digits ${d.digits}`]),
  ];
  by("file-table").hidden = !files.length;
  fillTable(by("file-table"), "Fabrication files", [
    { head: "file", word: true, cell: (f) => f[0] }, { head: "role", word: true, cell: (f) => f[1] },
    { head: "what is in it", word: true, cell: (f) => f[2] }, { head: "how known", word: true, cell: (f) => f[3] },
  ], files);
}

function readOut() {
  const place = field.mark;
  const says = by("readout");
  if (!place || !field.slice) { says.textContent = "Point at the board to read a temperature."; return; }
  const value = field.at(place);
  says.textContent = value === null ? "Nothing there." : `${number(value)} degC at ${number(place[0])}, ${number(place[1])} mm`;
  says.dataset.value = value === null ? "" : String(value);
}

function pointAt(place) {
  field.mark = place;
  field.draw();
  readOut();
}

function wire() {
  by("controls").addEventListener("submit", (event) => { event.preventDefault(); see(typed()); });
  by("controls").addEventListener("change", (event) => {
    if (event.target.id === "variant") {
      // The new variant's own values, but what was changed by hand stays.
      const [given, next, now] = [asGiven(state.filled), asGiven(by("variant").value), typed()];
      for (const name of ["bond", "heatsink"]) if (now[name] === given[name]) by(name).value = next[name];
    }
    see(typed());
  });
  by("undo").addEventListener("click", undo);
  by("redo").addEventListener("click", redo);
  by("as-given").addEventListener("click", () => see(asGiven(by("variant").value)));
  document.addEventListener("keydown", (event) => {
    if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z" && !event.altKey) {
      event.preventDefault();
      (event.shiftKey ? redo : undo)();
    }
  });
  by("depth").addEventListener("change", (event) => lookAt(Number(event.target.value)));
  by("emitter").addEventListener("change", (event) => choose(event.target.value));
  const canvas = by("field");
  canvas.addEventListener("pointermove", (event) => pointAt(field.place(event)));
  canvas.addEventListener("click", (event) => {
    const emitter = field.emitterAt(field.place(event));
    pointAt(field.place(event));
    if (emitter) choose(emitter.ref);
  });
  canvas.addEventListener("keydown", (event) => {
    const moves = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const move = moves[event.key];
    if (!move || !field.box) return;
    event.preventDefault();
    const far = event.shiftKey ? 5 : 0.5;
    const [x0, y0, x1, y1] = field.box;
    const from = field.mark ?? [(x0 + x1) / 2, (y0 + y1) / 2];
    pointAt([Math.min(x1, Math.max(x0, from[0] + far * move[0])), Math.min(y1, Math.max(y0, from[1] + far * move[1]))]);
  });
  by("shade").addEventListener("click", () => shade(document.documentElement.dataset.shade !== "dark"));
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", (event) => shade(event.matches));
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
  by("shade").setAttribute("aria-pressed", String(dark));
  by("shade").textContent = dark ? "Light paper" : "Dark paper";
  field.draw();
  ordered.draw();
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
  for (const id of ["sheet", "behind-hot", "way", "choices", "laid-out"]) by(id).hidden = true;
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
  fill(asGiven(state.lamp.variants[0].variant));
  await see(asGiven(state.lamp.variants[0].variant));
}

begin().catch((trouble) => {
  by("answer").textContent = "The page cannot be shown.";
  by("trouble").hidden = false;
  by("trouble").textContent = trouble instanceof TypeError && !state.lamp
    ? `The program does not answer; look at its terminal, or start "lampwright serve" again. (${trouble.message})`
    : `A mistake in the page, not in your lamp: ${trouble.message}`;
});
