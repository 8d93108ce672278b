// Work in hand: says what is being done and for how long once it takes longer than a moment, and stops it.

const MOMENT_MS = 400;
const LOOK_MS = 250;

// Thrown to whoever asked when the work was stopped; `byHand` when somebody pressed Cancel, not when a newer question came.
export class Stopped extends Error {
  constructor(byHand, seconds) {
    super("stopped");
    this.byHand = byHand;
    this.seconds = seconds;
  }
}

let names = 0;

class Job {
  constructor(work, words) {
    this.work = work;
    this.words = words;
    this.doing = "";
    this.began = performance.now();
    this.stopper = new AbortController();
    this.byHand = false;
  }

  get seconds() { return (performance.now() - this.began) / 1000; }

  // Asks the program; dropping the connection is what stops its work.
  async ask(path, values, words) {
    if (words) this.words = words;
    this.doing = "";
    this.askedAs = `${performance.timeOrigin.toString(36)}-${++names}`;
    const query = new URLSearchParams({ ...values, asked_as: this.askedAs });
    let response, answer;
    try {
      response = await fetch(`${path}?${query}`, { signal: this.stopper.signal });
      answer = await response.json();
    } catch (trouble) {
      if (this.stopper.signal.aborted) throw new Stopped(this.byHand, this.seconds);
      throw new Error(`The program does not answer; look at its terminal, or start "lampwright serve" again. (${trouble.message})`);
    }
    if (this.stopper.signal.aborted) throw new Stopped(this.byHand, this.seconds);
    if (!response.ok) throw Object.assign(new Error(answer.text), { field: answer.field });
    return answer;
  }

  stop(byHand = false) {
    this.byHand = byHand;
    this.stopper.abort();
    this.end();
  }

  end() { this.work.ended(this); }
}

export class Work {
  // strip: shown while work takes longer than a moment; says: its ticking text, not read aloud; told: said once for a
  // screen reader; button: stops.
  constructor({ strip, says, told, button }) {
    Object.assign(this, { strip, says, told, button, jobs: [] });
    button.addEventListener("click", () => this.cancel());
    document.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && this.jobs.length) { event.preventDefault(); this.cancel(); }
    });
  }

  begin(words) {
    const job = new Job(this, words);
    this.jobs.push(job);
    this.clock ??= setInterval(() => this.look(), LOOK_MS);
    return job;
  }

  ended(job) {
    this.jobs = this.jobs.filter((other) => other !== job);
    if (this.jobs.length) return;
    clearInterval(this.clock);
    this.clock = null;
    // Who had pressed Cancel stays where the work had been begun.
    if (this.strip.contains(document.activeElement)) this.from?.focus({ preventScroll: true });
    this.strip.hidden = true;
    this.told.textContent = "";
  }

  // Stops all work; the one who asked says what is shown then.
  cancel() {
    for (const job of [...this.jobs]) job.stop(true);
  }

  async look() {
    const job = this.jobs.find((one) => one.seconds * 1000 > MOMENT_MS);
    if (!job) return;
    if (this.strip.hidden) {
      this.from = document.activeElement;
      this.strip.hidden = false;
      this.told.textContent = `${job.words}. Escape cancels.`;
    }
    this.says.textContent = `${job.words}${job.doing ? `: ${job.doing}` : ""}, ${Math.floor(job.seconds)} s.`;
    if (this.looking) return;
    this.looking = true;
    try {
      const { at_work } = await (await fetch("/api/work")).json();
      job.doing = at_work.find((one) => one.asked_as === job.askedAs)?.doing ?? "";
    } catch {
      // The question itself will tell that the program is gone.
    } finally {
      this.looking = false;
    }
  }
}
