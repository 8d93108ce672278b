// What burrs, bow, and missing contact under one emitter would cost; solved when it is asked for.

import { Stopped } from "./work.js";
import { fillTable, make, number, plain } from "./words.js";

const by = (id) => document.getElementById(id);
const kelvins = (k) => number(k !== null && Math.abs(k) < 0.05 ? 0 : k);

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

export class ContactCosts {
  // work: what is in hand; asked(): the question that stands.
  constructor({ work, asked }) {
    Object.assign(this, { work, asked });
    this.before = by("contact-costs-say").textContent;
    by("contact-see").addEventListener("click", () => this.see());
  }

  // For a variant with or without a bond line; what was solved for another question goes.
  show(hasBond) {
    by("contact-costs").hidden = !hasBond;
    const now = JSON.stringify({ ...this.asked(), contact: "" });
    if (now === this.of) return;
    this.job?.stop();
    this.of = now;
    by("contact-costs-say").textContent = this.before;
    by("contact-see").disabled = false;
    by("contact-scroller").hidden = true;
  }

  stop() { this.job?.stop(); }

  async see() {
    this.job?.stop();
    const job = this.work.begin("Changing the contact");
    this.job = job;
    by("contact-see").disabled = true;
    try {
      const answer = await job.ask("/api/contact", this.asked());
      by("contact-costs-say").replaceChildren(...contactWords(answer));
      by("contact-scroller").hidden = !answer.what_ifs.length;
      fillTable(by("contact-table"), "What if the contact were another, solved in full", [
        { head: "what if", word: true, cell: (w) => w.what },
        { head: "hotter by, K", cell: (w) => (w.steady ? kelvins(w.hotter_k) : "runs away") },
        { head: "hottest junction, degC", cell: (w) => (w.hottest_emitter ? `${number(w.hottest_junction_c)} (${w.hottest_emitter})` : "-") },
        { head: "that emitter hotter by, K", cell: (w) => kelvins(w.there_hotter_k) },
      ], answer.what_ifs);
    } catch (trouble) {
      by("contact-costs-say").textContent = !(trouble instanceof Stopped) ? trouble.message : trouble.byHand ? "Cancelled." : this.before;
      by("contact-see").disabled = false;
    } finally {
      job.end();
      if (this.job === job) this.job = null;
    }
  }
}
