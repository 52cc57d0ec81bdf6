/** The other figure of a reading that is judged by its difference, where the recording knows it. Pure. */
import type { ChannelStore } from "../../../../shared/channels.ts";
import type { Crank } from "../../../interpret/index.ts";
import { lastBefore, ownSeries } from "../../../interpret/folds/windows.ts";
import { clockText } from "../app/words.ts";

export interface KnownFigure {
  readonly value: number;
  /** Where it is from: "as recorded while cranking, attempt 2". */
  readonly words: string;
}

interface Known {
  readonly channels: ChannelStore;
  readonly cranks: readonly Crank[];
  /** Where the recording is read, ms. */
  readonly at: number;
  readonly live: boolean;
}

/** A live value older than this is of another moment. */
const freshMs = 3000;

/**
 * Live: what is read now. Else, for a voltage, what the last attempt was turned on, where it did not start: a battery
 * at rest is another voltage. Else the last that was read. Null where the recording has none of the channels.
 */
export function figureBeside(
  names: readonly string[],
  { channels, cranks, at, live }: Known,
): KnownFigure | null {
  if (!live && names.some((name) => name.endsWith("voltage"))) {
    const last = cranks.at(-1);
    if (last !== undefined && last.outcome !== "started" && last.meanVolts !== null)
      return {
        value: tidy(last.meanVolts.value),
        words: `as recorded in crank ${last.number}: another state needs another figure`,
      };
  }
  for (const name of names) {
    const found = lastBefore(ownSeries(channels, name), at, live ? freshMs : Number.POSITIVE_INFINITY);
    if (found !== null) return { value: tidy(found.value), words: `as recorded at ${clockText(found.t)}` };
  }
  return null;
}

const tidy = (value: number): number => Math.round(value * 100) / 100;
