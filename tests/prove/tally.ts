/** What a proving run saw of each case: plain data, so that parts of a set can be written, read and added up. */
import { z } from "zod/mini";

/** With codes asked or not, and with the driver's complaint or only what the recording shows. */
export const views = ["told, codes", "told", "codes", "neither"] as const;
export type View = (typeof views)[number];

const named = z.object({
  complaints: z.array(z.string()),
  /** The likeliest causes, at most six. */
  causes: z.array(z.string()),
  /** How many causes could have been named for such a complaint. */
  could: z.number(),
});

const caseSchema = z.object({
  vehicle: z.string(),
  fault: z.nullable(z.string()),
  severity: z.number(),
  script: z.string(),
  seed: z.number(),
  /** What the modules held differs from the sound engine by more than chance and measuring do. */
  differs: z.boolean(),
  truth: z.array(z.string()),
  /** Of the signs that lead there: the firmest verdict. */
  lead: z.enum(["outside", "near", "cannot-tell", "none"]),
  outside: z.array(z.string()),
  codes: z.array(z.string()),
  named: z.record(z.string(), named),
  features: z.record(z.string(), z.number()),
});
export type CaseSeen = z.infer<typeof caseSchema>;
export type Named = z.infer<typeof named>;

const tallySchema = z.object({
  /** How the set was asked for, without shard: parts of different sets are not added. */
  set: z.string(),
  cases: z.array(caseSchema),
});
export type Tally = z.infer<typeof tallySchema>;

export function emptyTally(set: string): Tally {
  return { set, cases: [] };
}

const keyOf = ({ vehicle, fault, severity, script, seed }: CaseSeen): string =>
  JSON.stringify([fault ?? "~", vehicle, seed, severity, script]);

/** Adds `part` to `all`, in an order that does not hang on the parts; throws when they are not of the same set. */
export function addTally(all: Tally, part: Tally): void {
  if (all.set !== part.set) throw new Error(`parts of different sets:\n  ${all.set}\n  ${part.set}`);
  all.cases.push(...part.cases);
  all.cases.sort((a, b) => (keyOf(a) < keyOf(b) ? -1 : 1));
}

export function readTally(text: string): Tally {
  return tallySchema.parse(JSON.parse(text));
}
