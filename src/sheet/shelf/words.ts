import type { Findings } from "../../interpret/index.ts";
import { starts } from "../../interpret/causes/complaint.ts";
import type { Read } from "../../reading/index.ts";
import { crankWords, regimesText } from "../summary.ts";

/** What happened, in a few words. */
export function cranksText({ cranks, regimes }: Findings): string {
  return cranks.length > 0 ? crankWords(cranks.map((c) => c.outcome)) : regimesText(regimes);
}

/** Whether nothing speaks of a fault, and how warm the engine was. */
export function soundOf(findings: Findings, reading: Read): { sound: boolean; coolant: number | null } {
  const [first] = findings.cranks;
  const series = reading.channels.find("coolant");
  const begin = series === undefined || series.answered === 0 ? Number.NaN : firstOf(series.values);
  const coolant = first?.coolant?.value ?? begin;
  return {
    sound:
      starts(findings) && findings.codes.length === 0 && !findings.signs.some((s) => s.verdict === "outside"),
    coolant: Number.isFinite(coolant) ? Math.round(coolant) : null,
  };
}

function firstOf(values: Float64Array): number {
  return values.find((v) => !Number.isNaN(v)) ?? Number.NaN;
}
