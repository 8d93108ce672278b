// A run while it is recorded: what the program pushes is shown as it comes.

import { TimeChart } from "./timechart.js";
import { listenToButtons, tellReading, tellWindow } from "./timetelling.js";
import { count, fillTable, make, number } from "./words.js";

const at = (id) => document.getElementById(id);
const KEYS = ["sensor_c", "ambient_c", "drive_a"];
// A line is broken where this many samples are missing.
const BREAK_STEPS = 3;

// The course so far: times in s from the first sample, a list for each quantity.
const course = { time_s: [], sensor_c: [], ambient_c: [], drive_a: [] };
let first_s = null;

function take(points, anew) {
  if (anew) {
    for (const list of Object.values(course)) list.length = 0;
    first_s = null;
  }
  for (const point of points) {
    first_s ??= point.time_s;
    course.time_s.push(point.time_s - first_s);
    for (const key of KEYS) course[key].push(point[key]);
  }
}

// The stretch that is seen, in equal columns with their least, largest, first and last values; what is missing leaves its column out.
function columnsOf(key, { from_s, to_s, count }) {
  const out = { from_s, to_s, count, at: [], least: [], largest: [], first: [], last: [] };
  course.time_s.forEach((time, i) => {
    const value = course[key][i];
    if (time < from_s || time > to_s || value === null) return;
    const column = Math.min(count - 1, Math.floor(((time - from_s) / (to_s - from_s)) * count));
    const at = out.at.length - 1;
    if (out.at[at] === column) {
      out.least[at] = Math.min(out.least[at], value);
      out.largest[at] = Math.max(out.largest[at], value);
      out.last[at] = value;
    } else {
      out.at.push(column);
      for (const list of [out.least, out.largest, out.first, out.last]) list.push(value);
    }
  });
  return out;
}

let seen = null;
let limits = [];

function picture() {
  const break_s = (BREAK_STEPS * course.time_s.at(-1)) / Math.max(1, course.time_s.length - 1);
  const trace = (key, name, ink, rest) => ({ name, ink, break_s, columns: columnsOf(key, seen), ...rest });
  return {
    begin: "the first sample",
    panels: [
      { name: "Temperature", unit: "°C", tall: 3, room: 1, limits, traces: [trace("ambient_c", "room", "--second", { dash: [6, 4] }), trace("sensor_c", "board sensor", "--accent", { wide: 2 })] },
      { name: "Drive current", unit: "A", tall: 1, room: 0.05, fromZero: true, traces: [trace("drive_a", "drive current", "--ink", { wide: 1.8 })] },
    ],
  };
}

const chart = new TimeChart(at("log-chart"), {
  ask: (from_s, to_s, count) => {
    seen = { from_s, to_s, count };
    if (course.time_s.length < 2) return;
    chart.show(picture());
    at("log-chart").dataset.rows = course.time_s.length;
  },
  moved: tellWindow,
  read: (time, values) => tellReading(chart.window, time, values),
});
listenToButtons(() => chart);

function say(id, text) {
  const place = at(id);
  if (place.textContent !== (text ?? "")) place.textContent = text ?? "";
  place.hidden = !text;
}

function show(moment) {
  at("lamp-name").textContent = moment.lamp;
  document.title = `${moment.alarm ? "BREAK OFF - " : ""}${moment.run} - recording`;
  at("answer").textContent = moment.answer.replaceAll("+-", "±").replaceAll("degC", "°C");
  say("alarm", moment.alarm?.replaceAll("degC", "°C"));
  say("trouble", moment.trouble);
  at("abort").textContent = moment.abort_words.replaceAll("degC", "°C");
  const rows = [
    ["Board sensor", number(moment.sensor_c, 2), "°C"],
    ["Room", number(moment.ambient_c, 2), "°C"],
    ["Rise above the room", number(moment.rise_k, 2), "K"],
    ["Slope of the last minute", number(moment.slope_k_per_min, 2), "K/min"],
    ["Drive current", number(moment.drive_a, 3), "A"],
    ["Samples", String(moment.samples), ""],
  ];
  const board = moment.variant ? `, board ${moment.variant}` : "";
  fillTable(at("figures"), `Now: ${moment.run}${board}, from ${moment.source}, to ${moment.log}`, [
    { head: "what", word: true, cell: (row) => row[0] },
    { head: "value", cell: (row) => row[1] },
    { head: "unit", word: true, cell: (row) => row[2] },
  ], rows);
  at("notices").replaceChildren(...moment.notices.map((text) => make("li", {}, text)));
  at("unheard").textContent = moment.ended ? `The recording has ended: ${moment.ended}. ${count(moment.samples, "sample")}.` : "";
  limits = moment.abort && moment.sensor_c !== null && moment.sensor_c > moment.abort.above_c - 25
    ? [{ value: moment.abort.above_c, name: `break off above ${number(moment.abort.above_c, 0)} °C` }] : [];
  if (chart.picture) chart.show(picture());
  ended = moment.ended !== null;
}

let ended = false;
const news = new EventSource("api/live");
const points = (anew) => (event) => {
  take(JSON.parse(event.data), anew);
  if (course.time_s.length < 2) return;
  if (anew) chart.reset(0, course.time_s.at(-1));
  else chart.grow(course.time_s.at(-1));
};
news.addEventListener("anew", points(true));
news.addEventListener("points", points(false));
news.addEventListener("moment", (event) => show(JSON.parse(event.data)));
news.onerror = () => {
  if (ended) news.close();
  at("unheard").textContent = ended ? at("unheard").textContent
    : "The recording is not heard any more; the terminal says whether it still runs. What is shown is the last that was heard.";
};
