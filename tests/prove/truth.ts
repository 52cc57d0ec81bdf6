/**
 * Whether a broken engine differs at all from the same one when it was sound, in what is asked of it: by the numbers
 * that its own modules hold, ten times a second, and never by what the interpreter says of them.
 */
import type { Bench } from "../../adapters/bench/index.ts";
import { encode } from "../../adapters/bench/services/encode.ts";
import { pause, type Clock } from "../../shared/clock.ts";
import { Summary, type Stat } from "./summary.ts";

/** Parameters of service 01 that are polled by default, by number, with the bytes that count. */
const asked: readonly (readonly [pid: number, bytes: number])[] = [
  [0x03, 1],
  [0x04, 1],
  [0x05, 1],
  [0x06, 1],
  [0x07, 1],
  [0x08, 1],
  [0x09, 1],
  [0x0b, 1],
  [0x0c, 2],
  [0x0e, 1],
  [0x0f, 1],
  [0x10, 2],
  [0x11, 1],
  [0x14, 1],
  [0x42, 2],
];
const everyMs = 100;
/**
 * What one reading cannot tell, in steps of the wire: two of them, but a volt at the socket is told to 0.1 V and one
 * at the module to 0.02 V (adapters round; common practice).
 */
const stepsUnsure = 2;
const voltsUnsure: Readonly<Record<string, number>> = { socket: 0.1, "66": 20 };

export interface Truth {
  readonly stats: ReadonlyMap<string, Stat>;
  readonly codes: readonly string[];
  /** The warning lamp was lit at the end. */
  readonly lamp: boolean;
  /** The engine ran, and went out by itself. */
  readonly died: boolean;
  /** The charge lamp was lit for ten seconds and more while it ran. */
  readonly uncharged: boolean;
}

/** A charge lamp is lit below this, volts of a 12 V battery: common practice. */
const chargeLamp = 12.8;
/** Runs and stands, rpm. */
const ran = 480;
const stood = 50;

/** As text, to be kept, and back. */
export const truthText = ({ stats, ...rest }: Truth): string =>
  JSON.stringify({ ...rest, stats: [...stats] });
export function truthFrom(text: string): Truth {
  const { stats, ...rest } = JSON.parse(text) as Omit<Truth, "stats"> & { stats: [string, Stat][] };
  return { ...rest, stats: new Map(stats) };
}

/** Reads the engine's modules along with a run; `end` stops it and gives what was seen. */
export function watch(bench: Bench, clock: Clock): { end: () => Truth } {
  const summary = new Summary();
  const pids = new Set(bench.vehicle.modules.flatMap((m) => m.pids));
  let going = true;
  let died = false;
  let running = false;
  let dim = 0;
  let longest = 0;
  const look = async (): Promise<void> => {
    while (going) {
      bench.catchUp();
      const { rpm } = bench.engine;
      summary.at(rpm);
      if (rpm > ran) running = true;
      else if (rpm < stood && running) {
        died ||= bench.module.key === "on";
        running = false;
      }
      dim = rpm > ran && bench.engine.electrics.volts < chargeLamp ? dim + everyMs : 0;
      longest = Math.max(longest, dim);
      summary.add("socket", bench.engine.electrics.volts);
      if (bench.module.awake) {
        for (const [pid, bytes] of asked) {
          if (!pids.has(pid)) continue;
          const data = encode(pid, bench) ?? [];
          summary.add(String(pid), bytes === 1 ? (data[0] ?? 0) : 256 * (data[0] ?? 0) + (data[1] ?? 0));
        }
      }
      await pause(clock, everyMs);
    }
  };
  void look();
  return {
    end: () => {
      going = false;
      const { pending, stored, lamp } = bench.module.codes;
      return {
        ...{ lamp, died, uncharged: longest >= 10_000 },
        stats: summary.stats(),
        codes: [...new Set([...pending, ...stored])].map(String).sort(),
      };
    },
  };
}

/** How far one run lies from others, by figure and way of running: in units of what chance and measuring do. */
function apartBy(one: Truth, others: readonly Truth[]): ReadonlyMap<string, number> {
  const out = new Map<string, number>();
  const keys = new Set([one, ...others].flatMap(({ stats }) => [...stats.keys()]));
  for (const key of keys) {
    const own = one.stats.get(key);
    const theirs = others.flatMap(({ stats }) => stats.get(key) ?? []);
    // A way of running that only one of them had, and not for an instant.
    if (own === undefined || theirs.length === 0) {
      const there = own ?? theirs[0];
      const all = own === undefined ? theirs.length === others.length : true;
      if (all && there !== undefined && there.n >= 10) out.set(`${key} seen`, 100);
      continue;
    }
    // Of a moment that most of them did not have, nothing can be said.
    if (theirs.length * 2 < others.length || own.n < 10) continue;
    const unsure = voltsUnsure[key.split(" ")[0] ?? ""] ?? stepsUnsure;
    for (const figure of ["mean", "spread", "share"] as const) {
      const values = theirs.map((s) => s[figure]);
      const mean = values.reduce((a, b) => a + b, 0) / values.length;
      const spread = Math.sqrt(
        values.reduce((a, b) => a + (b - mean) ** 2, 0) / Math.max(1, values.length - 1),
      );
      const floor = figure === "share" ? 0.01 : unsure / 3;
      out.set(`${key} ${figure}`, Math.abs(own[figure] - mean) / Math.hypot(spread, floor));
    }
  }
  return out;
}

/**
 * So far beyond what sound runs do among themselves a run is another engine. Between sound runs of one vehicle the
 * largest of some hundred figures reaches further in one run than in another; measured on healthy runs, so that less
 * than one in twenty would pass for broken.
 */
export const beyond = { least: 6, times: 1.5 } as const;

/**
 * `sound`: runs of the same vehicle under the same script without a fault. Each of them against the others says, figure
 * by figure, how far one comes out by chance: a figure that jumps by itself counts for as much less.
 */
export function apartFrom(one: Truth, sound: readonly Truth[]): number {
  const alone = sound.map((s) =>
    apartBy(
      s,
      sound.filter((o) => o !== s),
    ),
  );
  let most = 0;
  for (const [what, far] of apartBy(one, sound)) {
    const usual = Math.max(...alone.map((by) => by.get(what) ?? 0));
    most = Math.max(most, far / Math.max(beyond.least, beyond.times * usual));
  }
  return most;
}

export function differs(one: Truth, sound: readonly Truth[]): boolean {
  const usual = new Set(sound.flatMap((s) => s.codes));
  return one.codes.some((c) => !usual.has(c)) || apartFrom(one, sound) > 1;
}
