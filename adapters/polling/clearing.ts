/** Clearing codes, from a person's words to what the modules said to it. Once, and never again by itself. */
import { CranksideError } from "../../shared/errors.ts";
import { identifiedRequest } from "../../shared/identified.ts";
import type { EventSink } from "../../shared/recording/sink.ts";
import type { Survey } from "../../shared/survey.ts";
import { consentToClear, type Exchange } from "../dialogue/index.ts";
import { readReply } from "../framing/index.ts";
import type { ProtocolId } from "../../shared/protocols.ts";
import { hear, hearIdentified } from "./heard.ts";
import type { AdapterLine } from "./line.ts";

export interface ClearOutcome {
  /** Modules that said that it is done. */
  readonly cleared: readonly string[];
  /** Modules that said no, with the reason as a number in hexadecimal. */
  readonly refused: readonly { readonly module: string; readonly reason: string }[];
}

interface Kept {
  readonly survey: Survey;
  readonly sink: EventSink;
  readonly atMs: number;
}

export interface ClearNow {
  readonly line: AdapterLine;
  readonly protocol: ProtocolId;
  readonly now: () => number;
  /** Nothing was seen of an engine that turns, and cranking is not waited for. */
  readonly quiet: boolean;
  readonly typed: string;
  /** The vehicle speaks SAE J1979-2; see adapters/dialogue/clearing.ts. */
  readonly identified?: { readonly unconfirmed: boolean };
}

/** A long memory takes a while to erase. */
const clearWaits = { silenceMs: 6000 };

/** What a session holds ready for the act. */
export class Clearing {
  #kept: Kept | null = null;

  /** A survey came to its end; `sink` is where it was recorded, null when nowhere. */
  keep(survey: Survey, sink: EventSink | null, atMs: number): void {
    this.#kept = sink === null ? null : { survey, sink, atMs };
  }

  /** The link was lost, or the evidence was used: another survey is needed. */
  forget(): void {
    this.#kept = null;
  }

  /**
   * Sends service 04, or 14 on SAE J1979-2, once. Rejects with `clear-refused` before anything is sent when something is
   * missing; and with the same code, saying so, when it was sent and no module said that it is done.
   */
  async run({ line, protocol, now, quiet, typed, identified }: ClearNow): Promise<ClearOutcome> {
    // Whether the engine speed is read at all is the person's choice: so it is asked now.
    const atRest = quiet && (await isAtRest(line, protocol, identified !== undefined));
    const kept = this.#kept;
    const same = kept !== null && line.sink === kept.sink;
    const consent = consentToClear({
      kept: same ? kept.survey : null,
      ageMs: same ? now() - kept.atMs : Number.POSITIVE_INFINITY,
      atRest,
      typed,
      ...(identified === undefined ? {} : { identified }),
    });
    this.forget();
    line.notice(`a person asked to clear codes, in these words: ${consent.sentence}`);
    const exchange = await line.clear(consent, clearWaits);
    // A bare carriage return, from whomever, makes an adapter repeat its last command: that must not be this one.
    await line.ask("ATRV");
    return outcomeOf(exchange, protocol);
  }
}

const speedPid = 0x0c;

/** Each module that tells the engine speed says none. Where no module tells it, it is unknown, and that is not at rest. */
async function isAtRest(line: AdapterLine, protocol: ProtocolId, byIdentifier: boolean): Promise<boolean> {
  const { answer } = await line.ask(byIdentifier ? identifiedRequest([speedPid]) : "010C");
  const { answers } = (byIdentifier ? hearIdentified : hear)(answer, [speedPid], protocol);
  return (
    answers.length > 0 && answers.every(({ data }) => data.length >= 2 && data.every((byte) => byte === 0))
  );
}

function outcomeOf(exchange: Exchange, protocol: ProtocolId): ClearOutcome {
  if (exchange.ask !== "04" && exchange.ask !== "14FFFF33") {
    throw new CranksideError("clear-refused", "codes are not cleared, and nothing was sent", {
      expected: "the adapter's prompt",
      found: exchange.err ?? "none",
    });
  }
  const service = parseInt(exchange.ask.slice(0, 2), 16);
  const messages = readReply(exchange.answer, protocol).flatMap((p) => (p.kind === "message" ? [p] : []));
  const cleared = messages.filter(({ data }) => data[0] === service + 0x40).map(({ module }) => module);
  const refused = messages
    .filter(({ data }) => data[0] === 0x7f && data[1] === service && data[2] !== 0x78)
    .map(({ module, data }) => ({
      module,
      reason: (data[2] ?? 0).toString(16).toUpperCase().padStart(2, "0"),
    }));
  if (cleared.length > 0) return { cleared, refused };
  const said = refused.map(({ module, reason }) => `module ${module}: ${reason}`).join(", ");
  throw new CranksideError("clear-refused", "clearing was sent once, and no module confirmed it", {
    found: said === "" ? (exchange.err ?? "no answer") : said,
    advice: "Read all modules again before anything else: what is stored now shows what happened.",
  });
}
