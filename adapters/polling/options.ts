import type { Clock } from "../../shared/clock.ts";
import type { DefinedParameter } from "../../shared/defined.ts";
import type { ErrorCode } from "../../shared/errors.ts";
import type { ProtocolId } from "../../shared/protocols.ts";
import type { AdapterIdentity } from "../../shared/recording/format.ts";
import type { EventSink } from "../../shared/recording/sink.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import type { DialogueOptions } from "../dialogue/index.ts";
import type { Focus } from "./focus.ts";
import type { RateMemory } from "./rateMemory.ts";
import type { Modules } from "./schedule.ts";

/** Waits of a session. Milliseconds unless said otherwise. */
export interface SessionWaits {
  /** Exchanges in a row without a prompt before the adapter counts as lost; a count. Default 3, from 1 to 10. */
  readonly silentExchanges: number;
  /** A silent adapter is called on the same line for this long before the line is opened anew. Default 8000. */
  readonly sameLineMs: number;
  /** Before the first try to open a lost line again; doubled after each. Default 250. */
  readonly reopenFirstMs: number;
  /** Longest wait between two tries. Default 2000. */
  readonly reopenMostMs: number;
  /** Between two voltage readings when nothing else is read. Default 50, from 5 to 5000. */
  readonly voltsPaceMs: number;
  /** A vehicle that was never heard is looked for this often, voltage readings in between. Default 600. */
  readonly seekEveryMs: number;
  /** At least between two reports of the reading rates. Default 1000. */
  readonly reportEveryMs: number;
}

export const sessionDefaults: SessionWaits = {
  silentExchanges: 3,
  sameLineMs: 8000,
  reopenFirstMs: 250,
  reopenMostMs: 2000,
  voltsPaceMs: 50,
  seekEveryMs: 600,
  reportEveryMs: 1000,
};

export interface SessionOptions {
  /** Opens the line anew, at a baud rate where the line has one. */
  readonly open: (baud?: number) => Promise<ByteEnd>;
  /** As a person would type it, for messages. */
  readonly address: string;
  readonly clock: Clock;
  /** Where exchanges and link events go from the first byte on; null to keep nothing yet. */
  readonly sink: EventSink | null;
  /** Empty or absent: the usual ones that the modules support. */
  readonly channels?: readonly string[];
  /** Asked more often than the rest. */
  readonly pinned?: readonly string[];
  /** Asked slowly in any case, beside those that were chosen: what the signs need. Default none. */
  readonly heard?: readonly string[];
  /** The rate to use; without it, and with `findBaud`, the usual ones are tried. */
  readonly baud?: number;
  readonly findBaud?: boolean;
  /** With it the adapter is asked for a faster line, where the line has a rate; it keeps what was learned. */
  readonly rates?: RateMemory;
  /** Every module is asked at key on and by `lastSurvey` without being told to. Default false. */
  readonly survey?: boolean;
  /** Reads that the person defined; they are polled, and their meaning goes into the recording. */
  readonly defined?: readonly DefinedParameter[];
  /**
   * On a vehicle that speaks SAE J1979-2: also the requests of which nobody could confirm how they are made
   * (recordings/J1979-2.md). A person turns this on.
   */
  readonly unconfirmed?: boolean;
  readonly waits?: Partial<SessionWaits>;
  readonly dialogue?: Partial<DialogueOptions>;
}

export interface SessionStatus {
  readonly link: "connecting" | "listening" | "paused" | "lost" | "closed";
  /** What is being done, or why the link is lost, in words. */
  readonly doing: string;
  readonly failure: { readonly code: ErrorCode; readonly message: string } | null;
  readonly adapter: AdapterIdentity | null;
  readonly protocol: ProtocolId | null;
  readonly modules: Modules;
  /** Readings a second by channel, over the last report. */
  readonly rates: ReadonlyMap<string, number>;
  readonly focus: Focus;
  /** Cranking is waited for. */
  readonly armed: boolean;
  /** Voltage and speed alone are asked, for the strength of the cylinders. */
  readonly strength: boolean;
  /** A battery that is low with the engine off; `spared` while the vehicle is asked seldom for its sake. */
  readonly battery: { readonly volts: number; readonly spared: boolean } | null;
}
