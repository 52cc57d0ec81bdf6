/** A vehicle comes in: it is tried, a recording is made and read, and the complaint is what it shows. */
import { join } from "node:path";
import { existsSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { z } from "zod/mini";
import { findingsSchema, type Findings } from "../../src/interpret/index.ts";
import type { Heard } from "../../src/interpret/causes/evidence.ts";
import { complaintsOf } from "../../src/interpret/causes/complaint.ts";
import type { CauseId } from "../../src/interpret/causes/tables/causes.ts";
import type { Complaint } from "../../src/interpret/causes/types.ts";
import type { Case } from "./cases.ts";
import { makeRecording, readBack } from "./one.ts";
import { listen, ShopVehicle, type Turned } from "./shopBench.ts";
import type { Hands } from "./shopHands.ts";
import { trueCauses } from "./shopTruth.ts";

export interface Visit {
  readonly fault: string;
  /** The causes whose repair mends it, the one it is first. For the one who knows, and for the books. */
  readonly truth: readonly CauseId[];
  readonly complaints: readonly Complaint[];
  readonly heard: readonly Heard[];
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
  const crank = shop.start({ runS: 10 });
  const runs = crank.fired && crank.ranS > 9;
  const script = runs ? "hold-2500" : "crank-only";
  const findings = await heardOf({ vehicle, fault, severity, script, seed }, arrival);
  const heard: Heard[] = [{ recording: "visit.ndjson", started, findings }];
  const complaints = told(crank, runs, [...complaintsOf(findings), ...felt(shop, runs)]);
  if (complaints.length === 0) return null;
  const turning = shop.turn();
  const healthyTurning = shop.turn(true);
  const hands = (draw: number): Hands => {
    const own = new ShopVehicle(vehicle, faults, seed + 1000 * draw);
    return { shop: own, random, runs, crank, turning, healthyTurning };
  };
  return { fault, truth: trueCauses(fault, severity, seed), complaints, heard, seed, hands };
}

/** Records and reads it back, or takes what an earlier run kept of the very same case. */
async function heardOf(one: Case, { folder, kept = null }: Arrival): Promise<Findings> {
  const file = kept === null ? null : join(kept, `${one.vehicle}-${one.fault ?? ""}-${one.seed}.json`);
  if (file !== null && existsSync(file)) {
    const before = keptSchema.parse(JSON.parse(readFileSync(file, "utf8")));
    if (before.severity === one.severity && before.script === one.script) return before.findings;
  }
  const out = join(folder, "visit.ndjson");
  await makeRecording(one, out);
  const findings = await readBack(out);
  rmSync(out, { force: true });
  if (file !== null) {
    writeFileSync(file, JSON.stringify({ severity: one.severity, script: one.script, findings }));
  }
  return findings;
}

const keptSchema = z.object({ severity: z.number(), script: z.string(), findings: findingsSchema });

/** What the driver says goes first: it does not start, or it dies; else what the recording shows. */
function told(crank: Turned, runs: boolean, shown: readonly Complaint[]): Complaint[] {
  if (!crank.fired) return ["no-start"];
  if (!runs) return ["starts-and-dies"];
  return [...new Set(shown.filter((c) => c === "rough" || c === "lean" || c === "rich"))];
}

/**
 * What a driver feels at idle without any instrument: twice over, clearly rougher than this engine at its roughest
 * when it was sound.
 */
function felt(shop: ShopVehicle, runs: boolean): Complaint[] {
  if (!runs) return [];
  const spread = (healthy: boolean): number => {
    const there = shop.idling(healthy);
    return there === null ? Number.NaN : listen(there, 20).spread;
  };
  const then = Math.max(spread(true), spread(true));
  const now = Math.min(spread(false), spread(false));
  return now > 1.5 * then ? ["rough"] : [];
}
