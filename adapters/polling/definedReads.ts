/** What is known of the reads that a person defined: how many replies each brings, and what their answers hold. */
import { definedValue, isFrom, type DefinedParameter } from "../../shared/defined.ts";
import type { HeardReply } from "./heard.ts";
import { idOf } from "./schedule.ts";

/** Replies that must agree before the adapter is told their number. */
const agreeing = 2;
/** What one CAN frame carries; adapters differ in how they count longer replies. */
const oneFrame = 7;

interface Known {
  count: number;
  seen: number;
  /** A module asked for more time: the count would end with that message. */
  never: boolean;
}

export class DefinedReplies {
  readonly rows: readonly DefinedParameter[];
  readonly #known = new Map<string, Known>();

  constructor(rows: readonly DefinedParameter[]) {
    this.rows = rows;
  }

  /** How many replies to wait for; null to let the adapter wait out its own time. */
  repliesTo(read: string): number | null {
    const known = this.#known.get(read);
    return known === undefined || known.never || known.seen < agreeing ? null : known.count;
  }

  /** `read`: as `idOf` names it. `replies`: the count that was sent. Returns the channels that a reading came for. */
  learn(read: string, replies: number | null, heard: HeardReply): string[] {
    const known = this.#known.get(read) ?? { count: 0, seen: 0, never: false };
    this.#known.set(read, known);
    if (heard.pending) known.never = true;
    const count = heard.answers.length + heard.refusals;
    const asked = read.split("@")[0] ?? read;
    const long = heard.answers.some(({ data }) => data.length + asked.length / 2 > oneFrame);
    if (heard.answers.length === 0 || long || heard.unfinished) known.seen = 0;
    else if (replies === null) {
      known.seen = known.count === count ? known.seen + 1 : 1;
      known.count = count;
    }
    return this.rows
      .filter((row) => idOf(row) === read && heard.answers.some((answer) => holds(row, answer)))
      .map((row) => row.channel);
  }
}

function holds(
  row: DefinedParameter,
  answer: { readonly module: string; readonly data: Uint8Array },
): boolean {
  if (!isFrom(row, answer.module)) return false;
  return !Number.isNaN(definedValue(row, answer.data));
}
