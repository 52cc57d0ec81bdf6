/**
 * Answers that come sooner than any answer can: they belong to an earlier command. The adapter itself, and a vehicle
 * behind it, each have a least time, which is seen from what came before.
 */
import type { Exchange } from "./machine.ts";

/** Latest answers that are looked at, and those that it takes to judge another. */
const window = 64;
const enough = 4;
/** Of the least time so far. Far enough below it that no adapter and no bus is ever so much quicker. */
const tooSoon = 0.3;
/** The least time is this share of the way up: one that slipped through must not become the measure. */
const share = 1 / 20;
/** So many in a row are no accident: something is quicker than before. */
const inARow = 8;

/** An adapter that begins anew takes its own time. */
const takesLong: ReadonlySet<string> = new Set(["ATZ", "ATWS"]);

const startWords = /^(?:BUS ?INIT|SEARCHING)/;

function beginsWithStart(answer: readonly string[]): boolean {
  return startWords.test(answer[0] ?? "");
}

class Times {
  readonly #times: number[] = [];
  #soon = 0;

  isTooSoon(ms: number): boolean {
    const times = this.#times;
    if (times.length >= enough && ms < this.#least() * tooSoon) {
      this.#soon += 1;
      if (this.#soon < inARow) return true;
      times.length = 0;
    }
    this.#soon = 0;
    if (times.length === window) times.shift();
    times.push(ms);
    return false;
  }

  /** Taken at each answer: the few least are looked for, and nothing is put in order. */
  #least(): number {
    const least: number[] = [];
    const wanted = Math.floor(this.#times.length * share) + 1;
    for (const ms of this.#times) {
      if (least.length === wanted && ms >= (least.at(-1) ?? 0)) continue;
      let at = least.length;
      while (at > 0 && (least[at - 1] ?? 0) > ms) at -= 1;
      least.splice(at, 0, ms);
      if (least.length > wanted) least.pop();
    }
    return least.at(-1) ?? 0;
  }
}

export class Haste {
  readonly #adapter = new Times();
  /** With and without the number of replies that are waited for: some adapters print only when they have waited. */
  #counted = new Times();
  #uncounted = new Times();
  #protocol = "";

  /** True when the answer of this exchange came too soon to be its own. */
  take({ ask, first, end, err, answer }: Exchange): boolean {
    if (ask.startsWith("ATSP") && ask !== this.#protocol) {
      this.#counted = new Times();
      this.#uncounted = new Times();
      this.#protocol = ask;
    }
    // A refusal comes at once, and the identity after its own time.
    if (first === null || end === null || err !== undefined || answer.length === 0 || takesLong.has(ask))
      return false;
    // Words of the start of a bus, or of a search, come at once; the answer behind them takes its time.
    if (beginsWithStart(answer)) return false;
    if (ask.startsWith("AT")) return this.#adapter.isTooSoon(first);
    return (ask.length % 2 === 1 ? this.#counted : this.#uncounted).isTooSoon(first);
  }
}
