import type { ChannelStore } from "../../../shared/channels.ts";
import type { ChannelInfo } from "../../../shared/decode.ts";
import type { ProtocolId } from "../../../shared/protocols.ts";
import type { LinkEvent, MarkEvent } from "../../../shared/recording/format.ts";
import type { JobFacts } from "../../../shared/vehicle.ts";
import type { Answer, Gap } from "../../reading/index.ts";
import type { VehicleProfile } from "../profile/profile.ts";
import type { VehicleRanges } from "../report/ranges.ts";
import type { RegimeSpan } from "./regimes.ts";
import type { Crank } from "../report/schema.ts";

/** What the interpreter reads: a `Reading` is one. */
export interface Source {
  readonly channels: ChannelStore;
  readonly marks: readonly MarkEvent[];
  readonly answers: readonly Answer[];
  readonly links: readonly LinkEvent[];
  readonly gaps: readonly Gap[];
  readonly facts: JobFacts;
  readonly protocol: ProtocolId | null;
  readonly lastTime: number;
  /** Parameters that each module announced. */
  readonly modules: ReadonlyMap<string, ReadonlySet<number>>;
  info(channel: string): ChannelInfo;
}

/** What a topic needs beside its own sums when it states its signs. */
export interface Context {
  readonly source: Source;
  readonly ranges: VehicleRanges;
  readonly spans: readonly RegimeSpan[];
  readonly cranks: readonly Crank[];
  /** How far everything was taken in, milliseconds. */
  readonly until: number;
  /** Nothing more will come. */
  readonly ended: boolean;
  readonly profile: VehicleProfile;
  /** It is known to be one; an unknown fuel is none. */
  readonly diesel: boolean;
  readonly hybrid: boolean;
}
