/**
 * Likely causes and the next thing to do, version 1, as JSON. ADVICE.md beside this file describes it for other
 * readers. Shares are rounded to 0.05: the tables are not worth more digits.
 */
import { z } from "zod/mini";
import { complaints } from "./types.ts";

/** Raised when a reader of version 1 would be misled; new optional fields do not raise it. */
export const adviceVersion = 1;

const share = z.number().check(z.gte(0), z.lte(1));
const span = z.tuple([z.number(), z.number()]);
const evidenceSchema = z.object({
  source: z.enum(["sign", "code", "check", "marked", "act"]),
  /** Key of the sign, the code, or the entry's or mark's id. */
  of: z.string(),
  words: z.string(),
});
export type EvidenceWords = z.infer<typeof evidenceSchema>;

export const shareWords = ["nearly certain", "likely", "possible", "less likely", "unlikely"] as const;

const standingSchema = z.object({
  share,
  /** 10th to 90th percentile over shaken tables. */
  low: share,
  high: share,
  word: z.enum(shareWords),
});
export type Standing = z.infer<typeof standingSchema>;

export const proofStates = ["cleared", "suspected", "shown", "proved"] as const;

const repairSchema = z.object({
  does: z.string(),
  part: z.nullable(z.string()),
  money: span,
  minutes: span,
  badGuess: z.string(),
});

const causeSchema = z.object({
  id: z.string(),
  name: z.string(),
  about: z.string(),
  place: z.string(),
  /** Once the part is shown or proved: how it may have failed, each with its share of the ways. */
  modes: z.optional(z.array(z.object({ id: z.string(), name: z.string(), share }))),
  standing: standingSchema,
  for: z.array(evidenceSchema),
  against: z.array(evidenceSchema),
  repair: repairSchema,
  /** What own proved cases say of it; left out where there are none, or they do not count. */
  own: z.optional(z.string()),
  proof: z.object({
    state: z.enum(proofStates),
    words: z.string(),
    wouldProve: z.string(),
    notExcluded: z.boolean(),
    rests: z.array(z.string()),
  }),
});
export type CauseAdvice = z.infer<typeof causeSchema>;

export const checkAdviceSchema = z.object({
  id: z.string(),
  name: z.string(),
  steps: z.array(z.string()),
  tools: z.array(z.string()),
  minutes: z.number(),
  money: z.number(),
  /** Empty when none is needed. */
  cautions: z.array(z.object({ text: z.string(), source: z.string() })),
  reading: z.nullable(
    z.object({
      what: z.string(),
      units: z.array(z.string()),
      source: z.string(),
      /** What counts is a difference: what the meter shows, what is entered beside it, and channels that know that. */
      beside: z.optional(z.object({ shown: z.string(), what: z.string(), channels: z.array(z.string()) })),
    }),
  ),
  outcomes: z.array(
    z.object({
      id: z.string(),
      text: z.string(),
      means: z.string(),
      expect: z.enum(["likely", "may be", "unlikely"]),
      /** What would then come first, and what would be done. */
      then: z.string(),
    }),
  ),
  source: z.string(),
});
export type CheckAdvice = z.infer<typeof checkAdviceSchema>;

const nextSchema = z.discriminatedUnion("kind", [
  z.object({
    kind: z.literal("check"),
    check: checkAdviceSchema,
    why: z.string(),
    separates: z.string(),
    costs: z.string(),
  }),
  z.object({
    kind: z.literal("repair"),
    cause: z.string(),
    repair: repairSchema,
    why: z.string(),
    costs: z.string(),
  }),
  z.object({ kind: z.literal("prove"), cause: z.string(), why: z.string() }),
  z.object({ kind: z.literal("done"), cause: z.string(), why: z.string() }),
  z.object({ kind: z.literal("give-up"), why: z.string() }),
  /** Nothing is complained of: what the vehicle does has to be told first. */
  z.object({ kind: z.literal("ask"), why: z.string() }),
]);
export type Next = z.infer<typeof nextSchema>;

export const adviceSchema = z.object({
  version: z.literal(adviceVersion),
  complaints: z.array(z.enum(complaints)),
  /** Likely ones first, or in the person's own order. */
  causes: z.array(causeSchema),
  /** None of the causes in the tables. */
  none: standingSchema,
  /** Causes of the tables that are not listed, each unlikely. */
  unlisted: z.int(),
  /** Two at once, where each explains what the other cannot. */
  together: z.nullable(z.object({ causes: z.tuple([z.string(), z.string()]), words: z.string() })),
  steady: z.object({ first: z.boolean(), words: z.string() }),
  next: nextSchema,
  others: z.array(z.object({ id: z.string(), name: z.string(), minutes: z.number(), money: z.number() })),
  skipped: z.array(z.object({ id: z.string(), name: z.string(), why: z.string() })),
  /** What each capture of the engine would save on average; absent where nothing is complained of. */
  captures: z.optional(z.array(z.object({ id: z.string(), saves: z.number() }))),
  /** Cylinders that signs name. */
  cylinders: z.array(z.int()),
  /** Entered readings that cannot be, or that say nothing alone. */
  questions: z.array(z.object({ of: z.string(), words: z.string() })),
  /** What the person put in place of the tables' order or choice. */
  overridden: z.array(z.string()),
  /** Own proved cases of these complaints counted beside the tables. */
  own: z.optional(z.object({ cases: z.int(), worth: z.number(), words: z.string() })),
  cautionFirst: z.string(),
  basis: z.object({
    perHour: z.number(),
    giveUp: z.number(),
    /** Expected loss on the way, in money: without a further check, and with the one that is next. */
    without: z.number(),
    expected: z.number(),
    draws: z.int(),
    shaken: z.number(),
    seed: z.int(),
  }),
});
export type Advice = z.infer<typeof adviceSchema>;
