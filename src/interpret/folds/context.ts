import type { VehicleProfile } from "../profile/profile.ts";
import type { VehicleRanges } from "../report/ranges.ts";
import type { Crank } from "../report/schema.ts";
import type { Disturbed } from "./disturbed.ts";
import type { RegimeSpan } from "./regimes.ts";
import type { Source } from "./source.ts";

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
  /** What acts that a person marked caused is no evidence. */
  readonly disturbed: Disturbed;
}
