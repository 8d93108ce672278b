// The board on a canvas: as ordered, with its temperatures, or with the current in its copper.

import { Labels } from "./labels.js";
import { colour, isLight } from "./palette.js";
import { isotherm } from "./isotherms.js";
import { drawNecks, neckNear } from "./necks.js";
import { ticks } from "./words.js";

const DARK = "rgb(20 20 24)";
const LIGHT = "rgb(255 253 246)";
// Around the drawing, and below it for the measure, CSS pixels.
const MARGIN = 6, BELOW = 30;

function paper(name) {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

function pathOf(rings) {
  const path = new Path2D();
  for (const ring of rings) {
    ring.forEach(([x, y], index) => (index ? path.lineTo(x, y) : path.moveTo(x, y)));
    path.closePath();
  }
  return path;
}

function extent(rings) {
  const box = [Infinity, Infinity, -Infinity, -Infinity];
  for (const ring of rings) {
    for (const [x, y] of ring) {
      box[0] = Math.min(box[0], x); box[1] = Math.min(box[1], y);
      box[2] = Math.max(box[2], x); box[3] = Math.max(box[3], y);
    }
  }
  return box;
}

export class Board {
  constructor(canvas) {
    this.canvas = canvas;
    this.drawing = null;
    this.shown = null;
    this.range = null;
    this.mark = null;
    this.chosen = null;
    new ResizeObserver(() => this.draw()).observe(canvas.parentElement);
  }

  // A variant's drawing; paths are made once. `ofBase`: the heatsink base is looked at, and the frame holds it whole.
  show(drawing, ofBase) {
    if (this.drawing === drawing && this.ofBase === ofBase) return;
    this.drawing = drawing;
    this.ofBase = ofBase;
    this.mark = null;
    this.paths = {
      outline: pathOf(drawing.outline_mm),
      copper: drawing.copper.map((layer) => pathOf(layer.rings_mm)),
      openings: drawing.mask_openings_mm ? pathOf(drawing.mask_openings_mm) : null,
      base: drawing.heatsink_base_mm ? pathOf(drawing.heatsink_base_mm) : null,
      patches: drawing.heat_patches.map((patch) => pathOf(patch.rings_mm)),
      bodies: drawing.emitters.map((emitter) => pathOf([emitter.body_mm])),
      lands: drawing.emitters.map((emitter) => pathOf(emitter.lands.flatMap((land) => land.rings_mm))),
    };
    const all = [...drawing.outline_mm, ...(ofBase ? drawing.heatsink_base_mm ?? [] : [])];
    this.box = extent(all);
    this.draw();
  }

  // Temperatures of one depth, and the range that the colours span.
  temperatures(slice, range) {
    this.put(slice && { ...slice, values: slice.temperature_c }, range);
    this.lines = slice ? this.isotherms(this.shown, range) : [];
    this.hottest = slice ? this.findHottest(this.shown) : null;
    this.draw();
  }

  // What flows in a copper layer: its density or its loss, with the necks of that layer as {number, at_mm, width_mm}.
  current(map, values, range, necks) {
    this.put({ ...map, values, necks }, range);
    this.draw();
  }

  put(shown, range) {
    this.shown = shown;
    this.range = range;
    this.picture = shown ? this.paint(shown, range) : null;
    this.lines = [];
    this.hottest = null;
  }

  paint({ nx, ny, values: t }, [low, high]) {
    const canvas = document.createElement("canvas");
    canvas.width = nx; canvas.height = ny;
    const context = canvas.getContext("2d");
    const image = context.createImageData(nx, ny);
    for (let j = 0; j < ny; j++) {
      for (let i = 0; i < nx; i++) {
        const value = t[j * nx + i];
        if (value === null) continue;
        const [r, g, b] = colour((value - low) / (high - low || 1));
        image.data.set([r, g, b, 255], 4 * ((ny - 1 - j) * nx + i));
      }
    }
    context.putImageData(image, 0, 0);
    return canvas;
  }

  isotherms(slice, [low, high]) {
    const levels = ticks(low, high, 7).filter((level) => level > low && level < high);
    return levels.map((level) => ({ level, lines: isotherm(slice.values, slice.nx, slice.ny, level).filter((line) => line.length > 12) }));
  }

  findHottest(slice) {
    let best = -1;
    slice.values.forEach((value, index) => { if (value !== null && (best < 0 || value > slice.values[best])) best = index; });
    if (best < 0) return null;
    return { at: this.middle(slice, best % slice.nx, Math.floor(best / slice.nx)), value: slice.values[best] };
  }

  middle(slice, i, j) {
    return [slice.x0_mm + (i + 0.5) * slice.pitch_mm, slice.y0_mm + (j + 0.5) * slice.pitch_mm];
  }

  // The picture point that holds a place, mm; -1 beside the picture.
  pointAt([x, y]) {
    const s = this.shown;
    const i = Math.floor((x - s.x0_mm) / s.pitch_mm), j = Math.floor((y - s.y0_mm) / s.pitch_mm);
    return i < 0 || j < 0 || i >= s.nx || j >= s.ny ? -1 : j * s.nx + i;
  }

  // Temperature at a place, mm; between picture points it runs evenly.
  at([x, y]) {
    const s = this.shown;
    if (!s) return null;
    const u = (x - s.x0_mm) / s.pitch_mm - 0.5, v = (y - s.y0_mm) / s.pitch_mm - 0.5;
    if (u < -0.5 || v < -0.5 || u > s.nx - 0.5 || v > s.ny - 0.5) return null;
    const clamp = (value, most) => Math.min(Math.max(value, 0), most);
    const i = clamp(Math.floor(u), s.nx - 1), j = clamp(Math.floor(v), s.ny - 1);
    const i1 = Math.min(i + 1, s.nx - 1), j1 = Math.min(j + 1, s.ny - 1);
    const p = clamp(u - i, 1), q = clamp(v - j, 1);
    const t = (a, b) => s.values[b * s.nx + a];
    const four = [t(i, j), t(i1, j), t(i, j1), t(i1, j1)];
    if (four.some((value) => value === null)) return t(Math.round(clamp(u, s.nx - 1)), Math.round(clamp(v, s.ny - 1)));
    return (1 - q) * ((1 - p) * four[0] + p * four[1]) + q * ((1 - p) * four[2] + p * four[3]);
  }

  // Place under a pointer, mm.
  place(event) {
    const rect = this.canvas.getBoundingClientRect();
    const [x0, , , y1] = this.box;
    return [x0 + (event.clientX - rect.left - MARGIN) / this.scale, y1 - (event.clientY - rect.top - MARGIN) / this.scale];
  }

  // The neck whose mark or place is at a pointer.
  neckAt(event) {
    if (!this.shown?.necks) return null;
    const rect = this.canvas.getBoundingClientRect();
    return neckNear(this.shown.necks, [event.clientX - rect.left, event.clientY - rect.top]);
  }

  emitterAt(place) {
    return this.drawing.emitters.find((emitter) => {
      const box = extent([emitter.body_mm]);
      return place[0] >= box[0] && place[0] <= box[2] && place[1] >= box[1] && place[1] <= box[3];
    });
  }

  draw() {
    if (!this.drawing) return;
    const [x0, y0, x1, y1] = this.box;
    const width = this.canvas.parentElement.clientWidth - 16;
    if (width <= 0) return;
    const most = Math.max(280, window.innerHeight * 0.72);
    this.scale = Math.min((width - 2 * MARGIN) / (x1 - x0), (most - 2 * MARGIN - BELOW) / (y1 - y0));
    const height = (y1 - y0) * this.scale + 2 * MARGIN + BELOW;
    const used = (x1 - x0) * this.scale + 2 * MARGIN;
    const ratio = window.devicePixelRatio || 1;
    this.canvas.style.width = `${used}px`;
    this.canvas.style.height = `${height}px`;
    this.canvas.width = Math.round(used * ratio);
    this.canvas.height = Math.round(height * ratio);
    const c = this.canvas.getContext("2d");
    c.setTransform(ratio, 0, 0, ratio, 0, 0);
    c.clearRect(0, 0, used, height);
    const k = this.scale;
    const place = () => c.setTransform(ratio * k, 0, 0, -ratio * k, ratio * (MARGIN - x0 * k), ratio * (MARGIN + y1 * k));
    const screen = (p) => [MARGIN + (p[0] - x0) * k, MARGIN + (y1 - p[1]) * k];
    place();
    if (this.shown) this.drawField(c, k); else this.drawOrdered(c, k);
    c.setTransform(ratio, 0, 0, ratio, 0, 0);
    this.drawWords(c, screen);
    this.drawMeasure(c, used, height);
  }

  // A measure of a round length below the board.
  drawMeasure(c, used, height) {
    const long = [1, 2, 5, 10, 20, 50, 100].filter((mm) => mm * this.scale <= Math.max(40, used / 4)).at(-1) ?? 1;
    const y = height - 10, x0 = MARGIN, x1 = MARGIN + long * this.scale;
    c.strokeStyle = paper("--ink");
    c.fillStyle = paper("--ink");
    c.lineWidth = 1.5;
    c.beginPath();
    c.moveTo(x0, y - 5); c.lineTo(x0, y + 5); c.moveTo(x0, y); c.lineTo(x1, y); c.moveTo(x1, y - 5); c.lineTo(x1, y + 5);
    c.stroke();
    c.font = `13px ${getComputedStyle(document.body).fontFamily}`;
    c.textAlign = "left";
    c.textBaseline = "middle";
    c.fillText(`${long} mm`, x1 + 7, y);
  }

  // A dark line with a light one under it, seen on every colour.
  twice(c, path, width) {
    c.strokeStyle = LIGHT;
    c.lineWidth = 2.4 * width;
    c.stroke(path);
    c.strokeStyle = DARK;
    c.lineWidth = width;
    c.stroke(path);
  }

  drawOrdered(c, k) {
    const ink = paper("--ink");
    c.fillStyle = paper("--board");
    c.fill(this.paths.outline, "evenodd");
    if (this.paths.copper.length) {
      c.fillStyle = paper("--copper");
      c.fill(this.paths.copper[0], "evenodd");
    }
    if (this.paths.openings) {
      c.save();
      c.clip(this.paths.outline, "evenodd");
      c.fillStyle = paper("--mask-open");
      c.fill(this.paths.openings, "evenodd");
      c.restore();
    }
    c.fillStyle = paper("--accent");
    c.globalAlpha = 0.35;
    for (const patch of this.paths.patches) c.fill(patch, "evenodd");
    c.globalAlpha = 1;
    this.drawBores(c, k);
    c.strokeStyle = ink;
    c.lineWidth = 1.6 / k;
    c.stroke(this.paths.outline);
    c.lineWidth = 1.2 / k;
    for (const outline of [...this.paths.bodies, ...this.paths.patches]) c.stroke(outline);
  }

  drawBores(c, k) {
    c.lineCap = "round";
    for (const bore of this.drawing.bores) {
      const [first] = bore.path_mm;
      c.strokeStyle = bore.plated ? paper("--ink") : paper("--hole");
      c.fillStyle = bore.plated ? paper("--board") : paper("--hole");
      c.lineWidth = bore.plated ? 0.7 / k : bore.diameter_mm;
      c.beginPath();
      if (bore.path_mm.length === 1) {
        c.arc(first[0], first[1], bore.diameter_mm / 2, 0, 2 * Math.PI);
        c.fill();
        if (!bore.plated) { c.lineWidth = 1.2 / k; c.strokeStyle = paper("--ink"); }
        c.stroke();
      } else {
        bore.path_mm.forEach((p, index) => (index ? c.lineTo(...p) : c.moveTo(...p)));
        c.lineWidth = bore.diameter_mm;
        c.strokeStyle = paper("--hole");
        c.stroke();
      }
    }
  }

  // The layer whose current is shown, by its name.
  layerPath() {
    const index = this.drawing.copper.findIndex((layer) => layer.name === this.shown.layer);
    return this.paths.copper[Math.max(index, 0)];
  }

  drawField(c, k) {
    const s = this.shown;
    if (s.necks) {
      c.fillStyle = paper("--board");
      c.fill(this.paths.outline, "evenodd");
      c.fillStyle = paper("--idle");
      c.fill(this.layerPath(), "evenodd");
    }
    c.save();
    const clip = this.ofBase ? this.paths.base : this.paths.outline;
    if (clip) c.clip(clip, "evenodd");
    c.save();
    c.transform(1, 0, 0, -1, 0, 0);
    c.imageSmoothingEnabled = true;
    c.drawImage(this.picture, s.x0_mm, -(s.y0_mm + s.ny * s.pitch_mm), s.nx * s.pitch_mm, s.ny * s.pitch_mm);
    c.restore();
    c.restore();
    if (!this.ofBase) {
      // Most of a board is cool and so dark: copper edges are light.
      c.strokeStyle = s.necks ? paper("--ink") : LIGHT;
      c.globalAlpha = 0.45;
      c.lineWidth = 0.7 / k;
      if (this.paths.copper.length) c.stroke(s.necks ? this.layerPath() : this.paths.copper[0]);
      c.globalAlpha = 1;
      for (const bore of this.drawing.bores.filter((b) => !b.plated && b.path_mm.length === 1)) {
        c.fillStyle = paper("--sheet");
        c.beginPath();
        c.arc(bore.path_mm[0][0], bore.path_mm[0][1], bore.diameter_mm / 2, 0, 2 * Math.PI);
        c.fill();
      }
    } else {
      c.setLineDash([4 / k, 4 / k]);
      c.strokeStyle = LIGHT;
      c.lineWidth = 1.3 / k;
      c.stroke(this.paths.outline);
      c.setLineDash([]);
    }
    c.strokeStyle = paper("--ink");
    c.lineWidth = 1.4 / k;
    c.stroke(this.ofBase && this.paths.base ? this.paths.base : this.paths.outline);
    this.drawing.emitters.forEach((emitter, index) => this.twice(c, this.paths.bodies[index], (emitter.ref === this.chosen ? 2.6 : 1.1) / k));
    for (const patch of this.paths.patches) this.twice(c, patch, 1.1 / k);
  }

  // Words give way to one another: references first, then sensors, then the isotherms' numbers.
  drawWords(c, screen) {
    const labels = new Labels(c, getComputedStyle(document.body).fontFamily);
    if (this.shown) this.drawIsotherms(c, screen);
    if (this.hottest && this.shown) this.drawHottest(c, screen(this.hottest.at));
    if (this.shown?.necks) drawNecks(c, labels, this.shown.necks, screen, this.neck);
    const chosenFirst = [...this.drawing.emitters].sort((a, b) => (b.ref === this.chosen) - (a.ref === this.chosen));
    for (const emitter of chosenFirst) labels.put(emitter.ref, [screen(emitter.at_mm)], 13, "bold");
    for (const patch of this.drawing.heat_patches) {
      const box = extent(patch.rings_mm);
      labels.put(patch.name, [screen([(box[0] + box[2]) / 2, (box[1] + box[3]) / 2])], 13);
    }
    for (const sensor of this.drawing.sensors) {
      const [x, y] = screen(sensor.at_mm);
      // Round on the board, square on the heatsink.
      for (const [colour, half] of [[LIGHT, 5.5], [DARK, 3.5]]) {
        c.fillStyle = colour;
        c.beginPath();
        if (sensor.on === "heatsink") c.rect(x - half, y - half, 2 * half, 2 * half);
        else c.arc(x, y, half, 0, 2 * Math.PI);
        c.fill();
      }
      labels.keepFree(x, y, 7, 7);
      labels.put(sensor.name, [[x, y - 18], [x, y + 18], [x, y - 34], [x, y + 34]], 13);
    }
    if (this.shown) this.numberIsotherms(labels, screen);
    if (this.mark && this.shown) {
      const [x, y] = screen(this.mark);
      c.strokeStyle = LIGHT; c.lineWidth = 4;
      c.beginPath(); c.arc(x, y, 8, 0, 2 * Math.PI); c.stroke();
      c.strokeStyle = DARK; c.lineWidth = 1.5;
      c.beginPath(); c.arc(x, y, 8, 0, 2 * Math.PI); c.stroke();
    }
  }

  // Four strokes that point at the hottest place and leave it to be seen.
  drawHottest(c, [x, y]) {
    for (const [ink, width] of [[LIGHT, 5], [DARK, 2]]) {
      c.strokeStyle = ink; c.lineWidth = width; c.lineCap = "round";
      c.beginPath();
      for (const [a, b] of [[1, 1], [1, -1], [-1, 1], [-1, -1]]) { c.moveTo(x + 14 * a, y + 14 * b); c.lineTo(x + 20 * a, y + 20 * b); }
      c.stroke();
    }
  }

  // Where a point of a line lies, mm.
  onBoard([i, j]) {
    const s = this.shown;
    return [s.x0_mm + (i + 0.5) * s.pitch_mm, s.y0_mm + (j + 0.5) * s.pitch_mm];
  }

  drawIsotherms(c, screen) {
    const [low, high] = this.range;
    c.lineJoin = "round";
    for (const { level, lines } of this.lines) {
      c.strokeStyle = isLight((level - low) / (high - low)) ? DARK : LIGHT;
      c.lineWidth = 1.3;
      for (const line of lines) {
        c.beginPath();
        line.map((p) => screen(this.onBoard(p))).forEach(([x, y], index) => (index ? c.lineTo(x, y) : c.moveTo(x, y)));
        c.stroke();
      }
    }
  }

  // Each level has one number, on one of its longer lines, where it is free.
  numberIsotherms(labels, screen) {
    for (const { level, lines } of this.lines) {
      const longer = [...lines].sort((a, b) => b.length - a.length).slice(0, 6);
      const places = longer.flatMap((line) => [0.3, 0.55, 0.8, 0.05, 0.18, 0.43, 0.68, 0.92].map((part) => screen(this.onBoard(line[Math.floor(part * (line.length - 1))]))));
      labels.put(String(level), places, 13);
    }
  }
}
