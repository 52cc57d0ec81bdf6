/** Broken input of every kind, against the real readers. Each case ends well or in a coded error; nothing else. */
import { isCranksideError } from "../../shared/errors.ts";
import { Chance } from "./mutate.ts";

export interface FuzzTarget {
  readonly name: string;
  /** One case. Resolves to the number of cases that it stood for (default 1); rejects as the reader did. */
  run(chance: Chance): Promise<number | undefined> | number | undefined;
  close?(): Promise<void> | void;
}

export interface FuzzResult {
  readonly name: string;
  readonly cases: number;
  /** Cases that ended in a coded error. */
  readonly refused: number;
  /** The slowest single case, milliseconds: by the clock on the wall, and of the processor's time alone. */
  readonly slowestMs: number;
  readonly slowestCpuMs: number;
  /** Highest resident memory of the process above what it was before, MB. */
  readonly grewMb: number;
}

/** Rejects with what was thrown that has no code, naming seed and case. */
export async function fuzz(target: FuzzTarget, cases: number, seed = 1): Promise<FuzzResult> {
  const before = process.memoryUsage().rss;
  let highest = before;
  let done = 0;
  let refused = 0;
  let slowestMs = 0;
  let slowestCpuMs = 0;
  for (let i = 0; done < cases; i++) {
    const chance = new Chance(Math.imul(seed, 0x9e3779b1) ^ i);
    const from = performance.now();
    const used = process.cpuUsage();
    try {
      done += (await target.run(chance)) ?? 1;
    } catch (error) {
      // A session that does nothing for an hour of its clock has hung.
      if (!isCranksideError(error) || error.code === "clock-stuck") {
        throw new Error(`${target.name}, seed ${seed}, case ${i}: an error without a code`, { cause: error });
      }
      done += 1;
      refused += 1;
    }
    slowestMs = Math.max(slowestMs, performance.now() - from);
    const { user, system } = process.cpuUsage(used);
    slowestCpuMs = Math.max(slowestCpuMs, (user + system) / 1000);
    if (i % 64 === 0) highest = Math.max(highest, process.memoryUsage().rss);
  }
  highest = Math.max(highest, process.memoryUsage().rss);
  await target.close?.();
  const grewMb = (highest - before) / 1e6;
  return { name: target.name, cases: done, refused, slowestMs, slowestCpuMs, grewMb };
}
