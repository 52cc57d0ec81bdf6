/** Where a sheet's clips and statements come from: recordings that were read, and whether they still fit their ties. */
import type { VehicleFacts } from "../../shared/vehicle.ts";
import { VehicleRanges } from "../interpret/report/ranges.ts";
import { profileEntries } from "../interpret/profile/profile.ts";
import { profileIn } from "../interpret/profile/seenIn.ts";
import type { ProfileEntry } from "../interpret/report/schema.ts";
import type { Read } from "../reading/index.ts";
import type { Plausible, RegimeSpan } from "./chart/picture.ts";
import type { Tie } from "./job.ts";

export interface TiedSource {
  readonly reading: Read;
  readonly spans: readonly RegimeSpan[];
  readonly ranges: Plausible;
  /** The facts that it was read by: the job's, and where it says nothing the recording's own. */
  readonly vehicle?: VehicleFacts;
  /** What kind of vehicle it is, by whatever tells it. */
  readonly profile?: readonly ProfileEntry[];
}

/**
 * "altered": the bytes that the tie speaks of are no longer the same. An altered recording is not drawn: it could show
 * anything.
 */
export type TieState = "fits" | "altered" | "missing" | "unreadable";

export interface TiedRecording {
  readonly state: TieState;
  /** Null unless the state is "fits". */
  readonly source: TiedSource | null;
}

export interface Sources {
  evidence(tie: Tie): TiedRecording;
  /** A photo's bytes by the id of its item; null when its file is missing or altered. */
  photo(id: string): Uint8Array | null;
}

/** A recording that was read, by these facts of its vehicle. */
export function sourceFrom(reading: Read, vehicle: VehicleFacts): TiedSource {
  const { profile, spans } = profileIn(reading, vehicle, reading.lastTime);
  const { fuel, throttled, supply } = profile;
  const kind = { fuel: fuel.value, throttled: throttled.value, supply: supply.value };
  const ranges = new VehicleRanges(vehicle, kind);
  return { reading, spans, ranges, vehicle, profile: profileEntries(profile) };
}

/** What the sheet says where evidence cannot be shown. */
export const tieWords: Readonly<Record<Exclude<TieState, "fits">, string>> = {
  altered: "The recording was altered after this was put on the sheet; it is not drawn.",
  missing: "The recording is not there.",
  unreadable: "The recording cannot be read.",
};
