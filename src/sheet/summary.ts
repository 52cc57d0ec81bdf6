/** What a recording is about, in the one line by which it is told from others in a list. Pure. */
import { regimeWords } from "../../shared/ranges.ts";
import { clockText } from "../../shared/times.ts";
import { cranksOf } from "../interpret/crank/cranksOf.ts";
import { profileIn } from "../interpret/profile/seenIn.ts";
import { VehicleRanges } from "../interpret/report/ranges.ts";
import type { RegimeSpan } from "../interpret/folds/regimes.ts";
import type { Outcome } from "../interpret/report/schema.ts";
import { outcomeWords } from "../interpret/report/text.ts";
import type { Read } from "../reading/index.ts";
import { recordingSummarySchema } from "../../shared/messages.ts";
import type { z } from "zod/mini";

export type RecordingSummary = z.infer<typeof recordingSummarySchema>;

/** Regimes and cranks alone are worked out: a list wants many of these. */
export function summaryOf(reading: Read): RecordingSummary {
  const { vehicle = {}, complaint = "" } = reading.facts;
  const { profile, spans } = profileIn(reading, vehicle, reading.lastTime);
  const cranks = cranksOf(reading, spans, {
    ranges: new VehicleRanges(vehicle),
    fuel: profile.fuel.value,
  });
  return {
    lengthMs: Math.round(reading.lastTime),
    vehicle: vehicle.name ?? vehicle.vin ?? "",
    complaint: complaint.replace(/\s+/g, " ").trim().slice(0, 200),
    happened: cranks.length > 0 ? crankWords(cranks.map((c) => c.outcome)) : regimesText(spans),
  };
}

/** "3 cranks: turned, did not fire"; of several outcomes "5 cranks: 2 no speed seen, 3 started". */
export function crankWords(outcomes: readonly Outcome[]): string {
  const counts = new Map<Outcome, number>();
  for (const outcome of outcomes) counts.set(outcome, (counts.get(outcome) ?? 0) + 1);
  const lead = `${outcomes.length} ${outcomes.length === 1 ? "crank" : "cranks"}`;
  const [only] = counts.keys();
  if (counts.size === 1 && only !== undefined) return `${lead}: ${outcomeWords[only]}`;
  return `${lead}: ${[...counts].map(([outcome, n]) => `${n} ${outcomeWords[outcome]}`).join("; ")}`;
}

/** What took at least so much of the time is worth a word. */
const leastShare = 0.1;
const mostRegimes = 3;

export function regimesText(spans: readonly RegimeSpan[]): string {
  const times = new Map<string, number>();
  for (const { from, to, regime } of spans)
    times.set(regimeWords[regime], (times.get(regimeWords[regime]) ?? 0) + (to - from));
  const all = [...times.values()].reduce((a, b) => a + b, 0);
  return [...times]
    .filter(([, ms]) => ms >= leastShare * all && ms > 0)
    .sort((a, b) => b[1] - a[1])
    .slice(0, mostRegimes)
    .map(([words, ms]) => `${words} ${clockText(ms)}`)
    .join(", ");
}

interface Listed {
  readonly file: string;
  readonly bundled: boolean;
  readonly vehicle: string;
}

/** What a job says of itself, for the order of recordings beside it. */
export interface OfJob {
  readonly files: ReadonlySet<string>;
  readonly vehicles: ReadonlySet<string>;
}

/** Recordings of the job, then others of its vehicle, then of other vehicles, samples last; else in their order. */
export function ofJobFirst<T extends Listed>(entries: readonly T[], job: OfJob | null): T[] {
  const rank = ({ file, bundled, vehicle }: Listed): number => {
    if (job?.files.has(file) === true) return 0;
    if (bundled) return 3;
    return job !== null && vehicle !== "" && job.vehicles.has(vehicle.toLowerCase()) ? 1 : 2;
  };
  return entries
    .map((entry, i) => ({ entry, i, rank: rank(entry) }))
    .sort((a, b) => a.rank - b.rank || a.i - b.i)
    .map(({ entry }) => entry);
}
