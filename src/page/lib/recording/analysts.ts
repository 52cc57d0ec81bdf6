import { weighing } from "../../../analyst/index.ts";
import { Analysing, type Workplace } from "./analysing.ts";
import type { FromAnalysts, ToAnalysts, WhatToWeigh } from "./analystTalk.ts";
import { WorkPieces } from "./workPieces.ts";

/** Between two weighings lies so long, and so many times what the last one took, unless a person waits: live lines go first. */
const leastRestMs = 1200;
const restFactor = 15;

/** All that a page has read: an analyst for each recording, and the causes of a visit, weighed over several. */
export class Analysts {
  readonly #at: Workplace;
  readonly #tell: (say: FromAnalysts) => void;
  readonly #recordings = new Map<number, Analysing>();
  #wanted: { readonly ask: number; readonly about: WhatToWeigh } | null = null;
  #weighing = false;
  #weighDueAt = Number.NEGATIVE_INFINITY;
  /** A person waits for the question that is wanted. */
  #waited = false;
  #endRest: (() => void) | null = null;

  constructor(at: Workplace, tell: (say: FromAnalysts) => void) {
    this.#at = at;
    this.#tell = tell;
  }

  hear(say: ToAnalysts): void {
    switch (say.kind) {
      case "open": {
        const { id } = say;
        const tell = (told: Parameters<ConstructorParameters<typeof Analysing>[2]>[0]): void =>
          this.#tell({ kind: "of", id, say: told });
        this.#recordings.set(id, new Analysing(say, this.#at, tell));
        break;
      }
      case "to":
        this.#recordings.get(say.id)?.hear(say.say);
        if (say.say.kind === "close") this.#recordings.delete(say.id);
        break;
      case "weigh":
        this.#wanted = say;
        if (say.soon) {
          this.#waited = true;
          this.#endRest?.();
        }
        if (!this.#weighing) void this.#weighOn();
        break;
    }
  }

  /** Whatever is wanted, the newest only, until nothing is. */
  async #weighOn(): Promise<void> {
    this.#weighing = true;
    const { clock } = this.#at;
    try {
      while (this.#wanted !== null) {
        await this.#rested();
        const wanted = this.#wanted;
        this.#wanted = null;
        this.#waited = false;
        const spent = await this.#weigh(wanted.ask, wanted.about);
        this.#weighDueAt = clock.now() + Math.max(leastRestMs, spent * restFactor);
      }
    } finally {
      this.#weighing = false;
    }
  }

  /** Until the next weighing is due; a person who waits for it ends the rest. */
  #rested(): Promise<void> {
    const { clock } = this.#at;
    const wait = this.#weighDueAt - clock.now();
    if (wait <= 0 || this.#waited) return Promise.resolve();
    return new Promise((resolve) => {
      const end = (): void => {
        cancel();
        this.#endRest = null;
        resolve();
      };
      const cancel = clock.after(wait, end);
      this.#endRest = end;
    });
  }

  /** Milliseconds of work, rests left out. */
  async #weigh(ask: number, { situation, options }: WhatToWeigh): Promise<number> {
    const pieces = new WorkPieces(this.#at);
    const work = weighing(situation, options);
    for (let step = work.next(); ; step = work.next()) {
      if (step.done === true) {
        this.#tell({ kind: "advice", ask, advice: step.value });
        return pieces.spent;
      }
      await pieces.next();
    }
  }
}
