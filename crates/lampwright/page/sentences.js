// The answers, in plain sentences; a number keeps to the same line as its unit.

import { count, make, number, plain, three } from "./words.js";

const strong = (...words) => make("strong", {}, ...words);

function plusMinus(run, least, digits) {
  return number(Math.max(run.grid_error_k, least), digits);
}

// The limits that are passed, the worst of each kind by name.
function overWords(over) {
  if (!over.length) return [];
  const kinds = new Map();
  for (const limit of over) {
    const kind = limit.what.replace(/ of .*/, "");
    kinds.set(kind, [...(kinds.get(kind) ?? []), limit]);
  }
  const worst = [...kinds.values()].map((all) => {
    const first = all.reduce((a, b) => (b.margin < a.margin ? b : a));
    const unit = first.unit === "degC" ? "K" : first.unit;
    const more = all.length > 1 ? ` (and ${all.length - 1} more)` : "";
    return `${first.what} by ${number(-first.margin, unit === "K" ? 0 : 2)}\u00a0${unit}${more}`;
  });
  return [" ", strong("Over its limit"), `: ${worst.join(", ")}.`];
}

// How branches side by side share the current: the most uneven of them, and the worst case of the voltage tolerance.
function sharingWords({ sharing }) {
  if (!sharing) return [];
  const groups = sharing.groups.filter((group) => group.imbalance_percent !== null);
  if (!groups.length) return [];
  const uneven = groups.reduce((a, b) => (b.imbalance_percent > a.imbalance_percent ? b : a));
  const first = uneven.branches.reduce((a, b) => (b.current_a > a.current_a ? b : a));
  const { worst } = uneven;
  const atWorst = !worst ? "" : worst.runs_away
    ? `, and within the voltage tolerance ${worst.branch} may come to take nearly all`
    : `, and at worst within the voltage tolerance ${worst.branch} takes ${number(worst.current_a, 2)}\u00a0A, ${number(worst.imbalance_percent, 0)}\u00a0% above`;
  return [` Of the shared current ${first.name} takes ${number(first.current_a, 2)}\u00a0A, ${number(uneven.imbalance_percent, 1)}\u00a0% above an even share${atWorst}.`];
}

// How hot does it get? `named`: the lamp has several variants, so that the sentence must say which.
export function hotAnswer(run, named) {
  const of = named ? `With "${run.variant}" at` : "At";
  const where = `${of} ${run.emitters.length ? `${plain(run.current_a)}\u00a0A and ` : ""}${plain(run.ambient_c)}\u00a0degC`;
  if (run.state === "runaway" && run.sharing) {
    const one = run.sharing.groups.find((group) => group.runs_away)?.runs_away ?? "one of the branches";
    return [`${where} `, strong("the shared current runs away"), `: as it gets hotter, ${one} takes ever more of it. Drive each branch by itself, put a resistor in series with each, or cool them better and closer together.`];
  }
  if (run.state === "runaway") {
    return [`${where} `, strong("there is no steady state"), ". The heat grows faster with the temperature than the lamp can shed it. Lower the current, or the resistance to the room."];
  }
  const also = overWords(run.limits.filter((limit) => limit.margin < 0 && !/^junction/.test(limit.what))).concat(sharingWords(run));
  if (!run.hottest_emitter) {
    return [`${where} the hottest place of the board reaches `, strong(`${number(run.hottest_board_c)} \u00b1 ${plusMinus(run, 0.05, 1)}\u00a0degC`), ".", ...also];
  }
  const emitter = run.emitters.find((one) => one.ref === run.hottest_emitter);
  const margin = emitter.junction_margin_k;
  return [
    `${where} the hottest junction, ${emitter.ref}, reaches `,
    strong(`${number(emitter.junction_c, 0)} \u00b1 ${plusMinus(run, 0.5, 0)}\u00a0degC`),
    ": ", margin >= 0 ? `${number(margin, 0)}\u00a0K below` : strong(`${number(-margin, 0)}\u00a0K above`), ` its limit of ${number(emitter.junction_limit_c, 0)}\u00a0degC.`,
    ...also,
  ];
}

// What does each choice buy? `at`: each variant's run at the current that was asked, where it is steady; `of`: how many
// variants there are.
export function choiceAnswer(at, of, current) {
  if (!at.length) return [of > 1 ? "No variant has a steady state here." : "There is one variant, and it has no steady state here."];
  if (at.length === 1 && of > 1) return ["Only ", strong(`"${at[0].variant}"`), " has a steady state here."];
  const emitters = at.every((run) => run.hottest_junction_c !== null);
  const hot = (run) => (emitters ? run.hottest_junction_c : run.hottest_board_c);
  const place = emitters ? "hottest junction" : "hottest place of the board";
  const start = emitters ? `At ${plain(current)}\u00a0A, ` : "";
  if (at.length === 1) {
    return [`One variant is given, "${at[0].variant}", so there is nothing to weigh it against yet. Another [variant.NAME] in lamp.toml would stand beside it here.`];
  }
  const cool = at.reduce((a, b) => (hot(b) < hot(a) ? b : a));
  const warm = at.reduce((a, b) => (hot(b) > hot(a) ? b : a));
  const buys = hot(warm) - hot(cool);
  // Both grids may err, each its own way.
  const doubt = Math.max(warm.grid_error_k + cool.grid_error_k, 0.05);
  if (buys <= doubt) return [`${start}the variants differ by ${number(buys)}\u00a0K at the ${place}: no more than the grid's error of ${number(doubt)}\u00a0K.`];
  const light = cool.light_lm - warm.light_lm;
  return [
    `${start}"${cool.variant}" instead of "${warm.variant}" buys `, strong(`${number(buys)} \u00b1 ${number(doubt)}\u00a0K`), ` at the ${place}`,
    !emitters ? "." : light >= 0 ? ` and ${number(light, 0)}\u00a0lm of light.` : ` and costs ${number(-light, 0)}\u00a0lm of light.`,
  ];
}

// What did I lay out?
export function laidOut(variant) {
  const u = variant.understood;
  const holes = u.plated_bores + u.unplated_bores;
  const drilled = !holes ? "no holes" : u.plated_bores ? `${count(holes, "hole")}, ${u.plated_bores} of them plated` : `${count(holes, "hole")}, none plated`;
  const patches = variant.drawing.heat_patches.length;
  const parts = u.emitters.length || !patches ? count(u.emitters.length, "emitter") : count(patches, "warm part");
  return `"${variant.variant}": ${variant.title}; ${number(u.outline_area_mm2, 0)}\u00a0mm\u00b2 of board with ${parts} and ${drilled}.`;
}

// Where are the kelvins lost?
export function wayAnswer(emitter, path, nameOf) {
  const total = path.reduce((sum, step) => sum + step.drop_k, 0);
  const largest = path.reduce((a, b) => (b.drop_k > a.drop_k ? b : a));
  return `Of the ${number(total)}\u00a0K from ${emitter.ref}'s junction to the room, most are lost at the step "${nameOf(largest)}": ${number(largest.drop_k)}\u00a0K.`;
}

// Where do these numbers come from?
export function sources(run) {
  const balance = run.energy_balance;
  return [
    `Temperatures: steady heat conduction through ${run.cells.toLocaleString("en")} cells built from the artwork and lamp.toml, finest pitch ${number(run.pitch_mm, 3)} mm, ${run.iterations} iterations. The \u00b1 is the grid's error of the hottest temperatures, ${number(run.grid_error_k, 2)} K, from solving on a second, coarser grid; it does not hold the doubt of materials, emitter sheet, bond line or heatsink.`,
    `Energy: ${three(balance.in_w)} W of heat go in; ${three(balance.heatsink_w)} W leave by the heatsink, ${three(balance.convection_w)} W by convection, ${three(balance.radiation_w)} W by radiation; the balance closes to ${Math.abs(balance.relative_error).toExponential(0)}.`,
    "Junction, voltage, light and heat: from the emitter sheet's curves, solved together with the field. Materials: the table in docs/keys.md, with a source in each row.",
    ...run.remarks.map((remark) => `${remark.severity}: ${remark.text}`),
  ];
}
