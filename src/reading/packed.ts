/** What was read of a recording, as plain values: one thread reads a long one, and another goes on with it. */
import type { PackedSeries } from "../../shared/channels.ts";
import type { ChannelInfo } from "../../shared/decode.ts";
import type { ProtocolId } from "../../shared/protocols.ts";
import type { AdapterIdentity, Header, LinkEvent, MarkEvent } from "../../shared/recording/format.ts";
import type { Notice, PackedReader } from "../../shared/recording/reader.ts";
import type { JobFacts } from "../../shared/vehicle.ts";
import type { PackedVolts } from "../../shared/volts.ts";
import type { PackedFilled } from "./filled.ts";
import type { PackedDefined } from "./defined.ts";

/** A stretch without a link; `to` is null while it lasts. Milliseconds since the start. */
export interface Gap {
  readonly from: number;
  to: number | null;
  readonly why: string;
}

/** A module's answer to a service other than 01: service byte first. */
export interface Answer {
  readonly t: number;
  readonly module: string;
  readonly ask: string;
  readonly data: Uint8Array;
}

/** A longer answer of which a part did not come. */
export interface BrokenAnswer {
  readonly t: number;
  readonly module: string;
  readonly ask: string;
  readonly why: string;
}

export interface PackedReading {
  readonly series: readonly PackedSeries[];
  readonly gaps: Gap[];
  readonly notices: Notice[];
  readonly answers: Answer[];
  readonly broken: BrokenAnswer[];
  readonly links: LinkEvent[];
  readonly counts: Map<string, number>;
  readonly discarded: Map<string, number>;
  /** Latest form of each mark by its id, removed ones included. */
  readonly marks: Map<string, MarkEvent>;
  /** Keys of notices that are told once. */
  readonly told: Set<string>;
  /** Channels that stand in no table. */
  readonly units: Map<string, ChannelInfo>;
  /** Parameters that each module announced. */
  readonly support: Map<string, Set<number>>;
  readonly header: Header | null;
  readonly facts: JobFacts;
  readonly protocol: ProtocolId | null;
  readonly adapter: AdapterIdentity | null;
  readonly lastTime: number;
  readonly ended: boolean;
  readonly headersOn: true | undefined;
  readonly defined: PackedDefined | undefined;
  readonly filled: PackedFilled | undefined;
  readonly volts: PackedVolts | undefined;
  readonly reader: PackedReader | undefined;
}

export function nothingRead(): PackedReading {
  return {
    series: [],
    gaps: [],
    notices: [],
    answers: [],
    broken: [],
    links: [],
    counts: new Map(),
    discarded: new Map(),
    marks: new Map(),
    told: new Set(),
    units: new Map(),
    support: new Map(),
    header: null,
    facts: {},
    protocol: null,
    adapter: null,
    lastTime: 0,
    ended: false,
    headersOn: undefined,
    defined: undefined,
    filled: undefined,
    volts: undefined,
    reader: undefined,
  };
}

/** The memory of its columns, which may be handed over instead of copied. */
export function columnsOf({ series }: PackedReading): ArrayBuffer[] {
  return series.flatMap(({ t, v }) => [t.buffer, v.buffer]);
}
