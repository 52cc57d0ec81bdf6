/** What the person at the key and pedal does, as data. Times in seconds since the script began. */
import { pause, type Clock } from "../../shared/clock.ts";
import { CranksideError } from "../../shared/errors.ts";
import type { BenchAct } from "../../shared/messages.ts";
import type { Bench } from "./bench.ts";

type Move =
  | BenchAct
  /** Drives at this road speed, km/h; null stops. */
  | { readonly act: "drive"; readonly kmh: number | null }
  /** A foot that holds a speed; null lets go. */
  | { readonly act: "hold"; readonly rpm: number | null }
  /** Cranks until it runs by itself, at most so long, as a person does by ear. */
  | { readonly act: "start"; readonly atMostS: number };

export interface BenchScript {
  readonly id: string;
  readonly about: string;
  readonly seconds: number;
  readonly moves: readonly (Move & { readonly at: number })[];
}

const on = (at: number): Move & { at: number } => ({ at, act: "key", to: "on" });
const start = (at: number): Move & { at: number } => ({ at, act: "start", atMostS: 6 });
const off = (at: number): Move & { at: number } => ({ at, act: "key", to: "off" });
const crank = (at: number): Move & { at: number } => ({ at, act: "key", to: "crank" });

const snaps = (times: readonly number[]): (Move & { at: number })[] =>
  times.flatMap((at) => [
    { at, act: "pedal", to: 1 },
    { at: at + 0.5, act: "pedal", to: 0 },
  ]);

export const benchScripts: readonly BenchScript[] = [
  { id: "key-on", about: "key on, engine off", seconds: 20, moves: [on(0)] },
  {
    id: "start-and-idle",
    about: "key on, start, idle from cold",
    seconds: 120,
    moves: [on(0), start(8)],
  },
  {
    id: "cold-crank",
    about: "key on, one crank of six seconds or until it runs",
    seconds: 40,
    moves: [on(0), start(10)],
  },
  {
    id: "crank-only",
    about: "three cranks of five seconds, fifteen seconds apart, key on between them",
    seconds: 75,
    moves: [on(0), crank(10), on(15), crank(30), on(35), crank(50), on(55)],
  },
  {
    id: "warm-up",
    about: "start, idle until warm",
    seconds: 720,
    moves: [on(0), start(8)],
  },
  {
    id: "hold-2500",
    about: "start, idle half a minute, hold 2500 rpm a minute, idle, shut off",
    seconds: 150,
    moves: [
      on(0),
      crank(8),
      on(10),
      { at: 42, act: "hold", rpm: 2500 },
      { at: 102, act: "hold", rpm: null },
      off(140),
    ],
  },
  {
    id: "snap",
    about: "start, idle, three snaps of the throttle, idle",
    seconds: 90,
    moves: [on(0), crank(8), on(10), ...snaps([40, 50, 60])],
  },
  {
    id: "cruise",
    about: "start, idle, drive at 50 and at 90 km/h, stop, idle",
    seconds: 300,
    moves: [
      on(0),
      start(8),
      { at: 40, act: "drive", kmh: 50 },
      { at: 120, act: "drive", kmh: 90 },
      { at: 240, act: "drive", kmh: null },
    ],
  },
  {
    id: "visit",
    about: "a whole visit of 20 minutes: cold start, warm-up, held speed, snaps, a drive, a warm restart",
    seconds: 1200,
    moves: [
      on(0),
      start(10),
      { at: 240, act: "hold", rpm: 2500 },
      { at: 300, act: "hold", rpm: null },
      ...snaps([330, 340, 350]),
      { at: 380, act: "drive", kmh: 60 },
      { at: 500, act: "drive", kmh: 90 },
      { at: 640, act: "drive", kmh: null },
      off(780),
      on(800),
      start(808),
      { at: 1000, act: "hold", rpm: 1500 },
      { at: 1060, act: "hold", rpm: null },
      off(1190),
    ],
  },
  {
    id: "sealed-intake",
    about: "start, idle, the intake's joints taped over for a minute, idle, hold 2500 rpm a minute, idle",
    seconds: 470,
    moves: [
      on(0),
      start(8),
      { at: 200, act: "intake-seal", on: true },
      { at: 260, act: "intake-seal", on: false },
      { at: 330, act: "hold", rpm: 2500 },
      { at: 390, act: "hold", rpm: null },
      off(460),
    ],
  },
  {
    id: "starts",
    about: "three starts fifteen seconds apart, each until it runs",
    seconds: 75,
    moves: [on(0), start(10), start(30), start(50)],
  },
  {
    id: "workshop",
    about: "start, idle a minute, hold 2500 rpm, drive at 90 km/h, idle",
    seconds: 200,
    moves: [
      on(0),
      start(8),
      { at: 70, act: "hold", rpm: 2500 },
      { at: 105, act: "hold", rpm: null },
      { at: 115, act: "drive", kmh: 90 },
      { at: 175, act: "drive", kmh: null },
    ],
  },
  {
    id: "shut-off",
    about: "start, idle half a minute, shut off, key off for ten seconds, on again",
    seconds: 70,
    moves: [on(0), start(8), off(45), on(55)],
  },
];

/** Carries a script out on the given clock; throws `bench-unknown` for a name that is not in the table. */
export async function runScript(
  bench: Bench,
  name: string,
  clock: Clock,
  onSecond?: (seconds: number) => void,
): Promise<void> {
  const script = benchScripts.find((s) => s.id === name);
  if (script === undefined) {
    throw new CranksideError("bench-unknown", "no such script of the bench vehicle", {
      expected: benchScripts.map((s) => s.id).join(", "),
      found: JSON.stringify(name),
    });
  }
  const begin = clock.now();
  const until = async (second: number): Promise<void> => {
    for (;;) {
      const left = begin + second * 1000 - clock.now();
      if (left <= 0) return;
      await pause(clock, Math.min(left, 1000));
      onSecond?.((clock.now() - begin) / 1000);
    }
  };
  for (const move of script.moves) {
    await until(move.at);
    if (move.act === "hold") bench.hold(move.rpm);
    else if (move.act === "drive") bench.drive(move.kmh);
    else if (move.act === "start") await startEngine(bench, clock, move.atMostS);
    else bench.act(move);
  }
  await until(script.seconds);
}

async function startEngine(bench: Bench, clock: Clock, atMostS: number): Promise<void> {
  const until = clock.now() + atMostS * 1000;
  bench.act({ act: "key", to: "crank" });
  for (let heard = 0; heard < 3 && clock.now() < until;) {
    await pause(clock, 100);
    bench.catchUp();
    // By ear: well above what the starter can do, three times running.
    heard = bench.engine.rpm > 480 ? heard + 1 : 0;
  }
  bench.act({ act: "key", to: "on" });
}
