/** A harness moved by hand, from the command line: first it is left alone, then it is moved, and each drop-out is told as it comes. */
import { clockTenths } from "../../shared/times.ts";
import { CranksideError } from "../../shared/errors.ts";
import { wiggleIn, wiggleSpan } from "../interpret/running/wiggle.ts";
import { wiggleLabel } from "../interpret/running/wiggleLabel.ts";
import { dropWords, wiggleCount } from "../interpret/running/wiggleWords.ts";
import type { Analyst } from "../analyst/index.ts";
import type { MarkEvent } from "../../shared/recording/format.ts";

/** How long it is left alone before, milliseconds: the time that the drop-outs are held against. */
export const aloneMs = 30_000;

export type WiggleMark = Pick<MarkEvent, "id" | "at" | "until" | "label">;

export function wigglePlace(text: string): string {
  const place = text.trim();
  if (place !== "" && place.length <= 200) return place;
  throw new CranksideError("wrong-use", "no place was named", {
    expected: "what is moved, such as 'harness at the bulkhead'",
    found: JSON.stringify(text),
  });
}

export interface WiggleTold {
  /** What to do now, and what came of it so far. */
  readonly words: string;
  /** Drop-outs that were not told yet. */
  readonly news: readonly string[];
}

export class WiggleFollower {
  readonly #reading: Analyst["reading"];
  readonly #label: string;
  readonly #keep: (mark: WiggleMark) => void;
  readonly #since: number;
  #mark: WiggleMark | null = null;
  #told = 0;

  /** `keep` puts a mark on the recording; a later one of the same id stands in its place. */
  constructor(reading: Analyst["reading"], place: string, keep: (mark: WiggleMark) => void) {
    this.#reading = reading;
    this.#label = wiggleLabel(place);
    this.#keep = keep;
    this.#since = Math.max(0, reading.lastTime);
  }

  /** `now`: the recording's time, milliseconds. */
  told(now: number): WiggleTold {
    const left = this.#since + aloneMs - now;
    if (this.#mark === null && left > 0)
      return {
        words: `leave it alone, running or cranking as you will test it: ${Math.ceil(left / 1000)} s`,
        news: [],
      };
    if (this.#mark === null) {
      this.#mark = { id: "wiggle", at: Math.round(now), label: this.#label };
      this.#keep(this.#mark);
    }
    const span = wiggleSpan({ k: "mark", t: now, ...this.#mark, until: now }, [], now);
    if (span === null) return { words: "", news: [] };
    const wiggle = wiggleIn(this.#reading.channels, span);
    const news = wiggle.drops.slice(this.#told).map((drop) => `${clockTenths(drop.t)}  ${dropWords(drop)}`);
    this.#told = Math.max(this.#told, wiggle.drops.length);
    return { words: `move it; ${wiggleCount(wiggle)}`, news };
  }

  /** The end of it: from here on nobody moves it. */
  end(now: number): void {
    if (this.#mark === null) return;
    this.#keep({ ...this.#mark, until: Math.max(Math.round(now), this.#mark.at) });
  }
}
