/** What goes in and out of the library, typed by itself: whoever uses it needs nothing else of ours. Fields may come. */

export interface Channel {
  /** Its id, such as `engine-speed`. */
  readonly channel: string;
  /** Address of the module that told it; empty where there is one only, or none. */
  readonly module: string;
  readonly name: string;
  /** Its unit's id, such as `rpm` or `kPa`. */
  readonly unit: string;
  /** Milliseconds since the start, never falling. Valid until more is pushed. */
  readonly times: Float64Array;
  /** NaN where it was asked for and not answered. */
  readonly values: Float64Array;
}

/** Milliseconds since the start. */
export interface Window {
  readonly from: number;
  readonly to: number;
}

export interface Span extends Window {
  /** What the engine did: `key-on`, `cranking`, `idle-warm`, ... */
  readonly regime: string;
}

export interface Sign {
  /** FINDINGS.md lists them. */
  readonly id: string;
  /** Tells signs of one id apart. */
  readonly key: string;
  readonly verdict: "outside" | "near" | "within" | "cannot-tell";
  readonly title: string;
  readonly meaning: string;
  readonly windows: readonly Window[];
  readonly channels: readonly string[];
  readonly bank?: number | undefined;
  readonly cylinder?: number | undefined;
}

export interface Crank extends Window {
  readonly number: number;
  readonly outcome: string;
}

export interface Findings {
  readonly version: number;
  readonly until: number;
  readonly regimes: readonly Span[];
  readonly cranks: readonly Crank[];
  readonly signs: readonly Sign[];
  readonly codes: readonly { readonly code: string }[];
}

export interface Cause {
  readonly id: string;
  readonly name: string;
  /** Its share of what is likely, 0 to 1. */
  readonly standing: {
    readonly share: number;
    readonly low: number;
    readonly high: number;
    readonly word: string;
  };
}

export interface Advice {
  readonly version: number;
  readonly complaints: readonly string[];
  readonly causes: readonly Cause[];
}

/** One sentence, and the figures that it rests on. */
export interface Headline {
  readonly words: string;
  readonly figures: string;
}

export type Units = "metric" | "us";

export interface RecordingOptions {
  /** How it is named in errors and in advice. */
  readonly name?: string;
  /** Facts of the vehicle before those of the recording: JSON as `crankside read --vehicle` takes it. */
  readonly vehicle?: Readonly<Record<string, unknown>>;
}

/** A value of a reply to service 01. */
export interface Decoded {
  readonly channel: string;
  readonly name: string;
  readonly unit: string;
  readonly value: number;
}

/** Which bytes of which recording something on a job's sheet rests on. */
export interface Tie {
  readonly file: string;
  readonly bytes: number;
  readonly sha256: string;
}

export interface NoteOptions<R> {
  /** ISO 8601 with zone: when the note is made. */
  readonly made: string;
  readonly units?: Units;
  readonly part?: "all" | "page-one" | "annex";
  /**
   * The recording that something on the sheet rests on, which the caller has held to the tie's sum over its first bytes; or
   * why it cannot be drawn.
   */
  readonly recordingOf: (tie: Tie) => R | "altered" | "missing" | "unreadable";
  /** A photo's bytes by its id; null where there are none. */
  readonly photoOf?: (id: string) => Uint8Array | null;
}
