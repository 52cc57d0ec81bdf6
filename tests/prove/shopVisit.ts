/** A vehicle comes in: it is tried, a recording is made and read, and the complaint is what it shows. */
import { join } from "node:path";
import { existsSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { z } from "zod/mini";
import { findingsSchema } from "../../src/interpret/index.ts";
import type { HeardRecording } from "../../src/interpret/causes/evidence.ts";
import { complaintsOf } from "../../src/interpret/causes/complaint.ts";
import type { CauseId } from "../../src/interpret/causes/tables/causes.ts";
import type { Complaint } from "../../src/interpret/causes/types.ts";
import type { Case } from "./cases.ts";
import { makeRecording, readBack } from "./one.ts";
import { drive, feltRough, heardSlow, suitedScript, toldOf, type Driven } from "./driver.ts";
import { ShopVehicle } from "./shopBench.ts";
import type { Hands } from "./shopHands.ts";
import { trueCauses } from "./shopTruth.ts";

export interface Visit {
  readonly fault: string;
  /** The causes whose repair mends it, the one it is first. For the one who knows, and for the books. */
  readonly truth: readonly CauseId[];
  readonly complaints: readonly Complaint[];
  readonly heard: readonly HeardRecording[];
  readonly seed: number;
  /** A mechanic at this vehicle as it came in; each solver gets one of their own. */
  readonly hands: (draw: number) => Hands;
}

export interface Arrival {
  readonly vehicle: string;
  readonly fault: string;
  readonly seed: number;
  readonly random: () => number;
  readonly folder: string;
  /** Where findings are kept for another run of the same vehicles; null: made anew. */
  readonly kept?: string | null;
}

const started = "2026-05-02T08:00:00.000Z";

/** Null when the vehicle, with this severity, shows nothing that anyone would complain of. */
export async function takeIn(arrival: Arrival): Promise<Visit | null> {
  const { vehicle, fault, seed, random } = arrival;
  // A third are broken outright, the others to some degree.
  const severity = random() < 1 / 3 ? 1 : 0.4 + 0.6 * random();
  const faults = [{ name: fault, severity }];
  const shop = new ShopVehicle(vehicle, faults, seed);
  const driven = drive(shop);
  const { crank, runs } = driven;
  const script = suitedScript({ fault }, driven);
  const { findings, ...noticed } = await heardOf({ vehicle, fault, severity, script, seed }, driven, arrival);
  const heard: HeardRecording[] = [{ recording: "visit.ndjson", started, findings }];
  const complaints = toldOf(driven, { ...noticed, shown: complaintsOf(findings) });
  if (complaints.length === 0) return null;
  const turning = shop.turn();
  const healthyTurning = shop.turn(true);
  // Each mechanic has chances of their own, and the same vehicle.
  const truth = trueCauses(fault, severity);
  const hands = (draw: number): Hands => {
    const own = new ShopVehicle(vehicle, faults, seed + 1000 * draw);
    return { shop: own, random, runs, crank, turning, healthyTurning };
  };
  return { fault, truth, complaints, heard, seed, hands };
}

type Seen = z.infer<typeof keptSchema>;

/** Records and reads it back and feels how it idles, or takes what an earlier run kept of the very same case. */
async function heardOf(one: Case, driven: Driven, { folder, kept = null }: Arrival): Promise<Seen> {
  const file = kept === null ? null : join(kept, `${one.vehicle}-${one.fault ?? ""}-${one.seed}.json`);
  if (file !== null && existsSync(file)) {
    const before = keptSchema.parse(JSON.parse(readFileSync(file, "utf8")));
    if (before.severity === one.severity && before.script === one.script) return before;
  }
  const out = join(folder, "visit.ndjson");
  const { lamp, died, uncharged } = await makeRecording(one, out);
  const { severity, script } = one;
  const seen: Seen = {
    ...{ severity, script, lamp, died, uncharged },
    findings: await readBack(out),
    rough: feltRough(one, driven),
    slow: heardSlow(one),
  };
  rmSync(out, { force: true });
  if (file !== null) writeFileSync(file, JSON.stringify(seen));
  return seen;
}

const keptSchema = z.object({
  severity: z.number(),
  script: z.string(),
  findings: findingsSchema,
  rough: z.boolean(),
  slow: z.boolean(),
  lamp: z.boolean(),
  died: z.boolean(),
  uncharged: z.boolean(),
});
