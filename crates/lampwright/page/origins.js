// How a number of the verdict was got: figures in sentences and heads of columns are buttons that tell it.

import { make } from "./words.js";

// A number or range with a unit, or one with decimals without; nothing that is part of a name.
const FIGURE = /(?<![\w.])[\u2212+-]?\d[\d.]*(?:\s(?:to|\u00b1|\+-)\s[\u2212+-]?\d[\d.]*)?\s(?:degC|lm\/W|lm|K|A|V|%|times|h \d+ min|h|min)(?![\w/])|(?<![\w.])[\u2212-]?\d+\.\d+(?:\s(?:to|\u00b1|\+-)\s[\u2212-]?\d+\.\d+)?(?![\w/]|\.\d)|(?<=\()\d+ to \d+(?=\))/g;

let told = 0;

// A place below which `how` is said when a figure is chosen.
export function origin() {
  const place = make("p", { class: "step-says origin", "aria-live": "polite", id: `origin-${++told}`, hidden: "" });
  const tell = (what, how) => {
    place.hidden = false;
    place.replaceChildren(make("strong", {}, what), `: ${how}`);
  };
  return { place, tell };
}

function figure(text, how, tell) {
  const button = make("button", { type: "button", class: "figure", title: "How was this got?" }, text);
  button.addEventListener("click", () => tell(text, how));
  return button;
}

// A sentence whose figures can be chosen; `how` tells of all, or is asked with each figure's text.
export function sentence(text, how, { tell }) {
  const tidy = text.replaceAll("+-", "\u00b1");
  const parts = [];
  let from = 0;
  for (const found of tidy.matchAll(FIGURE)) {
    const before = tidy.slice(from, found.index);
    const chosen = figure(found[0], typeof how === "function" ? how(found[0]) : how, tell);
    // No line ends between a bracket and its figure.
    parts.push(...(before.endsWith("(") ? [before.slice(0, -1), make("span", { class: "kept" }, "(", chosen)] : [before, chosen]));
    from = found.index + found[0].length;
  }
  return [...parts, tidy.slice(from)];
}

// A table: columns are {head, word, how, cell(row)}. The heads are buttons; a cell tells the same of its own number.
export function originTable(caption, columns, rows, { place, tell }, mark = () => "") {
  const head = (c) => {
    if (!c.how) return c.head;
    const button = make("button", { type: "button", class: "figure", "aria-controls": place.id, title: "How was this got?" }, c.head);
    button.addEventListener("click", () => tell(c.head, c.how));
    return button;
  };
  const cell = (c, row) => {
    const text = c.cell(row);
    const made = make("td", { class: [c.word ? "word" : "", c.how ? "got" : ""].join(" ").trim() || null }, text);
    if (c.how) made.addEventListener("click", () => tell(`${c.head}, ${text}`, c.how));
    return made;
  };
  const table = make("table", {}, make("caption", {}, caption),
    make("thead", {}, make("tr", {}, ...columns.map((c) => make("th", { scope: "col", class: c.word ? "word" : null }, head(c))))),
    make("tbody", {}, ...rows.map((row) => make("tr", { class: mark(row) || null }, ...columns.map((c) => cell(c, row))))));
  return make("div", { class: "scroller", tabindex: 0, role: "region", "aria-label": caption }, table);
}
