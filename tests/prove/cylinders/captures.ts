/** What an adapter makes of a crank: voltage and speed by turns or voltage alone, by one of four voltmeters. */
import { seeded } from "../../../shared/seeded.ts";
import type { StrengthCrank } from "../../../src/interpret/crank/cylinders.ts";
import { median } from "../../../src/interpret/maths/stats.ts";
import type { CrankTrace } from "./traces.ts";

export const voltmeters = ["ideal", "steps of 0.1 V", "smooths over 0.2 s", "lags by 0.25 s"] as const;
export type Voltmeter = (typeof voltmeters)[number];

export interface CaptureOptions {
  readonly meter: Voltmeter;
  /** Readings of the voltage a second; speed comes as often where it is asked. */
  readonly rate: number;
  readonly speed: boolean;
  readonly seed: number;
}

/** The bench adapter's noise, uniform so far either way, volts. */
const noise = 0.03;

function shows(trace: CrankTrace, t: number, meter: Voltmeter, random: () => number): number {
  const at = (ms: number): number => trace.volts[Math.max(0, Math.round(ms))] ?? 0;
  const plain = (v: number): number => Math.round((v + noise * (2 * random() - 1)) * 100) / 100;
  switch (meter) {
    case "ideal":
      return plain(at(t));
    case "steps of 0.1 V":
      return Math.round((at(t) + noise * (2 * random() - 1)) * 10) / 10;
    case "smooths over 0.2 s": {
      let sum = 0;
      for (let i = 0; i < 200; i++) sum += at(t - i);
      return plain(sum / 200);
    }
    case "lags by 0.25 s":
      return plain(at(t - 250));
  }
}

export function captureOf(traces: readonly CrankTrace[], options: CaptureOptions): StrengthCrank[] {
  const random = seeded(options.seed * 7919 + 17);
  return traces.map((trace) => {
    const volts = { times: [] as number[], values: [] as number[] };
    const speed = { times: [] as number[], values: [] as number[] };
    const every = 1000 / options.rate;
    for (let t = trace.from - 1000; t < trace.to + 790;) {
      volts.times.push(t);
      volts.values.push(shows(trace, t, options.meter, random));
      // The spacing of the questions is varied, so that it never runs in step with the firing.
      const step = every * (0.75 + 0.5 * random());
      if (options.speed) {
        speed.times.push(t + step / 2);
        speed.values.push(Math.round((trace.rpm[Math.round(t + step / 2)] ?? 0) * 4) / 4);
      }
      t += step;
    }
    const rest = volts.values.filter((_, i) => (volts.times[i] ?? 0) < trace.from - 20);
    return { from: trace.from, to: trace.to, restVolts: median(rest), volts, speed };
  });
}
