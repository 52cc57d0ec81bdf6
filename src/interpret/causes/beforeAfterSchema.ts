/** Two recordings, or two stretches, side by side: version 1, as JSON. ADVICE.md beside this file describes it. */
import { z } from "zod/mini";

/** Raised when a reader of version 1 would be misled; new optional fields do not raise it. */
export const beforeAfterVersion = 1;

const measuredSchema = z.object({
  value: z.number(),
  samples: z.int(),
  /** Independent readings the correlated ones are worth. */
  effective: z.number(),
});
export type Measured = z.infer<typeof measuredSchema>;

const rowSchema = z.object({
  what: z.string(),
  /** "cranking", or a regime both have. */
  regime: z.string(),
  unit: z.string(),
  before: measuredSchema,
  after: measuredSchema,
  difference: z.number(),
  /** Null: too few readings. */
  interval: z.nullable(z.object({ low: z.number(), high: z.number(), level: z.number() })),
  says: z.enum(["higher", "lower", "no-change-seen", "cannot-tell"]),
});
export type ComparedRow = z.infer<typeof rowSchema>;

const conditionSchema = z.object({
  what: z.string(),
  of: z.enum(["cranking", "running"]),
  before: z.nullable(z.number()),
  after: z.nullable(z.number()),
  unit: z.string(),
  alike: z.boolean(),
  words: z.string(),
});
export type Condition = z.infer<typeof conditionSchema>;

const earlierSchema = z.object({
  key: z.string(),
  title: z.string(),
  now: z.enum(["gone", "still-there", "not-seen-again"]),
  words: z.string(),
});
export type EarlierSign = z.infer<typeof earlierSchema>;

export const beforeAfterSchema = z.object({
  version: z.literal(beforeAfterVersion),
  before: z.string(),
  after: z.string(),
  rows: z.array(rowSchema),
  conditions: z.array(conditionSchema),
  earlier: z.array(earlierSchema),
  /** Trouble codes on both sides, where a module told of any. */
  codes: z.optional(z.object({ before: z.array(z.string()), after: z.array(z.string()) })),
  verdict: z.enum(["repaired", "not-shown", "still-there", "nothing-before"]),
  words: z.string(),
});
export type BeforeAfter = z.infer<typeof beforeAfterSchema>;
export type BeforeAfterVerdict = BeforeAfter["verdict"];
