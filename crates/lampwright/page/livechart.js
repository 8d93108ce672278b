// A chart over time that can be zoomed and panned, of logs of any length: it asks its source for no more points than it has
// picture columns, and asks again for what it shows when that changes.
//
//   const chart = new TimeChart(place, { label, panels, source, begin });
//   chart.reach([0, 5400]);            the whole time there is, s; a window at its end follows it (a log that grows)
//   chart.dress({ spans, ... });       what is drawn over the lines
//   chart.look([600, 1200]);           shows a part of it; chart.whole(), chart.back(), chart.zoom(0.5), chart.pan(0.25)
//   chart.refresh();                   asks the source again
//
// panels: [{ title, unit, share, series: [{ key, name, colour, dash, width, step }], fromZero }], from the top down; `share` of the height;
//   `step`: values hold until the next (a drive current).
// source(from_s, to_s, columns, signal): { key: { time_s: [...], value: [...] } }, or a promise of it; times rise, at most two points
//   for a column (least and greatest, in their order) and one beyond each end; a value of null breaks the line. Without a source `give`
//   hands points over.
// dress: { spans: [{ from_s, to_s, label }], curves: [{ panel, time_s, value }], levels: [{ panel, from_s, to_s, value, low, high, label }],
//   flags: [{ at_s, number, text }], gaps: [{ from_s, to_s }], limits: [{ panel, value, name }] }; each may be missing. Limits are always in
//   the picture, the rest where the window shows it.
// Fires "window" (the window was moved), "drawn" (the source's points for it are shown) and "trouble" (detail: an Error of the source).

import { plot } from "./liveplot.js";
import { inUnit, unitFor } from "./livescale.js";
import { make, number } from "./words.js";

const ASK_AFTER_MS = 60;
// Wheel turns and keys that follow one another faster than this are undone together.
const ONE_MOVE_MS = 900;
const LEAST_COLUMNS = 160;
const KEEP = 50;

// A window moved into the whole, no shorter than `least` and no longer than it.
export function within([from, to], [begin, end], least) {
  const span = Math.min(Math.max(to - from, least), end - begin);
  const middle = (from + to) / 2;
  const start = Math.min(Math.max(middle - span / 2, begin), end - span);
  return span >= end - begin ? [begin, end] : [start, start + span];
}

// A window stretched by a factor, so that `about` stays where it is.
export function stretched([from, to], factor, about) {
  return [about - (about - from) * factor, about + (to - about) * factor];
}

export class TimeChart extends EventTarget {
  constructor(place, { label, panels, source = null, begin = "the first row" }) {
    super();
    Object.assign(this, { place, label, panels, source, begin, marks: {}, all: [0, 1], window: [0, 1], coarse: {}, fine: null, past: [], mark: null });
    this.picture = make("div", { class: "time-picture", tabindex: 0, role: "application", "aria-roledescription": "chart" });
    this.says = make("p", { class: "readout", "aria-live": "polite" });
    this.place.classList.add("time-chart");
    this.place.replaceChildren(this.picture, this.buttons(), this.says);
    this.listen();
    this.resized = new ResizeObserver(() => { if (this.picture.clientWidth !== this.width) this.refresh(); });
    this.resized.observe(this.picture);
  }

  // The chart goes: nothing is asked or watched any more.
  close() {
    this.resized.disconnect();
    clearTimeout(this.later);
    this.asking?.abort();
  }

  // ---- what is there

  reach(all) {
    const [begin, end] = all[1] > all[0] ? all : [all[0], all[0] + 1];
    const follows = this.window[1] >= this.all[1] - 1e-9;
    const whole = this.isWhole;
    this.all = [begin, end];
    const span = this.window[1] - this.window[0];
    if (whole) this.window = [begin, end];
    else this.window = within(follows ? [end - span, end] : this.window, this.all, this.least);
    this.refresh();
  }

  // Another log: what was shown and where is forgotten.
  restart(all) {
    Object.assign(this, { all: [0, 1], window: [0, 1], past: [], coarse: {}, fine: null, mark: null, marks: {} });
    this.reach(all);
  }

  dress(marks) { this.marks = marks; this.draw(); }

  give(points) { this.coarse = points; this.fine = null; this.draw(); }

  get least() { return Math.max(1e-3, 1e-7 * (this.all[1] - this.all[0])); }
  // What a zoom keeps in its place: the reading mark, else the middle.
  get middle() {
    const [from, to] = this.window;
    return this.mark !== null && this.mark >= from && this.mark <= to ? this.mark : (from + to) / 2;
  }
  get isWhole() { return this.window[0] <= this.all[0] && this.window[1] >= this.all[1]; }
  get unit() { return unitFor(this.window[1] - this.window[0]); }

  // ---- what is shown

  // `undoable`: the window left can be gone back to.
  look(window, undoable = true) {
    const next = within(window, this.all, this.least);
    if (next[0] === this.window[0] && next[1] === this.window[1]) return;
    const now = performance.now();
    if (undoable && now - (this.moved ?? -Infinity) > ONE_MOVE_MS) this.past = [...this.past.slice(-KEEP), this.window];
    if (undoable) this.moved = now;
    this.window = next;
    this.changed();
  }

  zoom(factor, about = this.middle) { this.look(stretched(this.window, factor, about)); }
  pan(part) {
    const by = part * (this.window[1] - this.window[0]);
    this.look([this.window[0] + by, this.window[1] + by]);
  }
  whole() { this.look(this.all); }
  back() {
    const to = this.past.pop();
    if (!to) return;
    this.moved = -Infinity;
    this.window = within(to, this.all, this.least);
    this.changed();
  }

  changed() {
    this.draw();
    this.dispatchEvent(new Event("window"));
    clearTimeout(this.later);
    this.later = setTimeout(() => this.refresh(), ASK_AFTER_MS);
  }

  async refresh() {
    this.draw();
    if (!this.source || !this.columns) return;
    this.asking?.abort();
    const asking = (this.asking = new AbortController());
    const [from, to] = this.window;
    const whole = this.isWhole;
    try {
      const points = await this.source(from, to, this.columns, asking.signal);
      if (asking.signal.aborted || !points) return;
      if (whole) [this.coarse, this.fine] = [points, null];
      else this.fine = { from, to, points };
      this.draw();
      this.dispatchEvent(new Event("drawn"));
    } catch (error) {
      if (!asking.signal.aborted) this.dispatchEvent(new CustomEvent("trouble", { detail: error }));
    }
  }

  // The points of a line: the fine ones where they reach, the coarse ones beyond.
  points(key) {
    const coarse = this.coarse[key] ?? { time_s: [], value: [] };
    const fine = this.fine?.points[key];
    if (!fine) return coarse;
    const part = (keep) => coarse.time_s.map((_, index) => index).filter((index) => keep(coarse.time_s[index]));
    const [before, after] = [part((time) => time < (fine.time_s[0] ?? this.fine.from)), part((time) => time > (fine.time_s.at(-1) ?? this.fine.to))];
    const of = (name) => [...before.map((index) => coarse[name][index]), ...fine[name], ...after.map((index) => coarse[name][index])];
    return { time_s: of("time_s"), value: of("value") };
  }

  draw() {
    this.width = this.picture.clientWidth;
    if (!this.width) return;
    const series = this.panels.flatMap((panel) => panel.series.map((one) => one.key));
    const points = Object.fromEntries(series.map((key) => [key, this.points(key)]));
    this.drawn = plot(this.picture, {
      panels: this.panels, marks: this.marks, window: this.window, begin: this.begin, unit: this.unit, mark: this.mark, chosen: this.chosen, points, width: this.width,
    });
    this.columns = Math.max(LEAST_COLUMNS, Math.round(this.drawn.right - this.drawn.left));
    this.picture.setAttribute("aria-label", `${this.label}. ${this.windowWords()}. Left and right arrow move the reading mark, with shift ten times as far; plus and minus zoom; 0 shows the whole; Backspace goes back.`);
    this.picture.dataset.from = String(this.window[0]);
    this.picture.dataset.to = String(this.window[1]);
    this.undo.disabled = !this.past.length;
    this.all_button.disabled = this.isWhole;
    for (const [button, at] of [[this.earlier, this.window[0] <= this.all[0]], [this.further, this.window[1] >= this.all[1]]]) button.disabled = at;
    this.closer.disabled = this.window[1] - this.window[0] <= this.least * 1.001;
    this.wider.disabled = this.isWhole;
    this.read();
  }

  windowWords() {
    const [from, to] = this.window.map((time) => inUnit(time, this.unit, this.window[1] - this.window[0]));
    return `Shown: ${from} to ${to} ${this.unit.word}${this.isWhole ? ", the whole log" : ""}`;
  }

  // ---- what is read off

  read() {
    if (this.mark === null) {
      this.says.textContent = `${this.windowWords()}. Point at the chart to read it; drag over a part to see it larger.`;
      return;
    }
    const near = (1.5 * (this.window[1] - this.window[0])) / this.columns;
    const told = this.panels.flatMap((panel) => panel.series.map((one) => {
      const values = this.valuesAt(one, near);
      if (!values.length) return null;
      const [low, high] = [Math.min(...values), Math.max(...values)];
      const digits = panel.digits ?? 2;
      return `${one.name} ${number(low, digits)}${high - low >= 0.5 * 10 ** -digits ? ` to ${number(high, digits)}` : ""}\u00a0${panel.unit}`;
    })).filter(Boolean);
    this.says.textContent = `At ${inUnit(this.mark, this.unit, this.window[1] - this.window[0])} ${this.unit.word}: ${told.join(", ") || "nothing was logged"}`;
  }

  // Values of a line within a column or two of the mark; else the nearest, unless the line is broken there.
  valuesAt({ key, step }, near) {
    const { time_s: times, value: values } = this.points(key);
    const after = times.findIndex((time) => time >= this.mark);
    const close = [];
    for (let i = 0; i < times.length; i++) if (Math.abs(times[i] - this.mark) <= near / 2 && values[i] !== null) close.push(values[i]);
    if (close.length) return close;
    if (after < 1 || values[after] === null || values[after - 1] === null) return [];
    if (step) return [values[after - 1]];
    return [values[this.mark - times[after - 1] < times[after] - this.mark ? after - 1 : after]];
  }

  point(time) {
    this.mark = time === null ? null : Math.min(Math.max(time, this.window[0]), this.window[1]);
    this.draw();
  }

  // ---- hands

  buttons() {
    const button = (words, does) => {
      const made = make("button", { type: "button" }, words);
      made.addEventListener("click", does);
      return made;
    };
    this.closer = button("Closer", () => this.zoom(0.5));
    this.wider = button("Wider", () => this.zoom(2));
    this.earlier = button("Earlier", () => this.pan(-0.5));
    this.further = button("Later", () => this.pan(0.5));
    this.all_button = button("Whole log", () => this.whole());
    this.undo = button("Back", () => this.back());
    return make("p", { class: "row time-buttons" }, this.closer, this.wider, this.earlier, this.further, this.all_button, this.undo);
  }

  listen() {
    const { picture } = this;
    this.fingers = new Map();
    picture.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    picture.addEventListener("keydown", (event) => this.key(event));
    picture.addEventListener("pointerdown", (event) => this.down(event));
    picture.addEventListener("pointermove", (event) => this.move(event));
    for (const kind of ["pointerup", "pointercancel"]) picture.addEventListener(kind, (event) => this.up(event, kind === "pointerup"));
    picture.addEventListener("pointerleave", (event) => { if (event.pointerType === "mouse" && !this.drag) this.point(null); });
  }

  // The time under a pointer, s.
  time(event) { return this.drawn.time(event.clientX - this.picture.getBoundingClientRect().left); }

  // Turned without Ctrl the wheel scrolls the page, unless the chart was chosen by a click or the keyboard.
  wheel(event) {
    if (!event.ctrlKey && !event.metaKey && document.activeElement !== this.picture) return;
    const sideways = Math.abs(event.deltaX) > Math.abs(event.deltaY);
    if (!sideways && event.deltaY > 0 && this.isWhole && !event.ctrlKey) return;
    event.preventDefault();
    const turn = event.deltaMode === 1 ? 30 : 1;
    if (sideways) this.pan((event.deltaX * turn) / this.columns);
    else this.zoom(Math.exp(Math.min(1, Math.max(-1, event.deltaY * turn * 0.002))), this.time(event));
  }

  down(event) {
    if (event.button !== 0 || !this.drawn) return;
    const box = this.picture.getBoundingClientRect();
    const onAxis = event.clientY - box.top > this.drawn.bottom;
    this.fingers.set(event.pointerId, event.clientX - box.left);
    this.picture.setPointerCapture(event.pointerId);
    const pans = event.pointerType === "touch" || event.shiftKey || onAxis;
    this.drag = { pans, from: event.clientX - box.left, window: this.window, fingers: [...this.fingers.entries()], moved: false };
  }

  move(event) {
    const x = event.clientX - this.picture.getBoundingClientRect().left;
    if (!this.drag) {
      this.point(this.drawn ? this.drawn.time(x) : null);
      return;
    }
    if (!this.fingers.has(event.pointerId)) return;
    this.fingers.set(event.pointerId, x);
    if (this.fingers.size === 2) { this.pinch(); return; }
    if (Math.abs(x - this.drag.from) < 4 && !this.drag.moved) return;
    this.drag.moved = true;
    const { left, right } = this.drawn;
    const [from, to] = this.drag.window;
    if (this.drag.pans) {
      const by = ((this.drag.from - x) * (to - from)) / (right - left);
      this.look([from + by, to + by]);
    } else {
      this.chosen = [this.drag.from, x].map((at) => this.drawn.time(at)).sort((a, b) => a - b);
      this.draw();
    }
  }

  // Two fingers: the times under them stay under them.
  pinch() {
    const { left, right } = this.drawn;
    const [from, to] = this.drag.window;
    const [a, b] = this.drag.fingers.map(([, x]) => from + ((x - left) * (to - from)) / (right - left));
    const [p, q] = this.drag.fingers.map(([finger]) => this.fingers.get(finger));
    if (p === undefined || q === undefined || Math.abs(p - q) < 8) return;
    const scale = (b - a) / (q - p);
    if (!(scale > 0)) return;
    this.drag.moved = true;
    const start = a - (p - left) * scale;
    this.look([start, start + (right - left) * scale]);
  }

  up(event, meant) {
    this.fingers.delete(event.pointerId);
    const { drag, chosen } = this;
    if (this.fingers.size) {
      // One finger stays and pans on from here.
      const [[, x]] = this.fingers;
      this.drag = { ...drag, pans: true, from: x, window: this.window, fingers: [...this.fingers.entries()] };
      return;
    }
    this.drag = this.chosen = null;
    if (meant && drag && !drag.moved) this.point(this.time(event));
    if (meant && chosen && drag?.moved && chosen[1] > chosen[0]) this.look(chosen);
    else this.draw();
  }

  key(event) {
    const far = (event.shiftKey ? 50 : 5) * ((this.window[1] - this.window[0]) / this.columns);
    const does = {
      ArrowLeft: () => this.step(-far), ArrowRight: () => this.step(far), PageUp: () => this.pan(-0.5), PageDown: () => this.pan(0.5),
      "+": () => this.zoom(0.5), "=": () => this.zoom(0.5), "-": () => this.zoom(2), 0: () => this.whole(), Backspace: () => this.back(),
    }[event.key];
    const undoes = (event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z" && this.past.length;
    if (event.key === "Escape" && this.chosen) {
      this.drag = this.chosen = null;
      this.draw();
    } else if (undoes) this.back();
    else if (!does || event.ctrlKey || event.metaKey || event.altKey) return;
    else does();
    event.preventDefault();
    // The page's own undo is not meant.
    event.stopPropagation();
  }

  // Moves the reading mark; at an edge the window goes along.
  step(by) {
    const [from, to] = this.window;
    const next = (this.mark ?? (from + to) / 2) + by;
    if (next < from) this.look([next, to - (from - next)], false);
    if (next > to) this.look([from + (next - to), next], false);
    this.point(next);
  }
}
