/**
 * What three cranks tell of the cylinders' strength, over all bench vehicles, by four voltmeters: how often one weak
 * cylinder and weak cylinders throughout are told at 60 % of sound compression, and how often a sound engine is called
 * weak. The seeds from 1001 on were not used to set the limits. `npm run measure -- cylinders:quick` takes a tenth.
 */
import { benchVehicle } from "../../adapters/bench/vehicles.ts";
import { strengthOf, type Strength } from "../../src/interpret/crank/cylinders.ts";
import { captureOf, voltmeters, type Voltmeter } from "../prove/cylinders/captures.ts";
import { crankTraces, traceVehicles, type Compression, type CrankTrace } from "../prove/cylinders/traces.ts";

const out = (text: string): void => void process.stdout.write(`  ${text}\n`);
const soundRuns = 400;
const weakRuns = 60;
const firstSeed = 1001;

interface Way {
  readonly name: string;
  readonly meter: Voltmeter;
  /** Readings of voltage, and as many of speed, a second. */
  readonly rate: number;
}

const ways: readonly Way[] = [
  ...voltmeters.map((meter): Way => ({ name: meter, meter, rate: 32 })),
  ...[20, 16, 14, 13, 12, 10, 5].map((rate): Way => ({
    name: `ideal, ${rate} a second`,
    meter: "ideal",
    rate,
  })),
];

type Count = Record<Strength["verdict"], number>;
const none = (): Count => ({ even: 0, "one-weak": 0, "all-weak": 0, "cannot-tell": 0 });

const kinds: readonly Compression[] = [
  { kind: "sound", share: 1 },
  { kind: "one", share: 0.6 },
  { kind: "all", share: 0.6 },
];

export async function measureCylinders(part?: string): Promise<void> {
  const scale = part === "quick" ? 0.1 : 1;
  const counts = new Map<string, Count>();
  for (const compression of kinds) {
    const runs = Math.ceil((compression.kind === "sound" ? soundRuns : weakRuns) * scale);
    for (let i = 0; i < runs; i++) {
      const vehicle = traceVehicles[i % traceVehicles.length] ?? "";
      const seed = firstSeed + i;
      const traces = await crankTraces({ vehicle, compression, seed });
      for (const way of ways) note(counts, { compression, way, traces, vehicle, seed });
    }
  }
  report(counts);
}

interface Run {
  readonly compression: Compression;
  readonly way: Way;
  readonly traces: readonly CrankTrace[];
  readonly vehicle: string;
  readonly seed: number;
}

function note(counts: Map<string, Count>, { compression, way, traces, vehicle, seed }: Run): void {
  const key = `${compression.kind} ${way.name}`;
  const count = counts.get(key) ?? none();
  counts.set(key, count);
  const cranks = captureOf(traces, { meter: way.meter, rate: way.rate, speed: true, seed });
  count[strengthOf({ cylinders: benchVehicle(vehicle).firingOrder.length, cranks }).verdict] += 1;
}

function report(counts: ReadonlyMap<string, Count>): void {
  out(
    "three cranks of 4 s, voltage and speed by turns, 32 readings a second of each where nothing else is said",
  );
  for (const { kind } of kinds) {
    out("");
    out(`${kind === "sound" ? "sound engines" : `${kind} at 60 % of sound compression`}:`);
    out(
      `${"".padEnd(24)} ${["even", "one weak", "all weak", "cannot tell"].map((w) => w.padStart(12)).join("")}`,
    );
    for (const { name } of ways) {
      const c = counts.get(`${kind} ${name}`) ?? none();
      const told = [c.even, c["one-weak"], c["all-weak"], c["cannot-tell"]];
      out(`${name.padEnd(24)} ${told.map((n) => String(n).padStart(12)).join("")}`);
    }
  }
  out("");
  out(
    "The voltmeters are the bench's: a first real capture must show step, noise and smoothing as they are there,",
  );
  out("and what a sound engine gives, before its limits are believed.");
}
