/** How a dialogue that is out of step finds the adapter's prompt again. */
import type { Exchange, ExchangeLimits } from "./machine.ts";
import type { Pace } from "./pace.ts";
import { answersProbe, probes } from "./words.ts";

/** Never touches the vehicle, and is never answered with the adapter's name, so that a reset meanwhile is seen. */
const call = "ATRV";

/** Behind unreadable bytes in place of the prompt, milliseconds: noise, or another baud rate. */
const garbledMs = 60;

/** Calls for the prompt in a row. */
const mostCalls = 3;

/** Probes in a row, where prompts stayed away. */
const mostProbes = 2;

export type CallWaits = Omit<ExchangeLimits, "characters">;

/** What the call needs of a dialogue, inside one turn of it. */
export interface CallTalk {
  exchange(ask: string, waits: CallWaits): Promise<Exchange>;
  /** Waits until the line is quiet; false when prompts stayed away. */
  letPass(): Promise<boolean>;
  now(): number;
  readonly pace: Pace;
}

/**
 * Calls with a question that interrupts what runs, and lets pass what is late. Where prompts stayed away, an answer that
 * only its own question has must show that nothing is late any more; without one the exchange comes back without its end.
 */
export async function callForPrompt(talk: CallTalk, waitMs: number): Promise<Exchange> {
  const waits: CallWaits = {
    ...{ silenceMs: waitMs, workingMs: waitMs, wholeMs: 3 * waitMs },
    garbledMs: Math.min(waitMs, garbledMs),
  };
  let called = await talk.exchange(call, waits);
  let sure = false;
  for (let more = 1; more < mostCalls && called.end !== null; more++) {
    sure = await talk.letPass();
    // One that interrupted something was eaten itself, in part.
    if (called.err !== "STOPPED") break;
    called = await talk.exchange(call, waits);
  }
  if (called.end === null || sure || (await isProven(talk, waits))) return called;
  return { ...called, end: null };
}

async function isProven(talk: CallTalk, waits: CallWaits): Promise<boolean> {
  for (let tries = 0; tries < mostProbes; tries++) {
    const probe = talk.pace.fresh(probes, talk.now());
    if (probe === null) return false;
    const told = await talk.exchange(probe, waits);
    if (answersProbe(told)) {
      talk.pace.proven();
      return true;
    }
    if (told.end === null) return false;
    await talk.letPass();
  }
  return false;
}
