// A run while it is recorded: what the program pushes is shown as it comes.

import { TimeChart } from "./livechart.js";
import { count, fillTable, make, number } from "./words.js";

const at = (id) => document.getElementById(id);
const KEYS = ["sensor_c", "ambient_c", "drive_a"];

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

// Least and greatest of each picture column, in their order, and one point beyond each end; a gap stays a gap.
function thinned(key, from_s, to_s, columns) {
  const { time_s: times } = course;
  let begin = times.findIndex((time) => time >= from_s);
  if (begin < 0) begin = times.length;
  let end = begin;
  while (end < times.length && times[end] <= to_s) end++;
  [begin, end] = [Math.max(0, begin - 1), Math.min(times.length, end + 1)];
  const every = Math.max(1, Math.ceil((end - begin) / columns));
  const out = { time_s: [], value: [] };
  const put = (i) => { out.time_s.push(times[i]); out.value.push(course[key][i]); };
  for (let i = begin; i < end; i += every) {
    const last = Math.min(i + every, end);
    if (every < 3) {
      for (let k = i; k < last; k++) put(k);
      continue;
    }
    let [low, high, missing] = [-1, -1, -1];
    for (let k = i; k < last; k++) {
      if (course[key][k] === null) missing = k;
      else {
        if (low < 0 || course[key][k] < course[key][low]) low = k;
        if (high < 0 || course[key][k] > course[key][high]) high = k;
      }
    }
    for (const k of [...new Set([low, high, low < 0 ? missing : -1])].filter((k) => k >= 0).sort((a, b) => a - b)) put(k);
  }
  return out;
}

const chart = new TimeChart(at("chart"), {
  label: "The run so far",
  begin: "the first sample",
  panels: [
    { title: "temperature", unit: "°C", share: 3, series: [
      { key: "sensor_c", name: "board sensor", colour: "var(--accent)", width: 2 },
      { key: "ambient_c", name: "room", colour: "var(--second)", dash: "6 4" },
    ] },
    { title: "drive current", unit: "A", share: 1, fromZero: true, series: [
      { key: "drive_a", name: "drive current", colour: "var(--ink)", step: true },
    ] },
  ],
  source: (from_s, to_s, columns) => Object.fromEntries(KEYS.map((key) => [key, thinned(key, from_s, to_s, columns)])),
});

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
  const limits = moment.abort && moment.sensor_c !== null && moment.sensor_c > moment.abort.above_c - 25
    ? [{ panel: 0, value: moment.abort.above_c, name: `break off above ${number(moment.abort.above_c, 0)} °C` }] : [];
  chart.dress({ limits });
  ended = moment.ended !== null;
}

let ended = false;
const news = new EventSource("api/live");
const points = (anew) => (event) => {
  take(JSON.parse(event.data), anew);
  if (course.time_s.length > 1) chart.reach([0, course.time_s.at(-1)]);
};
news.addEventListener("anew", points(true));
news.addEventListener("points", points(false));
news.addEventListener("moment", (event) => show(JSON.parse(event.data)));
news.onerror = () => {
  if (ended) news.close();
  at("unheard").textContent = ended ? at("unheard").textContent
    : "The recording is not heard any more; the terminal says whether it still runs. What is shown is the last that was heard.";
};
