// What changes of one kind would do; solved when it is asked for.

import { Stopped } from "./work.js";
import { fillTable, number } from "./words.js";

const by = (id) => document.getElementById(id);

// Kelvins of a change; what two solves leave between them is none.
export const kelvins = (k) => number(k !== null && Math.abs(k) < 0.05 ? 0 : k);

export class WhatIf {
  // work: what is in hand; question(): what stands and is asked of; name: of its places on the page; doing: in the strip; words(answer): the
  // answer in a sentence; title and columns: of its table.
  constructor(given) {
    Object.assign(this, given);
    this.before = this.place("costs-say").textContent;
    this.place("see").addEventListener("click", () => this.see());
  }

  place(part) { return by(`${this.name}-${part}`); }

  // Where there is something to change; what was solved for another question goes.
  show(isThere) {
    this.place("costs").hidden = !isThere;
    const now = JSON.stringify(this.question());
    if (now === this.of) return;
    this.stop();
    this.of = now;
    this.place("costs-say").textContent = this.before;
    this.place("see").disabled = false;
    this.place("scroller").hidden = true;
  }

  stop() { this.job?.stop(); }

  async see() {
    this.stop();
    const job = this.work.begin(this.doing);
    this.job = job;
    this.place("see").disabled = true;
    try {
      const answer = await job.ask(this.route, this.question());
      this.place("costs-say").replaceChildren(...this.words(answer));
      this.place("scroller").hidden = !answer.what_ifs.length;
      fillTable(this.place("table"), this.title, this.columns, answer.what_ifs);
    } catch (trouble) {
      this.place("costs-say").textContent = !(trouble instanceof Stopped) ? trouble.message : trouble.byHand ? "Cancelled." : this.before;
      this.place("see").disabled = false;
    } finally {
      job.end();
      if (this.job === job) this.job = null;
    }
  }
}
