/** What a proving run counted: plain data, so that parts of a set can be written, read and added up. */
import { z } from "zod/mini";

const counts = z.record(z.string(), z.number());

const faultTally = z.strictObject({
  runs: z.number(),
  /** A sign that leads there was outside its range; near the edge of it. */
  found: z.number(),
  near: z.number(),
  /** Neither, and a sign that leads there says that it cannot tell, and what it would take. */
  untold: z.number(),
  /** The right cause stood first, or among the first three. */
  first: z.number(),
  three: z.number(),
  /** What stood first instead; which signs were outside. */
  taken: counts,
  heard: counts,
});

const tallySchema = z.strictObject({
  /** How the set was asked for, without shard: parts of different sets are not added. */
  set: z.string(),
  healthy: z.number(),
  /** Healthy runs with a sign outside its range, and which. */
  alarmed: z.number(),
  alarms: counts,
  faults: z.record(z.string(), faultTally),
});

export type FaultTally = z.infer<typeof faultTally>;
export type Tally = z.infer<typeof tallySchema>;

export function emptyTally(set: string): Tally {
  return { set, healthy: 0, alarmed: 0, alarms: {}, faults: {} };
}

/** The tally of one fault within `tally`, made when it is not there yet. */
export function faultOf(tally: Tally, fault: string): FaultTally {
  return (tally.faults[fault] ??= {
    ...{ runs: 0, found: 0, near: 0, untold: 0, first: 0, three: 0 },
    ...{ taken: {}, heard: {} },
  });
}

export function add(map: Record<string, number>, key: string, times = 1): void {
  map[key] = (map[key] ?? 0) + times;
}

/** Adds `part` to `all`; throws when they are not of the same set. */
export function addTally(all: Tally, part: Tally): void {
  if (all.set !== part.set) throw new Error(`parts of different sets:\n  ${all.set}\n  ${part.set}`);
  all.healthy += part.healthy;
  all.alarmed += part.alarmed;
  for (const [what, times] of Object.entries(part.alarms)) add(all.alarms, what, times);
  for (const [fault, more] of Object.entries(part.faults)) {
    const sum = faultOf(all, fault);
    for (const key of ["runs", "found", "near", "untold", "first", "three"] as const) sum[key] += more[key];
    for (const [what, times] of Object.entries(more.taken)) add(sum.taken, what, times);
    for (const [what, times] of Object.entries(more.heard)) add(sum.heard, what, times);
  }
}

export function readTally(text: string): Tally {
  return tallySchema.parse(JSON.parse(text));
}
