/**
 * Checks a person makes by hand, and what this engine with these faults would show to gauge, lamp or eye, with
 * measuring error. What needs cranking or dismantling is done on a twin of the vehicle, so that the one on the
 * bench stays as it is.
 */
import { CranksideError } from "../../shared/errors.ts";
import { Bench } from "./bench.ts";
import { soundLeak } from "./damage.ts";
import { hashed } from "./random.ts";
import { seriesOf } from "./vehicles.ts";

export const handChecks = [
  { id: "fuel-pressure", name: "Fuel pressure as it stands", unit: "kPa", cylinder: false },
  { id: "fuel-volume", name: "Fuel delivered in half a minute at full voltage", unit: "mL", cylinder: false },
  { id: "fuel-sample", name: "Fuel in a glass", unit: "", cylinder: false },
  { id: "spark", name: "Spark while cranking or running", unit: "mm", cylinder: true },
  { id: "injector-pulse", name: "Injector pulse while cranking or running", unit: "ms", cylinder: true },
  { id: "spray", name: "Injector spray and delivery of 100 pulses", unit: "mL", cylinder: true },
  { id: "compression", name: "Compression, dry", unit: "kPa", cylinder: true },
  { id: "compression-wet", name: "Compression, with oil", unit: "kPa", cylinder: true },
  { id: "leak-down", name: "Leak-down", unit: "%", cylinder: true },
  { id: "relay-voltage", name: "Voltage behind the main relay", unit: "V", cylinder: false },
  { id: "battery-load", name: "Battery after 15 s of load", unit: "V", cylinder: false },
  { id: "cable-drop", name: "Starter cable drop while cranking", unit: "V", cylinder: false },
  { id: "ground-drop", name: "Engine ground drop while cranking", unit: "V", cylinder: false },
  { id: "back-pressure", name: "Exhaust back-pressure as it stands", unit: "kPa", cylinder: false },
  { id: "valve-timing", name: "Cam mark late by", unit: "°", cylinder: false },
] as const;

export type HandCheckId = (typeof handChecks)[number]["id"];

export interface HandReading {
  readonly check: HandCheckId;
  /** Counted from 1; null where the check is not of one cylinder. */
  readonly cylinder: number | null;
  /** Null where only the words tell. */
  readonly value: number | null;
  readonly unit: string;
  readonly words: string;
}

/** What came out: a number, and what the person sees or hears. */
type Gauged = readonly [value: number | null, words: string];

/** Makes the check now. Throws `bench-unknown` for a check or cylinder there is not. */
export function measure(bench: Bench, id: string, cylinder: number | null = null): HandReading {
  bench.catchUp();
  const row = handChecks.find((c) => c.id === id);
  if (row === undefined) {
    throw new CranksideError("bench-unknown", "no such hand check", {
      expected: handChecks.map((c) => c.id).join(", "),
      found: JSON.stringify(id),
    });
  }
  const n = bench.vehicle.firingOrder.length;
  if (row.cylinder && !(cylinder !== null && cylinder >= 1 && cylinder <= n)) {
    throw new CranksideError("bench-unknown", "no such cylinder", {
      expected: `1 to ${n}`,
      found: String(cylinder),
    });
  }
  const at = row.cylinder ? (cylinder ?? 1) - 1 : 0;
  const [value, words] = outcome(bench, row.id, at);
  return { check: row.id, cylinder: row.cylinder ? at + 1 : null, value, unit: row.unit, words };
}

function outcome(bench: Bench, id: HandCheckId, c: number): Gauged {
  const { engine } = bench;
  const series = seriesOf(bench.vehicle);
  switch (id) {
    case "fuel-pressure":
      return [rounded(engine.mixture.rail * error(bench, 0.015)), ""];
    case "fuel-volume":
      return fuelVolume(bench);
    case "fuel-sample":
      return [null, fuelLooks(bench)];
    case "spark":
      return spark(bench, c);
    case "injector-pulse":
      return pulse(bench, c);
    case "spray":
      return spray(bench, c);
    case "compression":
      return [compression(bench, c, false), ""];
    case "compression-wet":
      return [compression(bench, c, true), ""];
    case "leak-down":
      return leakDown(bench, c);
    case "relay-voltage":
      return [
        tenth(engine.orders.relay ? engine.electrics.relayVolts * series * error(bench, 0.003) : 0),
        "",
      ];
    case "battery-load":
      return [tenth(batteryLoad(bench) * series), ""];
    case "cable-drop":
    case "ground-drop":
      return drop(bench, id === "cable-drop");
    case "back-pressure":
      return [
        tenth(Math.max(0, (engine.exhaust.pressure - engine.ambient) / 1000 + 0.3 * (error(bench, 1) - 1))),
        "",
      ];
    case "valve-timing":
      return [rounded(engine.damage.valveSlip + 2 * (error(bench, 1) - 1)), ""];
  }
}

/** A factor of 1 with this spread, fixed by seed, moment and how many checks were made. */
function error(bench: Bench, spread: number): number {
  const draw = hashed(bench.seed ^ 0x5eed, bench.steps + bench.nextCheck() * 7919);
  return 1 + (draw - 0.5) * 3.4 * spread;
}

const rounded = (v: number): number => Math.round(v);
const tenth = (v: number): number => Math.round(v * 10) / 10;

/** The same vehicle in the same state of wear, warmth and charge, on a clock of its own. */
function twin(bench: Bench): { twin: Bench; pass: (seconds: number) => void } {
  let now = 0;
  const clock = { now: () => now, wall: () => 0, after: () => () => undefined };
  const { vehicle, faults, seed, engine } = bench;
  const copy = new Bench({
    ...{ vehicle: vehicle.id, faults, seed, clock },
    coldStartC: engine.heat.coolantC,
  });
  copy.engine.electrics.charge = engine.electrics.charge;
  copy.engine.electrics.booster = engine.electrics.booster;
  copy.engine.electrics.relaySwapped = engine.electrics.relaySwapped;
  copy.engine.exhaust.opened = engine.exhaust.opened;
  copy.engine.unplugged.set(engine.unplugged);
  copy.engine.sparks.coilAt.set(engine.sparks.coilAt);
  copy.engine.sparks.plugAt.set(engine.sparks.plugAt);
  const pass = (seconds: number): void => {
    now += seconds * 1000;
    copy.catchUp();
  };
  return { twin: copy, pass };
}

/** The engine as it runs, or a twin that has been cranked for two seconds without being let to catch. */
function turning(bench: Bench): Bench {
  if (bench.module.running) return bench;
  const { twin: copy, pass } = twin(bench);
  copy.act({ act: "key", to: "on" });
  pass(2.5);
  copy.act({ act: "key", to: "crank" });
  pass(2);
  return copy;
}

function position(bench: Bench, c: number): number {
  return bench.vehicle.firingOrder.indexOf(c + 1);
}

/** A tester with an adjustable gap, in the plug's place: what it jumps, mm. 16 mm in the open is a good coil (glossary, topmechanic). */
function spark(bench: Bench, c: number): Gauged {
  if (bench.vehicle.fuel === "diesel") return [null, "this engine has no spark"];
  const strength = turning(bench).engine.sparks.given[position(bench, c)] ?? 0;
  const gap = tenth(Math.max(0, 24 * strength * error(bench, 0.05)));
  if (gap < 1) return [0, "none"];
  return [gap, gap < 14 ? "thin, yellow, comes and goes" : "blue and steady"];
}

function pulse(bench: Bench, c: number): Gauged {
  const there = turning(bench);
  const volts = there.engine.orders.relay ? there.engine.electrics.relayVolts : 0;
  const ms = volts < 5 ? 0 : (there.engine.askedS[position(bench, c)] ?? 0) * 1000;
  return [tenth(ms * error(bench, 0.01)), ms === 0 ? "the lamp stays dark" : "the lamp flashes"];
}

function spray(bench: Bench, c: number): Gauged {
  const { damage } = bench.engine;
  const share = damage.injector[c] ?? 1;
  const { injectorFlow } = bench.vehicle;
  // A hundred pulses of 4 ms on a bench pump at the rated pressure; fuel about 0.75 g/mL.
  const ml = tenth(((0.4 * injectorFlow * share) / 0.75) * error(bench, 0.02));
  if ((damage.injectorLeak[c] ?? 0) > 0.02) return [ml, "drips when shut"];
  if (share < 0.55) return [ml, "a stream, and drops"];
  return [ml, share < 0.85 ? "a lopsided cone" : "a fine cone"];
}

/** Peak of five seconds' cranking with the throttle open, injectors unplugged, by a gauge with a valve. */
function compression(bench: Bench, c: number, wet: boolean): number {
  const { twin: copy, pass } = twin(bench);
  copy.engine.unplugged.fill(1);
  // Oil seals rings for a while, valves not.
  if (wet) copy.engine.damage.ringLeak.forEach((leak, i, list) => (list[i] = leak * 0.3));
  copy.act({ act: "pedal", to: 1 });
  copy.act({ act: "key", to: "on" });
  pass(0.5);
  copy.act({ act: "key", to: "crank" });
  pass(1);
  copy.engine.peak.fill(0);
  pass(4);
  const peak = copy.engine.peak[position(bench, c)] ?? 0;
  return rounded(Math.max(0, (peak - copy.engine.ambient) / 1000) * error(bench, 0.012));
}

/** Two gauges over an orifice: what passes the cylinder over what passes both. 5 to 10 % is good (study guide). */
function leakDown(bench: Bench, c: number): Gauged {
  const { ringLeak, valveLeak } = bench.engine.damage;
  const rings = ringLeak[c] ?? 0;
  const valves = valveLeak[c] ?? 0;
  const leak = soundLeak + rings + valves;
  const percent = rounded(((100 * leak) / (leak + 3.6)) * error(bench, 0.06));
  if (percent < 15) return [percent, "a faint hiss at the oil filler"];
  return [percent, rings >= valves ? "air at the oil filler" : "air at the tail pipe"];
}

function fuelVolume(bench: Bench): Gauged {
  const { damage, vehicle } = bench.engine;
  const strength = Math.min(1.4, (bench.engine.electrics.volts / 12.5) ** 2);
  const flow = 9 * vehicle.displacementL ** 0.5 * damage.pump * strength * (1 - damage.tankEmpty);
  return [rounded(((flow / (1 + 0.35 * damage.filter)) * 30 * error(bench, 0.03)) / 0.75), ""];
}

function fuelLooks(bench: Bench): string {
  const { staleness, tankEmpty } = bench.engine.damage;
  if (tankEmpty > 0.9) return "nothing comes";
  return staleness > 0.35 ? "dark, smells of varnish" : "clear, smells fresh";
}

/** Half the cold cranking current for 15 s, by the usual test: about four times the capacity's number, A. */
function batteryLoad(bench: Bench): number {
  const { electrics, heat, damage, vehicle } = bench.engine;
  const amp = 4 * vehicle.batteryAh;
  const ohm = electrics.ohm(heat.batteryC, damage) * 1.35;
  const rest = electrics.volts + electrics.current * electrics.ohm(heat.batteryC, damage);
  return Math.max(0, (rest - amp * ohm) * error(bench, 0.003));
}

function drop(bench: Bench, cable: boolean): Gauged {
  const { twin: copy, pass } = twin(bench);
  copy.act({ act: "pedal", to: 1 });
  copy.act({ act: "key", to: "on" });
  pass(0.5);
  copy.act({ act: "key", to: "crank" });
  let sum = 0;
  for (let i = 0; i < 20; i++) {
    pass(0.05);
    sum += copy.engine.electrics.starterAmp / 20;
  }
  const { damage, vehicle } = copy.engine;
  const sound = 0.04 * vehicle.starterOhm;
  const ohm = sound + (cable ? damage.cableOhm : damage.groundOhm);
  return [Math.round(sum * ohm * seriesOf(vehicle) * error(bench, 0.02) * 100) / 100, ""];
}
