// What burrs, bow, and missing contact under one emitter would cost; solved when it is asked for.

import { WhatIf, kelvins } from "./what_if.js";
import { make, number, plain } from "./words.js";

// The answer in a sentence.
export function contactWords(answer) {
  const { what_ifs: all, current_a: current } = answer;
  if (!all.length) return ["There is nothing to change: as built there is no steady state, or no emitter and an even bond line."];
  const away = all.filter((one) => !one.steady);
  if (away.length) return [make("strong", {}, `${away[0].what[0].toUpperCase()}${away[0].what.slice(1)}, the lamp runs away.`)];
  const said = [];
  const under = all.filter((one) => one.under !== null);
  if (under.length) {
    const worst = under.reduce((a, b) => (b.there_hotter_k > a.there_hotter_k ? b : a));
    said.push(`${current > 0 ? `At ${plain(current)}\u00a0A, missing` : "Missing"} contact costs most under ${worst.under}: its junction is `, make("strong", {}, `${kelvins(worst.there_hotter_k)}\u00a0K hotter`), ". ");
  }
  const even = all.filter((one) => one.under === null);
  if (even.length) said.push(`${even.map((one) => `${one.what[0].toUpperCase()}${one.what.slice(1)} the hottest place is ${kelvins(Math.abs(one.hotter_k))}\u00a0K ${one.hotter_k > 0 ? "hotter" : "cooler"}`).join(". ")}.`);
  return said;
}

// asked(): the question that stands; the changes are asked of the contact as built, whatever was chosen.
export function contactCosts(work, asked) {
  return new WhatIf({
    work, question: () => ({ ...asked(), contact: "" }), name: "contact", route: "/api/contact", doing: "Changing the contact", words: contactWords,
    title: "What if the contact were another, solved in full",
    columns: [
      { head: "what if", word: true, cell: (w) => w.what },
      { head: "hotter by, K", cell: (w) => (w.steady ? kelvins(w.hotter_k) : "runs away") },
      { head: "hottest junction, degC", cell: (w) => (w.hottest_emitter ? `${number(w.hottest_junction_c)} (${w.hottest_emitter})` : "-") },
      { head: "that emitter hotter by, K", cell: (w) => kelvins(w.there_hotter_k) },
    ],
  });
}
