import type { Advice } from "../../../interpret/causes/adviceSchema.ts";
import type { AdviceOptions } from "../../../interpret/causes/advice.ts";
import type { Situation } from "../../../interpret/causes/evidence.ts";
import type { AnalystThread } from "../recording/analystThread.ts";
import type { WhatToWeigh } from "../recording/analystTalk.ts";

/** The same question as before: findings are renewed as a whole, all else is compared by what it says. */
function sameAsked(a: WhatToWeigh | null, b: WhatToWeigh): boolean {
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

const rest = ({ situation, options }: WhatToWeigh): string =>
  JSON.stringify([situation.complaints, situation.facts, situation.log, options]);

/** Likely causes and the next check, weighed where recordings are read. */
export class AdviceWatch {
  readonly #analysts: AnalystThread;
  readonly #told: (advice: Advice) => void;
  #advice: Advice | null = $state.raw(null);
  /** What is being weighed is newer than what is told. */
  #behind = $state(false);
  #asked: WhatToWeigh | null = null;
  #stopped = false;

  constructor(analysts: AnalystThread, told: (advice: Advice) => void) {
    this.#analysts = analysts;
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
      this.#advice = null;
      this.#behind = false;
      return;
    }
    this.#behind = true;
    this.#analysts.weigh(asked, soon, (advice) => {
      if (this.#stopped || this.#asked?.situation.complaints.length === 0) return;
      this.#advice = advice;
      if (this.#asked === asked) this.#behind = false;
      this.#told(advice);
    });
  }

  stop(): void {
    this.#stopped = true;
  }
}
