/**
 * Cranks of the bench vehicles with compression as it is wanted, millisecond by millisecond: what an ideal voltmeter and
 * the module would read. Injectors are unplugged, as the capture asks; nothing fires.
 */
import { allBenchVehicles, Bench } from "../../../adapters/bench/index.ts";
import { soundLeak } from "../../../adapters/bench/damage.ts";
import { VirtualClock } from "../../../adapters/link/index.ts";
import { seriesOf } from "../../../adapters/bench/vehicles.ts";

export const traceVehicles = allBenchVehicles.map(({ id }) => id);

/** Share of the sound cylinders' compression that is left, by cylinder. */
export type Compression = { readonly kind: "sound" | "one" | "all"; readonly share: number };

export interface CrankTrace {
  /** Volts at the socket, and speed as the module measures it, rpm: one value each millisecond from the key on. */
  readonly volts: Float64Array;
  readonly rpm: Float64Array;
  /** Milliseconds at which the starter came on, and at which it was let go. */
  readonly from: number;
  readonly to: number;
}

export interface TraceOptions {
  readonly vehicle: string;
  readonly compression: Compression;
  readonly seed: number;
  readonly cranks?: number;
  readonly crankMs?: number;
}

const restMs = 1500;
const pauseMs = 6000;

interface Leak {
  readonly valve: number;
  readonly ring: number;
}

const leaks = new Map<string, Promise<Leak>>();

function bench(vehicle: string, seed: number): { clock: VirtualClock; bench: Bench } {
  const clock = new VirtualClock(undefined, 64);
  const made = new Bench({ vehicle, clock, seed });
  made.act({ act: "key", to: "on" });
  made.engine.unplugged.fill(1);
  return { clock, bench: made };
}

function apply(b: Bench, { kind }: Compression, leak: Leak, cylinder: number): void {
  const { damage } = b.engine;
  if (kind === "one") damage.valveLeak[cylinder] = leak.valve;
  if (kind === "all") damage.ringLeak.fill(leak.ring);
}

/** Gauge pressure at the end of compression, kPa, least and greatest of the cylinders, of a second of cranking. */
async function peaks(vehicle: string, compression: Compression, leak: Leak): Promise<[number, number]> {
  const { clock, bench: b } = bench(vehicle, 1);
  apply(b, compression, leak, 0);
  await clock.pass(restMs);
  b.act({ act: "key", to: "crank" });
  await clock.pass(1200);
  b.catchUp();
  b.engine.peak.fill(0);
  await clock.pass(1300);
  b.catchUp();
  const gauge = [...b.engine.peak].map((p) => (p - b.engine.ambient) / 1000);
  b.stop();
  return [Math.min(...gauge), Math.max(...gauge)];
}

/** The leak that leaves this share of a sound cylinder's compression, by halving. */
function leakFor(vehicle: string, compression: Compression): Promise<Leak> {
  const key = `${vehicle} ${compression.kind} ${compression.share}`;
  const known = leaks.get(key);
  if (known !== undefined) return known;
  const search = async (): Promise<Leak> => {
    if (compression.kind === "sound") return { valve: 0, ring: 0 };
    const sound = (await peaks(vehicle, { kind: "sound", share: 1 }, { valve: 0, ring: 0 }))[1];
    let low = 0;
    let high = 400 * soundLeak;
    for (let i = 0; i < 16; i++) {
      const middle = (low + high) / 2;
      const leak = compression.kind === "one" ? { valve: middle, ring: 0 } : { valve: 0, ring: middle };
      const [least] = await peaks(vehicle, compression, leak);
      if (least > compression.share * sound) low = middle;
      else high = middle;
    }
    return compression.kind === "one" ? { valve: high, ring: 0 } : { valve: 0, ring: high };
  };
  const found = search();
  leaks.set(key, found);
  return found;
}

export async function crankTraces(options: TraceOptions): Promise<CrankTrace[]> {
  const { vehicle, compression, seed, cranks = 3, crankMs = 4000 } = options;
  const leak = await leakFor(vehicle, compression);
  const { clock, bench: b } = bench(vehicle, seed);
  apply(b, compression, leak, seed % b.vehicle.firingOrder.length);
  // Not each engine stands in the same place, nor has the same charge in its battery.
  b.engine.angle = (seed * 97) % 720;
  b.engine.electrics.charge = 0.75 + 0.25 * ((seed * 0.618) % 1);
  const traces: CrankTrace[] = [];
  const scale = seriesOf(b.vehicle);
  for (let i = 0; i < cranks; i++) {
    await clock.pass(i === 0 ? restMs : pauseMs);
    const all = restMs + crankMs + 800;
    const trace = {
      volts: new Float64Array(all),
      rpm: new Float64Array(all),
      from: restMs,
      to: restMs + crankMs,
    };
    for (let t = 0; t < all; t++) {
      if (t === trace.from) b.act({ act: "key", to: "crank" });
      if (t === trace.to) b.act({ act: "key", to: "on" });
      await clock.pass(1);
      b.catchUp();
      trace.volts[t] = b.engine.electrics.volts * scale;
      trace.rpm[t] = b.module.crank.rpm;
    }
    traces.push(trace);
  }
  b.stop();
  return traces;
}
