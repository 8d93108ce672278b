// Numbers and sentences.

// A number with a sensible count of digits; a true minus sign.
export function number(value, digits = 1) {
  if (value === null || value === undefined || !Number.isFinite(value)) return "-";
  // What rounds to nothing has no sign.
  const shown = value.toFixed(digits);
  return Number(shown) === 0 ? shown.replace("-", "") : shown.replace("-", "\u2212");
}

// Three significant digits without an exponent.
export function three(value) {
  if (value === null || value === undefined || !Number.isFinite(value)) return "-";
  const size = Math.abs(value);
  const digits = size >= 100 ? 0 : size >= 10 ? 1 : size >= 1 ? 2 : 3;
  return number(value, digits);
}

// Three significant digits also of what is small: 0.0186, 0.000164; without an exponent down to a millionth.
export function small(value) {
  if (value === null || value === undefined || !Number.isFinite(value)) return "-";
  const size = Math.abs(value);
  return size >= 0.1 || size === 0 ? three(value) : size < 1e-6 ? "0" : String(Number(value.toPrecision(3))).replace("-", "\u2212");
}

// As few digits as say it, three at most: 0.9, 1.05, 25.
export function plain(value) {
  return Number.isFinite(value) ? String(Number(value.toPrecision(3))).replace("-", "\u2212") : "-";
}

// A count with its noun.
export function count(many, noun) {
  return `${many} ${noun}${many === 1 ? "" : "s"}`;
}

// An element with attributes and children; text stays text.
export function make(name, attributes = {}, ...children) {
  const svg = ["svg", "g", "rect", "line", "path", "text", "circle", "polyline", "title", "tspan"].includes(name);
  const element = svg ? document.createElementNS("http://www.w3.org/2000/svg", name) : document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value !== null && value !== undefined) element.setAttribute(key, value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

// Fills a table: columns are {head, word, cell(row)}.
export function fillTable(table, caption, columns, rows, mark = () => "") {
  const head = make("tr", {}, ...columns.map((c) => make("th", { scope: "col", class: c.word || c.wide ? "word" : null }, c.head)));
  const body = rows.map((row) =>
    make("tr", { class: mark(row) || null }, ...columns.map((c) => make("td", { class: c.wide ? "wide" : c.word ? "word" : null }, c.cell(row)))));
  table.replaceChildren(make("caption", {}, caption), make("thead", {}, head), make("tbody", {}, ...body));
}

// Ticks at round values that cover a range.
export function ticks(low, high, about) {
  const raw = (high - low) / Math.max(1, about);
  if (!(raw > 0)) return [low];
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 5, 10].map((m) => m * power).find((s) => s >= raw);
  const found = [];
  for (let i = Math.ceil(low / step - 1e-9); i * step <= high + 1e-9 * step; i++) found.push(Number((i * step).toPrecision(12)));
  return found;
}
