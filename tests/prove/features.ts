/** What a recording shows as plain numbers by name, for a classifier that knows nothing of engines. */
import type { Findings } from "../../src/interpret/index.ts";
import type { Reading } from "../../src/reading/index.ts";
import { Summary } from "./summary.ts";

export type Features = Readonly<Record<string, number>>;

const rank = { outside: 1, near: 0.5, within: 0, "cannot-tell": -0.5 } as const;
const rounded = (value: number): number => Number(value.toPrecision(5));

/** Readings by how the engine turned, and what the signs say. */
export function featuresOf(reading: Reading, findings: Findings): Features {
  const summary = new Summary();
  const speed = reading.channels.find("engine-speed");
  for (const channel of reading.channels.channels) {
    // Of the clock and the odometer no fault can be told.
    if (/^(since|distance|monitors)/.test(channel)) continue;
    const series = reading.channels.find(channel);
    if (series === undefined) continue;
    let silent = 0;
    series.times.forEach((t, i) => {
      const value = series.values[i] ?? Number.NaN;
      if (Number.isNaN(value)) {
        silent += 1;
        return;
      }
      const then = speed?.at(t);
      summary.at(then === null || then === undefined || t - then.t > 3000 ? 0 : then.value);
      summary.add(channel, value);
    });
    if (channel === "engine-speed") summary.add("silent", silent / Math.max(1, series.length));
  }
  const out: Record<string, number> = {};
  for (const [what, stat] of summary.stats()) {
    for (const figure of ["mean", "spread", "least", "most"] as const)
      out[`${what} ${figure}`] = rounded(stat[figure]);
  }
  for (const sign of findings.signs) {
    const key = `sign ${sign.id} ${sign.bank ?? ""}`;
    out[key] = Math.max(out[key] ?? -1, rank[sign.verdict]);
    if (typeof sign.measured?.value === "number") out[`${key} value`] = rounded(sign.measured.value);
  }
  for (const crank of findings.cranks.slice(0, 3)) {
    for (const [name, value] of Object.entries(crank)) {
      if (typeof value === "number" && !/^(from|to|t|at)$/.test(name))
        out[`crank ${name}`] ??= rounded(value);
    }
  }
  return out;
}
