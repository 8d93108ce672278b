// Words on a canvas that do not stand on one another.

export class Labels {
  constructor(context, family) {
    this.context = context;
    this.family = family;
    this.taken = [];
    const ratio = window.devicePixelRatio || 1;
    this.size = [context.canvas.width / ratio, context.canvas.height / ratio];
  }

  // Keeps a place free: its middle and half its size, CSS pixels.
  keepFree(x, y, a, b) { this.taken.push([x - a, y - b, x + a, y + b]); }

  // Whether a place is free and on the canvas.
  isFree(x, y, a, b) {
    const [width, height] = this.size;
    return x >= a && y >= b && x <= width - a && y <= height - b
      && !this.taken.some((other) => x - a < other[2] && x + a > other[0] && y - b < other[3] && y + b > other[1]);
  }

  // Writes a text, dark with a light edge, at the first place that is free; where none is, it is left out.
  put(text, places, size, weight = "") {
    const c = this.context;
    c.font = `${weight} ${size}px ${this.family}`;
    const half = c.measureText(text).width / 2 + 3, tall = size / 2 + 2;
    const [width, height] = this.size;
    for (let [x, y] of places) {
      // At the edge it is drawn wholly inside.
      x = Math.min(Math.max(x, half), width - half);
      y = Math.min(Math.max(y, tall), height - tall);
      const box = [x - half, y - tall, x + half, y + tall];
      if (this.taken.some((other) => box[0] < other[2] && box[2] > other[0] && box[1] < other[3] && box[3] > other[1])) continue;
      this.taken.push(box);
      c.textAlign = "center";
      c.textBaseline = "middle";
      c.lineJoin = "round";
      c.strokeStyle = "rgb(255 253 246 / 0.9)";
      c.lineWidth = 4;
      c.strokeText(text, x, y);
      c.fillStyle = "rgb(20 20 24)";
      c.fillText(text, x, y);
      return;
    }
  }
}
