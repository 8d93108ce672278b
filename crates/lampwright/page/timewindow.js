// The stretch of time that a chart shows, within the whole; steps back are kept. Knows nothing of drawing.

const TOGETHER_MS = 600;
const MOST_STEPS = 100;

export class TimeWindow {
  // least_s: the shortest stretch that can be shown.
  constructor(least_s = 1e-3) {
    Object.assign(this, { least_s, begin: 0, end: 1, from: 0, to: 1, past: [], touched: -Infinity });
  }

  get span() { return this.to - this.from; }
  get isWhole() { return this.from <= this.begin && this.to >= this.end; }

  // The whole has grown or is another; who looked at all of it, or at its end, goes on doing so.
  setWhole(begin, end) {
    const all = this.isWhole || this.from >= end || this.to <= begin;
    const grown = this.to >= this.end ? end - this.end : 0;
    this.begin = begin;
    this.end = end > begin ? end : begin + 1;
    if (all) [this.from, this.to] = [this.begin, this.end];
    else if (grown > 0) [this.from, this.to] = [this.from + grown, this.to + grown];
  }

  // Another recording: nothing to step back to.
  reset(begin, end) {
    this.past = [];
    [this.from, this.to] = [this.begin, this.end] = [begin, end > begin ? end : begin + 1];
  }

  // Shows a stretch, kept inside the whole; whether anything changed. Steps in quick succession (a wheel) are taken back together.
  set(from, to, now = performance.now()) {
    const span = Math.min(Math.max(to - from, this.least_s), this.end - this.begin);
    const middle = (from + to) / 2;
    const start = Math.min(Math.max(middle - span / 2, this.begin), this.end - span);
    if (start === this.from && start + span === this.to) return false;
    if (now - this.touched > TOGETHER_MS) {
      this.past.push([this.from, this.to]);
      if (this.past.length > MOST_STEPS) this.past.shift();
    }
    this.touched = now;
    [this.from, this.to] = [start, start + span];
    return true;
  }

  // factor below 1 looks closer; `at` keeps its place.
  zoom(factor, at = (this.from + this.to) / 2) {
    const span = Math.min(Math.max(this.span * factor, this.least_s), this.end - this.begin);
    const part = (at - this.from) / this.span;
    return this.set(at - part * span, at - part * span + span);
  }

  pan(seconds) { return this.set(this.from + seconds, this.to + seconds); }

  whole() { this.touched = -Infinity; return this.set(this.begin, this.end); }

  undo() {
    const before = this.past.pop();
    if (!before) return false;
    [this.from, this.to] = before;
    this.touched = -Infinity;
    return true;
  }
}
