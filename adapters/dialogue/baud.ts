import type { Clock } from "../../shared/clock.ts";
import { CranksideError, isCranksideError, type ErrorCode } from "../../shared/errors.ts";
import type { EventSink } from "../../shared/recording/sink.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { Dialogue } from "./dialogue.ts";
import type { DialogueOptions } from "./options.ts";
import type { Exchange } from "./machine.ts";
import { isText, printable } from "./readable.ts";
import { nameOn } from "./words.ts";

/** Rates that adapters are sold with, the most usual first. */
export const usualBauds = [38_400, 115_200, 9600, 230_400, 500_000, 57_600, 19_200, 1_000_000] as const;

export interface BaudSearch {
  readonly open: (baud: number) => Promise<ByteEnd>;
  readonly clock: Clock;
  readonly sink?: EventSink | null;
  /** Default `usualBauds`. */
  readonly bauds?: readonly number[];
  readonly options?: Partial<DialogueOptions>;
  /** Said before each try. */
  readonly onDoing?: (words: string) => void;
  /** Told of each dialogue that is tried, so that the search can be broken off by closing it. */
  readonly onDialogue?: (dialogue: Dialogue) => void;
}

export interface BaudFound {
  readonly dialogue: Dialogue;
  readonly baud: number;
}

/**
 * Waits for an answer, by round, milliseconds. The second round is for an adapter that restarts when its port is
 * opened, and is deaf for about a second.
 */
const roundWaitsMs = [400, 1300] as const;

/**
 * Tries one rate after the other until the adapter answers with a readable line and a prompt; the line stays open.
 * Throws `adapter-silent`, `adapter-garbled` or `no-adapter` with what came at each rate, and what `open` throws.
 */
export async function findBaud(search: BaudSearch): Promise<BaudFound> {
  const { bauds = usualBauds, onDoing } = search;
  const tries = new Map<number, Exchange[]>();
  const impossible = new Set<number>();
  for (const waitMs of roundWaitsMs) {
    for (const baud of bauds) {
      if (impossible.has(baud)) continue;
      onDoing?.(`trying ${baud} baud`);
      const end = await openAt(search, baud, tries.size > 0);
      if (end === null) {
        impossible.add(baud);
        continue;
      }
      const dialogue = new Dialogue(end, search.clock, { ...search.options, sink: search.sink ?? null });
      search.onDialogue?.(dialogue);
      const seen = await probe(dialogue, waitMs);
      if (seen.some(isReadable)) return { dialogue, baud };
      await dialogue.close();
      tries.set(baud, [...(tries.get(baud) ?? []), ...seen]);
    }
  }
  throw noneWorked(tries, impossible);
}

/** null for a rate that this port cannot do, once another rate could be opened. */
async function openAt(search: BaudSearch, baud: number, openedBefore: boolean): Promise<ByteEnd | null> {
  try {
    return await search.open(baud);
  } catch (error) {
    if (openedBefore && isCranksideError(error, "link-failed")) return null;
    throw error;
  }
}

/** The first question may be spoilt by what stands in the adapter's buffer from another rate; so it is put twice. */
async function probe(dialogue: Dialogue, waitMs: number): Promise<Exchange[]> {
  const waits = { silenceMs: waitMs, workingMs: waitMs, wholeMs: 4 * waitMs };
  const seen: Exchange[] = [];
  try {
    for (let tries = 0; tries < 2 && !seen.some(isReadable); tries++)
      seen.push(await dialogue.ask("ATI", waits));
  } catch (error) {
    // The line went away at this rate; the next one is opened anew.
    if (!isCranksideError(error, "link-closed")) throw error;
  }
  return seen;
}

function isReadable(exchange: Exchange): boolean {
  const text = exchange.answer.join("");
  const named = exchange.answer.some((line) => nameOn(line) !== null);
  return exchange.end !== null && text !== "" && (named || isText(text));
}

function noneWorked(
  tries: ReadonlyMap<number, readonly Exchange[]>,
  impossible: ReadonlySet<number>,
): CranksideError {
  const came = [...tries].map(([baud, seen]) => {
    const text = seen.flatMap((e) => e.lines).join(" ");
    return { baud, text };
  });
  const silent = came.filter(({ text }) => text === "").map(({ baud }) => baud);
  const found = [
    ...came.filter(({ text }) => text !== "").map(({ baud, text }) => `${baud}: "${printable(text, 40)}"`),
    ...(silent.length === 0 ? [] : [`nothing at ${silent.join(", ")}`]),
    ...(impossible.size === 0 ? [] : [`the port cannot do ${[...impossible].join(", ")}`]),
  ].join("; ");
  const expected = "a readable answer and a prompt to ATI at one of the usual baud rates";
  const texts = came.map(({ text }) => text).filter((text) => text !== "");
  return new CranksideError(...verdict(texts), {
    expected,
    found,
    advice: "Check plug, supply and port, or give the baud rate with the port, as PORT@BAUD.",
  });
}

/** What it was, from all that could be heard. */
function verdict(texts: readonly string[]): [code: ErrorCode, summary: string] {
  if (texts.length === 0) return ["adapter-silent", "no answer at any baud rate"];
  if (texts.some((text) => isText(text) && text.length > 3))
    return ["no-adapter", "this is no ELM-compatible adapter"];
  return ["adapter-garbled", "no readable answer at any baud rate"];
}
