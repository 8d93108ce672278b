// A chart over time that can be looked at closer and moved: by wheel, drag, two fingers, keyboard and buttons; steps can be
// undone. It draws what it is given and asks for more detail when another stretch is looked at; where the values come from is
// the caller's: a server that thins millions of rows, or rows as they arrive.
//
//   const chart = new TimeChart(canvas, { ask(from_s, to_s, columns), moved(window), read(time_s, values) });
//   chart.reset(0, 8700)      another recording, all of it shown
//   chart.grow(8701)          rows have arrived; who looks at all of it, or at its end, goes on doing so
//   chart.show(picture)       what is drawn: {panels, spans, gaps, marks, begin}, times in s; begin: what they count from, in words
//     panels  [{name, unit, tall, fromZero, traces: [{name, ink, wide, dash, break_s, columns}], levels, curves, limits}]
//     columns {from_s, to_s, count, at, least, largest, first, last}: a stretch in `count` equal columns; at[i] is the column of
//             the i-th value; columns without a value are left out
//     levels  [{from_s, to_s, value, low, high}]    curves [{points: [[time_s, value]]}]    limits [{value, name}], always in the picture
//     spans   [{from_s, to_s, used_from_s, used_to_s, name, number}]    gaps [{from_s, to_s}]    marks [{at_s, letter}]
//   chart.zoom(factor), chart.pan(part), chart.whole(), chart.undo()    for buttons
// `ask` is called a moment after the window has come to rest; until its answer is shown, the old values are drawn at their new places.

import { draw } from "./timedrawing.js";
import { TimeWindow } from "./timewindow.js";

const REST_MS = 70;
const WHEEL = 0.0016;
const DRAG_PX = 5;

export class TimeChart {
  constructor(canvas, { ask = () => {}, moved = () => {}, read = () => {}, height = (width) => Math.min(560, Math.max(380, 0.5 * width)) } = {}) {
    Object.assign(this, { canvas, ask, moved, read, heightFor: height, picture: null, place: null, reading: null, chosen: null, fingers: new Map(), timer: 0, queued: false });
    this.window = new TimeWindow();
    this.listen();
    new ResizeObserver(() => this.resized()).observe(canvas.parentElement);
  }

  reset(from_s, to_s) {
    this.window.reset(from_s, to_s);
    this.window.least_s = Math.max(1e-3, (to_s - from_s) * 1e-7);
    this.reading = null;
    this.changed();
  }

  grow(to_s) {
    this.window.setWhole(this.window.begin, to_s);
    this.changed();
  }

  show(picture) {
    this.picture = picture;
    this.redraw();
  }

  zoom(factor, at) { return this.step(this.window.zoom(factor, at)); }
  pan(part) { return this.step(this.window.pan(part * this.window.span)); }
  whole() { return this.step(this.window.whole()); }
  undo() { return this.step(this.window.undo()); }

  step(anything) {
    if (anything) this.changed();
    return anything;
  }

  // Columns that the drawing has: one for each point of the screen's width.
  get columns() { return Math.max(100, Math.min(1200, Math.round(this.canvas.clientWidth - 72))); }

  changed() {
    this.moved(this.window);
    this.redraw();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.ask(this.window.from, this.window.to, this.columns), REST_MS);
  }

  resized() {
    const width = this.canvas.parentElement.clientWidth;
    if (!width || width === this.width) return;
    this.width = width;
    this.redraw();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.ask(this.window.from, this.window.to, this.columns), REST_MS);
  }

  redraw() {
    if (this.queued) return;
    this.queued = true;
    requestAnimationFrame(() => { this.queued = false; this.draw(); });
  }

  draw() {
    if (!this.picture) return;
    const style = getComputedStyle(this.canvas);
    const frame = getComputedStyle(this.canvas.parentElement);
    const width = this.canvas.parentElement.clientWidth - parseFloat(frame.paddingLeft) - parseFloat(frame.paddingRight);
    if (width <= 0) return;
    const height = this.heightFor(width);
    const ratio = window.devicePixelRatio || 1;
    const [w, h] = [Math.round(width * ratio), Math.round(height * ratio)];
    if (this.canvas.width !== w || this.canvas.height !== h) {
      [this.canvas.width, this.canvas.height] = [w, h];
      this.canvas.style.width = `${width}px`;
      this.canvas.style.height = `${height}px`;
    }
    const c = this.canvas.getContext("2d");
    c.setTransform(ratio, 0, 0, ratio, 0, 0);
    this.place = draw(c, { width, height, font: style.fontFamily }, this.picture, this.window, (name) => style.getPropertyValue(name), this.chosen, this.reading);
  }

  timeAt(x) {
    const { left, right } = this.place;
    return this.window.from + ((x - left) / (right - left)) * this.window.span;
  }

  // What stands at a time: of each trace the values of its column there.
  readAt(time) {
    if (!this.picture) return;
    this.reading = time === null ? null : Math.min(this.window.to, Math.max(this.window.from, time));
    const values = this.reading === null ? [] : this.picture.panels.flatMap((panel) => panel.traces.flatMap((trace) => {
      const { from_s, to_s, count, at, least, largest } = trace.columns;
      const column = Math.floor(((this.reading - from_s) / (to_s - from_s)) * count);
      const index = nearest(at, column);
      const width = (to_s - from_s) / count;
      return index < 0 || Math.abs(at[index] - column) > Math.max(1, (trace.break_s ?? 0) / width) ? [] : [{ name: trace.name, unit: panel.unit, least: least[index], largest: largest[index] }];
    }));
    this.read(this.reading, values);
    this.redraw();
  }

  listen() {
    const { canvas } = this;
    const x = (event) => event.clientX - canvas.getBoundingClientRect().left;
    canvas.addEventListener("wheel", (event) => {
      if (!this.place) return;
      const scale = event.deltaMode === 1 ? 16 : 1;
      const sideways = Math.abs(event.deltaX) > Math.abs(event.deltaY);
      const moved = sideways
        ? this.pan((event.deltaX * scale) / (this.place.right - this.place.left))
        : this.zoom(Math.exp(event.deltaY * scale * WHEEL * (event.ctrlKey ? 4 : 1)), this.timeAt(x(event)));
      // At the whole view there is nothing farther: the page scrolls on.
      if (moved) event.preventDefault();
    }, { passive: false });
    canvas.addEventListener("pointerdown", (event) => this.down(event, x(event)));
    canvas.addEventListener("pointermove", (event) => this.move(event, x(event)));
    canvas.addEventListener("pointerup", (event) => this.up(event, x(event)));
    canvas.addEventListener("pointercancel", (event) => { this.fingers.delete(event.pointerId); this.chosen = null; this.redraw(); });
    canvas.addEventListener("pointerleave", () => { if (!this.fingers.size && document.activeElement !== canvas) this.readAt(null); });
    canvas.addEventListener("dblclick", (event) => this.zoom(0.25, this.timeAt(x(event))));
    canvas.addEventListener("keydown", (event) => this.key(event));
  }

  down(event, x) {
    if (!this.place || event.button > 0) return;
    this.canvas.setPointerCapture(event.pointerId);
    this.fingers.set(event.pointerId, { x, from: x });
    const pans = event.pointerType === "touch" || event.shiftKey;
    this.drag = { pans, window: [this.window.from, this.window.to], at: this.timeAt(x) };
    if (this.fingers.size === 2) this.chosen = null;
  }

  move(event, x) {
    const finger = this.fingers.get(event.pointerId);
    if (!finger) {
      if (this.place && event.pointerType !== "touch") this.readAt(this.timeAt(x));
      return;
    }
    const before = [...this.fingers.values()].map((one) => one.x);
    finger.x = x;
    if (this.fingers.size === 2) {
      const now = [...this.fingers.values()].map((one) => one.x);
      const middle = this.timeAt((now[0] + now[1]) / 2);
      const apart = Math.max(10, Math.abs(now[0] - now[1]));
      this.zoom(Math.max(10, Math.abs(before[0] - before[1])) / apart, middle);
      return;
    }
    if (Math.abs(x - finger.from) < DRAG_PX) return;
    if (this.drag.pans) {
      this.step(this.window.pan(this.drag.at - this.timeAt(x)));
    } else {
      this.chosen = [this.drag.at, this.timeAt(x)];
      this.redraw();
    }
  }

  up(event, x) {
    const finger = this.fingers.get(event.pointerId);
    this.fingers.delete(event.pointerId);
    if (!finger) return;
    if (this.chosen) {
      const [a, b] = this.chosen;
      this.chosen = null;
      this.window.touched = -Infinity;
      this.step(this.window.set(Math.min(a, b), Math.max(a, b)));
      this.redraw();
    } else if (Math.abs(x - finger.from) < DRAG_PX) this.readAt(this.timeAt(x));
  }

  key(event) {
    if (event.altKey || !this.place) return;
    const at = this.reading ?? (this.window.from + this.window.to) / 2;
    const arrow = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (event.ctrlKey || event.metaKey) {
      if (event.key.toLowerCase() !== "z" || event.shiftKey) return;
      this.undo();
    } else if (arrow && event.shiftKey) this.pan(0.25 * arrow);
    else if (arrow) this.readAt(at + arrow * this.window.span / 100);
    else if (event.key === "+" || event.key === "=" || event.key === "ArrowUp") this.zoom(0.5, at);
    else if (event.key === "-" || event.key === "ArrowDown") this.zoom(2, at);
    else if (event.key === "0" || event.key === "Home") this.whole();
    else if (event.key === "Backspace") this.undo();
    else return;
    event.preventDefault();
    // The page has an undo of its own.
    event.stopPropagation();
  }
}

// Index of the value that lies nearest in an ascending list; -1 of none.
function nearest(all, wanted) {
  let [low, high] = [0, all.length - 1];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (all[middle] < wanted) low = middle + 1; else high = middle;
  }
  if (high < 0) return -1;
  return low > 0 && wanted - all[low - 1] < Math.abs(all[low] - wanted) ? low - 1 : low;
}
