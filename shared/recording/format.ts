/**
 * The recording format, version 1. recordings/FORMAT.md describes it field by field for other readers.
 * Newline-delimited JSON, UTF-8, append-only: a header line, then one line an event.
 */
import type { DefinedParameter } from "../definedForm.ts";
import type { ProtocolId } from "../protocols.ts";
import { forms, versionOf } from "../stored/forms.ts";
import type { VehicleFacts, JobFacts } from "../vehicle.ts";

export const formatName = forms.recording.format;
export const formatVersion = versionOf(forms.recording);

export interface AdapterIdentity {
  /** What it answered to the identity question, as it came. */
  readonly says: string;
  /** Commands it refused during set-up: a clone lies about its version, so features are probed. */
  readonly refuses?: readonly string[];
  readonly baud?: number;
}

export interface Header {
  readonly format: typeof formatName;
  readonly version: number;
  /** Wall time of t = 0, ISO 8601 with zone. */
  readonly started: string;
  /** Where was listened, as an address; `import:NAME` for an imported file. */
  readonly from: string;
  /** Known when the recording began, else null: then an event of kind `link` tells it. */
  readonly adapter: AdapterIdentity | null;
  readonly protocol: ProtocolId | null;
  readonly vehicle: VehicleFacts;
  /** True for anything that was made up: the bench vehicle and the samples that ship. */
  readonly invented: boolean;
  readonly writer: string;
}

/** One command and all that came back. `t` is when the command was handed to the line. */
export interface ExchangeEvent {
  readonly k: "x";
  /** Milliseconds since the start, monotonic. */
  readonly t: number;
  /** The command without its carriage return. */
  readonly ask: string;
  /** Each line as it came, one character a byte (Latin-1), without line ends and prompt. */
  readonly lines: readonly string[];
  /** Milliseconds from t to the first byte of the reply; null when none came. */
  readonly first: number | null;
  /** Milliseconds from t to the prompt; null when none came. */
  readonly end: number | null;
  /** The adapter's status word, or `silent`, `cut` (no prompt in time), `closed`, `reset` (it introduced itself unasked). */
  readonly err?: string;
}

/** Bytes that belonged to no exchange. */
export interface StrayEvent {
  readonly k: "stray";
  readonly t: number;
  readonly text: string;
}

/** A label on an instant or an interval. A later mark with the same id replaces the earlier one. */
export interface MarkEvent {
  readonly k: "mark";
  readonly t: number;
  readonly id: string;
  /** The instant, or the beginning, of what is marked; milliseconds since the start. */
  readonly at: number;
  /** The end of an interval. */
  readonly until?: number;
  readonly label: string;
  readonly removed?: true;
}

export const linkStates = [
  "opened",
  "identified",
  "protocol",
  "modules",
  "low-voltage",
  "reset",
  "lost",
  "back",
  "closed",
] as const;
export type LinkState = (typeof linkStates)[number];

export interface LinkEvent {
  readonly k: "link";
  readonly t: number;
  readonly state: LinkState;
  readonly why?: string;
  readonly adapter?: AdapterIdentity;
  readonly protocol?: ProtocolId;
  /** Module address -> parameters it announced. */
  readonly modules?: Readonly<Record<string, readonly number[]>>;
}

/** A decoded value from somewhere else, such as an imported CSV. */
export interface SampleEvent {
  readonly k: "s";
  readonly t: number;
  readonly ch: string;
  /** null: asked, no answer. */
  readonly v: number | null;
  /** Unit, from the closed list. */
  readonly u: string;
}

/** Complaint and vehicle as the person corrected them; a later one replaces the earlier. */
export interface FactsEvent {
  readonly k: "facts";
  readonly t: number;
  readonly facts: JobFacts;
}

/** What the writer wants a reader to know, such as a defect met while importing. */
export interface NoticeEvent {
  readonly k: "notice";
  readonly t: number;
  readonly text: string;
  /**
   * The file was cut short here and is carried on: the line before this one is torn, and so many bytes of it
   * are there (0: it ended with a whole line). Such a torn line is no alteration.
   */
  readonly torn?: number;
}

/**
 * Parameters that the person defined: what the reads by identifier from here on mean. A later row replaces the
 * earlier one of the same channel. */
export interface DefinedEvent {
  readonly k: "defined";
  readonly t: number;
  readonly parameters: readonly DefinedParameter[];
}

/** Closes what precedes it. After it only an addition may follow: marks, facts, and another end. */
export interface EndEvent {
  readonly k: "end";
  readonly t: number;
  /** SHA-256, hexadecimal, of all bytes of the file before this line. */
  readonly sha256: string;
}

export type RecordingEvent =
  | ExchangeEvent
  | StrayEvent
  | MarkEvent
  | LinkEvent
  | SampleEvent
  | FactsEvent
  | NoticeEvent
  | DefinedEvent
  | EndEvent;

/** An event of a kind this version does not know: kept and passed by. */
export interface UnknownEvent {
  readonly k: string;
  readonly t: number;
  readonly [field: string]: unknown;
}

/** Tells of nothing that was heard: as the first event, of a line that never opened, it makes no recording. */
export function tellsNothing(event: RecordingEvent): boolean {
  return event.k === "link" && event.state === "closed";
}

/** Longest time in a recording, milliseconds: some months. What claims more is no reading of a vehicle. */
export const longestMs = 1e10;

/** Rounds a time to a microsecond, so that lines stay short. */
export function roundMs(ms: number): number {
  return Math.round(ms * 1000) / 1000;
}

/** A line of the file, with its line feed. Key order is fixed: t and k first. */
export function eventLine(event: RecordingEvent | UnknownEvent): string {
  const { t, k, ...rest } = event;
  const fields: Record<string, unknown> = { t: roundMs(t), k, ...rest };
  for (const delay of ["first", "end"]) {
    const value = fields[delay];
    if (typeof value === "number") fields[delay] = roundMs(value);
  }
  return `${JSON.stringify(fields)}\n`;
}

export function headerLine(header: Header): string {
  return `${JSON.stringify(header)}\n`;
}
