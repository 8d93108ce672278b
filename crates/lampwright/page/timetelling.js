// What a time chart says beside its picture: its buttons, the window it shows, and what is read at a time.

import { timeUnit, words } from "./timedrawing.js";
import { number } from "./words.js";

const by = (id) => document.getElementById(id);
const ACTS = { closer: (c) => c.zoom(0.5), farther: (c) => c.zoom(2), earlier: (c) => c.pan(-0.5), later: (c) => c.pan(0.5), whole: (c) => c.whole(), back: (c) => c.undo() };

// The buttons log-closer and so on move the chart that `chartNow` gives.
export function listenToButtons(chartNow) {
  for (const [name, act] of Object.entries(ACTS)) by(`log-${name}`).addEventListener("click", () => act(chartNow()));
}

// Shows which stretch is seen in #log-window, and which buttons would do something.
export function tellWindow(window) {
  const [seconds, unit] = timeUnit(window.span);
  const step = window.span / seconds / 100;
  const [from, to] = [window.from, window.to].map((time) => words(time / seconds, step));
  by("log-window").textContent = window.isWhole ? `The whole log: ${to} ${unit}.` : `From ${from} to ${to} ${unit}.`;
  by("log-back").disabled = !window.past.length;
  for (const name of ["farther", "whole", "earlier", "later"]) by(`log-${name}`).disabled = window.isWhole;
}

// Shows in #log-readout what stands at a time of the window; what to do where none is read.
export function tellReading(window, time, values) {
  if (time === null) { by("log-readout").textContent = "Point at the chart, or use the arrow keys on it, to read a time."; return; }
  const [seconds, unit] = timeUnit(window.span);
  const at = `${words(time / seconds, window.span / seconds / 300)}\u00a0${unit}`;
  const said = values.map((one) => {
    const digits = one.unit === "A" ? 3 : 1;
    const [low, high] = [number(one.least, digits), number(one.largest, digits)];
    return `${one.name} ${low === high ? low : `${low} to ${high}`}\u00a0${one.unit}`;
  });
  by("log-readout").textContent = said.length ? `At ${at}: ${said.join(", ")}.` : `At ${at}: nothing was recorded.`;
}
