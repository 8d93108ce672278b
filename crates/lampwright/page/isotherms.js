// Lines of equal temperature on an even raster, by marching over its squares.

// Returns a list of polylines in raster coordinates (picture point middles at whole numbers).
export function isotherm(values, nx, ny, level) {
  const segments = [];
  const at = (i, j) => values[j * nx + i];
  const cut = (a, b) => (level - a) / (b - a);
  for (let j = 0; j + 1 < ny; j++) {
    for (let i = 0; i + 1 < nx; i++) {
      const [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
      if (a === null || b === null || c === null || d === null) continue;
      const key = (a > level) | ((b > level) << 1) | ((c > level) << 2) | ((d > level) << 3);
      if (key === 0 || key === 15) continue;
      const bottom = () => [i + cut(a, b), j];
      const right = () => [i + 1, j + cut(b, c)];
      const top = () => [i + cut(d, c), j + 1];
      const left = () => [i, j + cut(a, d)];
      const middle = (a + b + c + d) / 4 > level;
      const add = (p, q) => segments.push([p, q]);
      switch (key) {
        case 1: case 14: add(left(), bottom()); break;
        case 2: case 13: add(bottom(), right()); break;
        case 3: case 12: add(left(), right()); break;
        case 4: case 11: add(right(), top()); break;
        case 6: case 9: add(bottom(), top()); break;
        case 7: case 8: add(left(), top()); break;
        case 5: if (middle) { add(left(), top()); add(bottom(), right()); } else { add(left(), bottom()); add(right(), top()); } break;
        case 10: if (middle) { add(left(), bottom()); add(right(), top()); } else { add(left(), top()); add(bottom(), right()); } break;
      }
    }
  }
  return joined(segments);
}

function joined(segments) {
  const name = (p) => `${p[0].toFixed(4)} ${p[1].toFixed(4)}`;
  const ends = new Map();
  segments.forEach((segment, index) => {
    for (const p of segment) {
      const key = name(p);
      if (!ends.has(key)) ends.set(key, []);
      ends.get(key).push(index);
    }
  });
  const used = new Uint8Array(segments.length);
  const lines = [];
  segments.forEach((segment, first) => {
    if (used[first]) return;
    used[first] = 1;
    const line = [...segment];
    for (const forward of [true, false]) {
      for (;;) {
        const tip = forward ? line[line.length - 1] : line[0];
        const next = (ends.get(name(tip)) ?? []).find((index) => !used[index]);
        if (next === undefined) break;
        used[next] = 1;
        const [p, q] = segments[next];
        const other = name(p) === name(tip) ? q : p;
        if (forward) line.push(other); else line.unshift(other);
      }
    }
    lines.push(line);
  });
  return lines;
}
