// Necks on the board: a ring round each and its number beside it, joined by a line, so that the copper stays to be seen.

const DARK = "rgb(20 20 24)";
const LIGHT = "rgb(255 253 246)";
const RING = 6, NEAR = 14;
// On a small board numbers are small, so that they hide less of it.
const SMALL_BOARD = 480;

// Where a number may stand, seen from its neck: near before far, above before below.
const PLACES = [1, 1.5, 2.2].flatMap((far) => [[0, -1], [0.8, -0.8], [-0.8, -0.8], [1, 0], [-1, 0], [0.8, 0.8], [-0.8, 0.8], [0, 1]].map(([a, b]) => [a * far, b * far]));

// Draws the marks and remembers where they are; the chosen one is drawn in the other shade.
export function drawNecks(c, labels, necks, screen, chosen) {
  const small = labels.size[0] < SMALL_BOARD;
  const [radius, size, far] = small ? [8, 10.5, 18] : [11, 13, 26];
  const family = getComputedStyle(document.body).fontFamily;
  for (const neck of necks) {
    const [x, y] = (neck.ring = screen(neck.at_mm));
    labels.keepFree(x, y, RING + 1, RING + 1);
  }
  for (const neck of necks) {
    const [x, y] = neck.ring;
    const free = PLACES.map(([a, b]) => [x + far * a, y + far * b]).find((at) => labels.isFree(...at, radius + 2, radius + 2)) ?? [x, y - far];
    neck.disc = free;
    labels.keepFree(...free, radius + 2, radius + 2);
    const long = Math.hypot(free[0] - x, free[1] - y);
    const [a, b] = [(free[0] - x) / long, (free[1] - y) / long];
    for (const [ink, width] of [[LIGHT, 4.5], [DARK, 1.6]]) {
      c.strokeStyle = ink;
      c.lineWidth = width;
      c.beginPath();
      c.arc(x, y, RING, 0, 2 * Math.PI);
      c.moveTo(x + RING * a, y + RING * b);
      c.lineTo(free[0] - radius * a, free[1] - radius * b);
      c.stroke();
    }
    const on = neck.number === chosen;
    c.beginPath();
    c.arc(...free, radius, 0, 2 * Math.PI);
    c.fillStyle = on ? DARK : LIGHT;
    c.fill();
    c.strokeStyle = on ? LIGHT : DARK;
    c.lineWidth = 1.6;
    c.stroke();
    c.font = `bold ${size}px ${family}`;
    c.textAlign = "center";
    c.textBaseline = "middle";
    c.fillStyle = on ? LIGHT : DARK;
    c.fillText(String(neck.number), free[0], free[1] + 0.5);
  }
}

// The neck whose number or ring is at a place on the canvas.
export function neckNear(necks, [x, y]) {
  const off = (at) => (at ? Math.hypot(at[0] - x, at[1] - y) : Infinity);
  const nearest = necks.reduce((best, neck) => {
    const far = Math.min(off(neck.disc), off(neck.ring));
    return far < best.far ? { neck, far } : best;
  }, { neck: null, far: NEAR });
  return nearest.neck;
}
