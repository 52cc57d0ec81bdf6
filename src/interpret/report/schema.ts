/**
 * What the interpreter hands out, version 1. FINDINGS.md beside this file describes it for other readers. Times are
 * milliseconds since the start of the recording; values are in the metric unit named beside them.
 */
import { z } from "zod/mini";
import { regimes } from "../../../shared/ranges.ts";

/** Raised when a reader of version 1 would be misled; new optional fields do not raise it. */
export const findingsVersion = 1;

export const families = ["power", "crank", "sensor", "mixture", "misfire", "counter", "link"] as const;
export type Family = (typeof families)[number];

export const verdicts = ["outside", "near", "cannot-tell", "within"] as const;
export type Verdict = (typeof verdicts)[number];

const ms = z.number();
const windowSchema = z.object({ from: ms, to: ms });

const measuredSchema = z.object({
  /** null where the measure is words alone, such as a list of trouble codes. */
  value: z.nullable(z.number()),
  unit: z.string(),
  /** What was measured, in words: "short and long trim together, warm idle". */
  what: z.string(),
  samples: z.int(),
  /** Readings a second while it was measured; null where there is no rate. */
  rate: z.nullable(z.number()),
  /** Number of independent readings the correlated ones are worth. */
  effective: z.optional(z.number()),
  /** Interval of the true value, where one can be given, and its level: 0.95. */
  interval: z.optional(z.object({ low: z.number(), high: z.number(), level: z.number() })),
});

const rangeSchema = z.object({
  low: z.nullable(z.number()),
  high: z.nullable(z.number()),
  unit: z.string(),
  source: z.string(),
  /** True when the vehicle's facts replaced the general range. */
  replaced: z.boolean(),
});

const textSchema = z.object({
  /** Id in the table, for whoever ranks causes and checks. */
  id: z.string(),
  text: z.string(),
  caution: z.optional(z.string()),
});

/** What is normal for this vehicle, as learned from recordings of it. */
const ownSchema = z.object({
  /** Which figure, in words. */
  of: z.string(),
  low: z.number(),
  high: z.number(),
  unit: z.string(),
  level: z.number(),
  spread: z.number(),
  recordings: z.int(),
  /** The figure of this recording. */
  value: z.number(),
  /** The verdict follows it; false: too few recordings, or another temperature. */
  used: z.boolean(),
  words: z.string(),
});
export type OwnBand = z.infer<typeof ownSchema>;

export const signSchema = z.object({
  /** `mixture.lean`; the part before the dot is the family. */
  id: z.string(),
  family: z.enum(families),
  /** Tells signs of one id apart: `mixture.lean/b1/idle`. Stable while a recording grows. */
  key: z.string(),
  verdict: z.enum(verdicts),
  /** On which side of its range, where it is outside or near an edge and has sides. */
  side: z.optional(z.enum(["low", "high"])),
  title: z.string(),
  windows: z.array(windowSchema),
  /** Channels to look at, best first. */
  channels: z.array(z.string()),
  measured: z.nullable(measuredSchema),
  range: z.nullable(rangeSchema),
  /** This vehicle's own band, where one was learned. */
  own: z.optional(ownSchema),
  /** The trade's range, where `range` is this vehicle's own. */
  trade: z.optional(rangeSchema),
  meaning: z.string(),
  /** What would be needed to judge, where the verdict is "cannot-tell", or a limit of the statement. */
  note: z.optional(z.string()),
  bank: z.optional(z.int()),
  cylinder: z.optional(z.int()),
  looksLike: z.array(textSchema),
  checks: z.array(textSchema),
});
export type Sign = z.infer<typeof signSchema>;
export type Measured = z.infer<typeof measuredSchema>;
export type SignRange = z.infer<typeof rangeSchema>;
export type Window = z.infer<typeof windowSchema>;

/** A figure with the number of readings behind it; null when there were none. */
const countedSchema = z.nullable(z.object({ value: z.number(), samples: z.int() }));
export type Counted = z.infer<typeof countedSchema>;

export const outcomes = [
  "nothing-happened",
  "no-turn",
  "turned-without-signal",
  "turned-slowly",
  "turned-and-did-not-fire",
  "fired-and-died",
  "started",
  "open",
] as const;
export type Outcome = (typeof outcomes)[number];

/** It is over, and the engine does not run. */
export const failedOutcomes: ReadonlySet<Outcome> = new Set<Outcome>([
  ...(["nothing-happened", "no-turn", "turned-without-signal"] as const),
  ...(["turned-slowly", "turned-and-did-not-fire", "fired-and-died"] as const),
]);

export const crankSchema = z.object({
  /** Counted from 1 in the order of time. */
  number: z.int(),
  /** The common zero: where the starter came on, as far as the readings tell. */
  from: ms,
  to: ms,
  /** True when the crank itself fell between two readings. */
  unseen: z.boolean(),
  outcome: z.enum(outcomes),
  restVolts: countedSchema,
  lowestVolts: countedSchema,
  meanVolts: countedSchema,
  /** The channel the volts are from. */
  voltsFrom: z.nullable(z.string()),
  /** Median of the readings above zero, rpm. */
  speed: countedSchema,
  /** Middle half of those readings is this wide, rpm. */
  speedSpread: countedSchema,
  /** Readings of zero between readings of speed. */
  dropOuts: countedSchema,
  /** Median volts where it stood still under the starter; left out where it did not. */
  stalledVolts: z.optional(countedSchema),
  /** rpm a volt. */
  speedPerVolt: countedSchema,
  /** Seconds from the sag of the supply to the first speed. */
  firstSpeedS: countedSchema,
  /** kPa below barometric. */
  pullDown: countedSchema,
  throttle: countedSchema,
  /** Code of parameter 03. */
  loop: countedSchema,
  coolant: countedSchema,
  intakeAir: countedSchema,
  /** Seconds to the first reading of a running engine, and how far off that can be. */
  fireS: countedSchema,
  fireWithinS: z.nullable(z.number()),
  /** Seconds it ran after firing, as far as the recording tells; null when it did not fire. */
  ranS: z.nullable(z.number()),
  lengthS: z.number(),
});
export type Crank = z.infer<typeof crankSchema>;

export const comparisonSchema = z.object({
  markId: z.string(),
  label: z.string(),
  during: windowSchema,
  around: z.array(windowSchema),
  channel: z.string(),
  /** "level" is the mean, "roughness" the spread that the neighbours of a reading do not explain, in %. */
  of: z.enum(["level", "roughness"]),
  unit: z.string(),
  before: z.object({ value: z.number(), samples: z.int(), effective: z.number() }),
  mean: z.object({ value: z.number(), samples: z.int(), effective: z.number() }),
  rate: z.number(),
  difference: z.number(),
  interval: z.object({ low: z.number(), high: z.number(), level: z.number() }),
  says: z.enum(["higher", "lower", "no-change-seen", "cannot-tell"]),
  words: z.string(),
});
export type Comparison = z.infer<typeof comparisonSchema>;

export const balanceSchema = z.object({
  cylinders: z.array(
    z.object({
      cylinder: z.int(),
      /** Fall of engine speed while it was unplugged, rpm. */
      drop: z.number(),
      interval: z.object({ low: z.number(), high: z.number(), level: z.number() }),
      samples: z.int(),
      /** What else changed: the first seconds' dip, roughness, and what the idle control gave to hold the speed. */
      also: z.optional(
        z.array(
          z.object({
            of: z.enum(["dip", "roughness", "air", "advance"]),
            /** The way that losing a cylinder changes it. */
            change: z.number(),
            unit: z.string(),
            interval: z.object({ low: z.number(), high: z.number(), level: z.number() }),
          }),
        ),
      ),
      /** Losing it was surely felt, by one of these. */
      pulls: z.optional(z.boolean()),
    }),
  ),
  dead: z.nullable(z.int()),
  words: z.string(),
});
export type Balance = z.infer<typeof balanceSchema>;

/** Which cylinder stands out, and how that is known; cylinder null: none does. */
const standsOutSchema = z.object({
  cylinder: z.nullable(z.int()),
  by: z.enum(["counters", "unplugged in turn"]),
});

export const moveSchema = z.object({
  markId: z.string(),
  label: z.string(),
  at: ms,
  part: z.enum(["coil", "plug", "injector"]),
  /** It was moved back. */
  back: z.boolean(),
  /** Cylinders that the label names; one of two is where the part came from. */
  cylinders: z.array(z.int()),
  /** As far as the marks before and after it reach; null: the recording does not tell. */
  before: z.nullable(standsOutSchema),
  after: z.nullable(standsOutSchema),
});
export type Move = z.infer<typeof moveSchema>;

/** A harness or plug that a mark says was moved by hand, and what dropped out with it. */
export const wiggleSchema = z.object({
  markId: z.string(),
  label: z.string(),
  during: windowSchema,
  seconds: z.number(),
  /** Each as it came: time, what it was, and the channels that showed it. */
  drops: z.array(
    z.object({
      t: ms,
      kinds: z.array(z.enum(["zero", "no-answer", "step", "dead"])),
      channels: z.array(z.string()),
    }),
  ),
  /** How many in the seconds before it. */
  before: z.int(),
  beforeS: z.number(),
  /** The chance that so many or more came by themselves; null without a time before it. */
  chance: z.nullable(z.number()),
  /** What was read often enough, and readings a second of all of it. */
  watched: z.array(z.string()),
  rate: z.number(),
  says: z.enum(["comes-with-it", "perhaps", "as-before", "nothing", "cannot-tell"]),
  words: z.string(),
});
export type Wiggle = z.infer<typeof wiggleSchema>;

export const fitSchema = z.object({
  bank: z.int(),
  /** correction = a / flow + b + d g(flow), see mixture/mixtureFit.ts: g/s and shares, each with its standard error. */
  a: z.object({ value: z.number(), error: z.number() }),
  b: z.object({ value: z.number(), error: z.number() }),
  /** Of an earlier shape; null since 0.2.0. */
  c: z.nullable(z.object({ value: z.number(), error: z.number() })),
  /** What delivery lacks at the greatest flow; `from`: where it begins, as a share of that flow. */
  d: z.optional(
    z.object({
      value: z.number(),
      error: z.number(),
      from: z.number(),
      /** The other two were fitted beside it. */
      sure: z.boolean(),
    }),
  ),
  /** Spread between zones that the shape does not explain, percent points. */
  zoneSpread: z.number(),
  zones: z.int(),
  readings: z.int(),
  flowFrom: z.number(),
  flowTo: z.number(),
});
export type Fit = z.infer<typeof fitSchema>;

/** A line of the vehicle profile: what kind of vehicle this is, and how that is known. */
export const profileEntrySchema = z.object({
  of: z.enum(["fuel", "induction", "metering", "throttled", "stops", "supply", "hybrid", "vin"]),
  /** In words, as a form shows it. */
  name: z.string(),
  /** In words; null: unknown. */
  value: z.nullable(z.string()),
  from: z.enum(["told", "module", "seen", "unknown"]),
  sure: z.nullable(z.enum(["sure", "likely"])),
  /** The reason; of what is unknown: what would decide it. */
  why: z.string(),
  /** What speaks against it. */
  against: z.optional(z.string()),
});
export type ProfileEntry = z.infer<typeof profileEntrySchema>;

const strengthFigure = z.nullable(
  z.object({
    value: z.number(),
    low: z.number(),
    high: z.number(),
    windows: z.number(),
    samples: z.number(),
  }),
);

/** What cranks that did not fire tell of the cylinders. */
const strengthSchema = z.object({
  verdict: z.enum(["even", "one-weak", "all-weak", "cannot-tell"]),
  why: z.string(),
  uneven: strengthFigure,
  firing: strengthFigure,
  rpm: z.nullable(z.number()),
  perSecond: z.number(),
  perFiring: z.number(),
  meter: z.object({ stepVolts: z.number(), noiseVolts: z.number(), smoothMs: z.number() }),
});

export const findingsSchema = z.object({
  version: z.literal(findingsVersion),
  /** How far the recording was taken in. */
  until: ms,
  regimes: z.array(z.object({ from: ms, to: ms, regime: z.enum(regimes) })),
  cranks: z.array(crankSchema),
  /** Outside first, then near the edge, cannot tell, within; newest evidence first among equals. */
  signs: z.array(signSchema),
  comparisons: z.array(comparisonSchema),
  balance: z.nullable(balanceSchema),
  /** Parts that a mark says were moved to another cylinder, oldest first; left out when there are none. */
  moves: z.optional(z.array(moveSchema)),
  /** Harnesses and plugs moved by hand; absent where no mark says so. */
  wiggles: z.optional(z.array(wiggleSchema)),
  strength: z.optional(strengthSchema),
  fits: z.array(fitSchema),
  freezeFrame: z.nullable(
    z.object({
      module: z.string(),
      code: z.string(),
      values: z.array(z.object({ channel: z.string(), value: z.number(), unit: z.string() })),
    }),
  ),
  codes: z.array(
    z.object({
      code: z.string(),
      module: z.string(),
      kind: z.enum(["stored", "pending", "permanent"]),
      t: ms,
    }),
  ),
  /** What kind of vehicle this is. */
  profile: z.optional(z.array(profileEntrySchema)),
  /** What the facts of the vehicle replaced. */
  replaced: z.array(z.object({ of: z.string(), words: z.string() })),
});
export type Findings = z.infer<typeof findingsSchema>;
