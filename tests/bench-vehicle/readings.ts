/** Readings by hand-written formulas (public list "OBD-II PIDs"), for tests that argue from what a tool would see. */
import type { Typist } from "./support.ts";

type Bytes = readonly number[];
const a = (b: Bytes): number => b[0] ?? Number.NaN;
const ab = (b: Bytes): number => 256 * (b[0] ?? Number.NaN) + (b[1] ?? Number.NaN);

const formulas = {
  rpm: ["010C", (b: Bytes) => ab(b) / 4],
  manifold: ["010B", a],
  barometric: ["0133", a],
  coolant: ["0105", (b: Bytes) => a(b) - 40],
  intake: ["010F", (b: Bytes) => a(b) - 40],
  load: ["0104", (b: Bytes) => (a(b) * 100) / 255],
  throttle: ["0111", (b: Bytes) => (a(b) * 100) / 255],
  airFlow: ["0110", (b: Bytes) => ab(b) / 100],
  advance: ["010E", (b: Bytes) => a(b) / 2 - 64],
  short1: ["0106", (b: Bytes) => ((a(b) - 128) * 100) / 128],
  long1: ["0107", (b: Bytes) => ((a(b) - 128) * 100) / 128],
  short2: ["0108", (b: Bytes) => ((a(b) - 128) * 100) / 128],
  long2: ["0109", (b: Bytes) => ((a(b) - 128) * 100) / 128],
  loop: ["0103", a],
  moduleVolts: ["0142", (b: Bytes) => ab(b) / 1000],
  oxygen1: ["0114", (b: Bytes) => a(b) / 200],
  absoluteLoad: ["0143", (b: Bytes) => (ab(b) * 100) / 255],
} as const;

export type Reading = keyof typeof formulas;

/** One reading now; NaN when nobody answers. */
export async function read(t: Typist, what: Reading): Promise<number> {
  const [command, formula] = formulas[what];
  return formula(await t.bytes(`${command}1`));
}

/** Voltage at the socket as the adapter tells it. */
export async function socketVolts(t: Typist): Promise<number> {
  const line = (await t.ask("ATRV")).find((l) => /^\d+\.\dV$/.test(l));
  return Number.parseFloat(line ?? "");
}

export type Sampled = Record<Reading | "volts" | "t", number[]>;

/** Asks these one after the other, again and again, for so long. Times in seconds on the clock. */
export async function sample(
  t: Typist,
  whats: readonly (Reading | "volts")[],
  seconds: number,
): Promise<Sampled> {
  const until = t.clock.now() + seconds * 1000;
  const all = { t: [] as number[] } as Sampled;
  for (const what of whats) all[what] = [];
  while (t.clock.now() < until) {
    all.t.push(t.clock.now() / 1000);
    for (const what of whats) all[what].push(what === "volts" ? await socketVolts(t) : await read(t, what));
  }
  return all;
}

export function mean(values: readonly number[]): number {
  const known = values.filter((v) => !Number.isNaN(v));
  return known.reduce((sum, v) => sum + v, 0) / known.length;
}

export const least = (values: readonly number[]): number =>
  Math.min(...values.filter((v) => !Number.isNaN(v)));
export const most = (values: readonly number[]): number =>
  Math.max(...values.filter((v) => !Number.isNaN(v)));

/** Key on, protocol found, quiet adapter. */
export async function listening(t: Typist): Promise<Typist> {
  await t.quiet();
  t.key("on");
  await t.wait(2.5);
  await t.raw("0100");
  return t;
}

/** Cranks until it runs by itself, at most so long; seconds it took, or NaN. */
export async function start(t: Typist, atMostS = 6): Promise<number> {
  const begun = t.clock.now();
  t.key("crank");
  for (let i = 0; i < atMostS * 20; i++) {
    await t.wait(0.05);
    if (t.bench.engine.rpm < 550) continue;
    const took = (t.clock.now() - begun) / 1000;
    await t.wait(0.2);
    t.key("on");
    return took;
  }
  t.key("on");
  return Number.NaN;
}

/** What truly goes on, looked at every 10 ms, where no tool could ask so fast or at all. */
export async function watch(t: Typist, seconds: number, what: () => number): Promise<number[]> {
  const seen: number[] = [];
  for (let i = 0; i < seconds * 100; i++) {
    await t.wait(0.01);
    seen.push(what());
  }
  return seen;
}

/** Speed of the crankshaft, rpm. */
export function trueSpeed(t: Typist, seconds: number): Promise<number[]> {
  return watch(t, seconds, () => t.bench.engine.rpm);
}
