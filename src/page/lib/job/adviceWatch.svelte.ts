import { pause, type Clock } from "../../../../shared/clock.ts";
import type { Advice } from "../../../interpret/causes/adviceSchema.ts";
import type { AdviceOptions } from "../../../interpret/causes/advice.ts";
import type { Situation } from "../../../interpret/causes/evidence.ts";
import { Pieces } from "../recording/pieces.ts";

/** While a recording grows, causes are weighed at most this often, and less often where that takes long. */
const leastMs = 1200;
const restFactor = 15;

interface Wanted {
  readonly situation: Situation;
  readonly options: AdviceOptions;
}

/** The same question as before: findings are renewed as a whole, all else is compared by what it says. */
function sameAsked(a: Wanted | null, b: Wanted): boolean {
  if (a === null) return false;
  const was = a.situation.heard ?? [];
  const is = b.situation.heard ?? [];
  return (
    was.length === is.length &&
    is.every(({ findings, recording }, i) => {
      const before = was[i];
      return before !== undefined && before.findings === findings && before.recording === recording;
    }) &&
    a.situation.own === b.situation.own &&
    rest(a) === rest(b)
  );
}

const rest = ({ situation, options }: Wanted): string =>
  JSON.stringify([situation.complaints, situation.facts, situation.log, options]);

/**
 * Likely causes and the next check, weighed in pieces between frames. The order over shaken tables is most of the work.
 */
export class AdviceWatch {
  readonly #clock: Clock;
  readonly #told: (advice: Advice) => void;
  #advice: Advice | null = $state.raw(null);
  /** What is being weighed is newer than what is told. */
  #behind = $state(false);
  #wanted: Wanted | null = null;
  #asked: Wanted | null = null;
  #busy = false;
  #stopped = false;
  #dueAt = Number.NEGATIVE_INFINITY;

  constructor(clock: Clock, told: (advice: Advice) => void) {
    this.#clock = clock;
    this.#told = told;
  }

  get advice(): Advice | null {
    return this.#advice;
  }

  get behind(): boolean {
    return this.#behind;
  }

  /** Something changed. Without a complaint nothing is weighed. `soon`: a person waits for it. */
  about(situation: Situation, options: AdviceOptions, soon: boolean): void {
    const asked = { situation, options };
    if (sameAsked(this.#asked, asked)) return;
    this.#asked = asked;
    if (situation.complaints.length === 0) {
      this.#wanted = null;
      this.#advice = null;
      this.#behind = false;
      return;
    }
    this.#wanted = asked;
    this.#behind = true;
    if (soon) this.#dueAt = Number.NEGATIVE_INFINITY;
    if (!this.#busy) void this.#work();
  }

  stop(): void {
    this.#stopped = true;
  }

  async #work(): Promise<void> {
    this.#busy = true;
    try {
      for (let wanted = await this.#due(); wanted !== null; wanted = await this.#due()) {
        const spent = await this.#weigh(wanted);
        this.#dueAt = this.#clock.now() + Math.max(leastMs, spent * restFactor);
        if (this.#wanted === wanted) {
          this.#wanted = null;
          this.#behind = false;
        }
      }
    } finally {
      this.#busy = false;
    }
  }

  /** What is to be weighed, once it is due; null: nothing. */
  async #due(): Promise<Wanted | null> {
    if (this.#wanted === null || this.#stopped) return null;
    await pause(this.#clock, Math.max(0, this.#dueAt - this.#clock.now()));
    return this.#wanted;
  }

  /** Milliseconds of work, pauses left out. */
  async #weigh(wanted: Wanted): Promise<number> {
    // The tables come behind the first paint: a chart is seen without them.
    const [{ adviceOf }, { consider, sharesUnder }, { shakenModels, steadinessOf }] = await Promise.all([
      import("../../../interpret/causes/advice.ts"),
      import("../../../interpret/causes/visit.ts"),
      import("../../../interpret/causes/hypotheses.ts"),
    ]);
    const pieces = new Pieces(this.#clock);
    const considered = consider(wanted.situation, { ...wanted.options, steady: false });
    const runs: Float64Array[] = [];
    for (const other of shakenModels(considered.model)) {
      runs.push(sharesUnder(considered, other));
      if (!pieces.full) continue;
      await pieces.rest();
      if (this.#stopped) return pieces.spent;
    }
    const steady = steadinessOf(considered.model, runs);
    const advice = adviceOf({ ...considered, steady }, wanted.options.own ?? {});
    this.#advice = advice;
    this.#told(advice);
    return pieces.spent;
  }
}
