/**
 * A faster serial line. The adapter's rate command (from memory, as the whole command set): it takes the divisor of
 * 4 Mbit/s, says OK at the old rate, its name at the new one, and waits for a carriage return as long as it was told
 * (steps of 5 ms). With it, it says OK and stays; without, it goes back. A clone may claim all that: so the rate is
 * believed after test bytes only, and what fails ends at the rate before.
 */
import type { Exchange, ExchangeLimits } from "./machine.ts";
import { rateWait, rateWaitMs, type FasterRate } from "./fasterRates.ts";
import { resetWaits } from "./setup.ts";
import { isOk, refused } from "./words.ts";

export type RateOutcome =
  /** The adapter and we are at the new rate, and the test bytes came back whole. */
  | "proven"
  /** The adapter does not know the command, or not this rate; nothing changed. */
  | "refused"
  /** It claimed the rate and could not be understood; both are at the old rate again. */
  | "unreliable"
  /** It claimed the rate, and is understood at neither. */
  | "astray";

/** What the change needs of a dialogue, inside one turn of it. */
export interface RateTalk {
  exchange(ask: string, limits: Partial<ExchangeLimits>): Promise<Exchange>;
  /** The listener hears when the adapter has said OK to the change, while the exchange goes on. */
  change(ask: string, limits: Partial<ExchangeLimits>, agreed: () => void): Promise<Exchange>;
  setBaud(baud: number): Promise<void>;
  pause(ms: number): Promise<void>;
}

/** An answer of the adapter itself. */
const answerMs = 250;
const limits: Partial<ExchangeLimits> = {
  silenceMs: answerMs,
  workingMs: answerMs,
  wholeMs: 3 * answerMs,
  garbledMs: 30,
};
/** Its name so many times, byte for byte, in both directions. */
const testRounds = 8;

/** `says`: the adapter's name, as it was heard at the present rate. */
export async function changeRate(
  talk: RateTalk,
  from: number,
  { baud, divisor }: FasterRate,
  says: string,
): Promise<RateOutcome> {
  await talk.exchange(rateWait, limits);
  const switching: Promise<boolean>[] = [];
  const asked = await talk.change(`ATBRD${divisor}`, { ...limits, lines: 2 }, () => {
    // A port that cannot do it stays where it is, and the adapter goes back by itself.
    switching.push(
      talk.setBaud(baud).then(
        () => true,
        () => false,
      ),
    );
  });
  if (refused(asked)) return "refused";
  const switched = (await switching[0]) === true;
  // A prompt here is a clone that says OK to everything. Its name may be spoilt by a port that was slow to change.
  if (switched && (asked.answer.length > 1 || asked.end === null)) {
    // The one bare carriage return that is ever sent. Should the adapter have gone back, it repeats the rate command.
    const confirmed = await talk.exchange("", limits);
    if (isOk(confirmed)) {
      return (await isWhole(talk, says)) ? "proven" : resetAtOldRate(talk, from);
    }
  }
  await talk.setBaud(from);
  await talk.pause(rateWaitMs + 50);
  const back = await talk.exchange("ATRV", limits);
  if (back.end !== null) return "unreliable";
  await talk.setBaud(baud);
  return resetAtOldRate(talk, from);
}

/** Said at the new rate; the adapter begins anew at its own. */
export async function resetAtOldRate(talk: Omit<RateTalk, "change">, from: number): Promise<"astray"> {
  // Whatever it heard at the other rate stands in its buffer, and goes with this one.
  await talk.exchange("ATRV", { ...limits, silenceMs: 80 });
  const reset = talk.exchange("ATZ", resetWaits);
  // Its bytes are through the slowest port by then.
  await talk.pause(30);
  await talk.setBaud(from);
  await reset;
  return "astray";
}

async function isWhole(talk: RateTalk, says: string): Promise<boolean> {
  for (let round = 0; round < testRounds; round++) {
    const { end, answer } = await talk.exchange("ATI", limits);
    if (end === null || answer.length !== 1 || answer[0]?.trim() !== says) return false;
  }
  return true;
}
