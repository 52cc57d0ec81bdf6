import type { UnitId } from "./units.ts";

/**
 * What is plausible on a healthy engine, by regime, for the pale band behind a trace and for signs. One row a
 * channel and regime; a row for a group of regimes holds for each of them that has no row of its own. Every row
 * has a source, or says "common practice".
 */
export const regimes = [
  "silent",
  "key-on",
  "cranking",
  "no-speed",
  "run-up",
  "idle",
  "idle-cold",
  "idle-warm",
  "held",
  "cruise",
  "load",
  "overrun",
  "running",
  "stall",
  "shut-off",
] as const;
export type Regime = (typeof regimes)[number];

/** In plain words, for the ribbon. */
export const regimeWords: Readonly<Record<Regime, string>> = {
  silent: "no answer",
  "key-on": "key on",
  cranking: "cranking",
  "no-speed": "starter on, no speed",
  "run-up": "starting",
  idle: "idle",
  "idle-cold": "cold idle",
  "idle-warm": "warm idle",
  held: "held speed",
  cruise: "cruise",
  load: "high load",
  overrun: "overrun",
  running: "running",
  stall: "stalled",
  "shut-off": "shut off at standstill",
};

/** The group that a regime falls back on when a channel has no row of its own for it. */
export const regimeGroup: Readonly<Partial<Record<Regime, Regime>>> = {
  "idle-cold": "idle",
  "idle-warm": "idle",
  held: "running",
  cruise: "running",
  load: "running",
  stall: "key-on",
  "shut-off": "key-on",
};

/**
 * Vehicles that a range holds for. "spark": petrol and gas; "throttled": a plate pulls the manifold down; "12 V": it
 * doubles on 24 V. Of a vehicle of which that is not known, no range but those for any is told.
 */
export type RangeKind = "any" | "spark" | "throttled" | "12 V";

export interface Range {
  readonly channel: string;
  readonly regime: Regime | "any";
  readonly kind: RangeKind;
  readonly low: number;
  readonly high: number;
  readonly source: string;
}

const commonPractice = "common practice";

export const ranges: readonly Range[] = [
  {
    channel: "engine-speed",
    regime: "cranking",
    kind: "spark",
    low: 150,
    high: 300,
    source: `${commonPractice}: 150 to 250 warm petrol; to 300 in an open data set of 18 starts`,
  },
  {
    channel: "engine-speed",
    regime: "no-speed",
    kind: "spark",
    low: 150,
    high: 300,
    source: `${commonPractice}: a turning engine has a speed`,
  },
  {
    channel: "engine-speed",
    regime: "idle",
    kind: "any",
    low: 600,
    high: 1000,
    source: `${commonPractice}; open data set: warm idle 628 to 909`,
  },
  {
    channel: "engine-speed",
    regime: "idle-cold",
    kind: "any",
    low: 600,
    high: 1400,
    source: "open data set: cold idle 780 to 1374; below as when warm",
  },
  {
    channel: "socket-voltage",
    regime: "key-on",
    kind: "12 V",
    low: 12.0,
    high: 12.9,
    source: "rest voltage table, ASE L1 study guide 2.3: 12.0 V is about a quarter charged, 12.65 V full",
  },
  {
    channel: "socket-voltage",
    regime: "cranking",
    kind: "12 V",
    low: 9.6,
    high: 12.4,
    source: "load-test table, 9.6 V at 20 °C and above (service manual, 2004)",
  },
  {
    channel: "socket-voltage",
    regime: "no-speed",
    kind: "12 V",
    low: 9.6,
    high: 12.4,
    source: "load-test table, 9.6 V at 20 °C and above (service manual, 2004)",
  },
  {
    channel: "socket-voltage",
    regime: "idle",
    kind: "12 V",
    low: 13.2,
    high: 14.8,
    source: "class sheet on charging: never below 13.2 V; 13.8 to 14.8 V at 2000 rpm",
  },
  {
    channel: "socket-voltage",
    regime: "running",
    kind: "12 V",
    low: 13.2,
    high: 14.8,
    source: "class sheet on charging: never below 13.2 V; 13.8 to 14.8 V at 2000 rpm",
  },
  {
    channel: "module-voltage",
    regime: "key-on",
    kind: "12 V",
    low: 12.0,
    high: 12.9,
    source: "rest voltage table, ASE L1 study guide 2.3",
  },
  {
    channel: "module-voltage",
    regime: "cranking",
    kind: "12 V",
    low: 9.6,
    high: 12.4,
    source: "load-test table, 9.6 V at 20 °C and above (service manual, 2004)",
  },
  {
    channel: "module-voltage",
    regime: "idle",
    kind: "12 V",
    low: 13.2,
    high: 14.8,
    source: "class sheet on charging: never below 13.2 V",
  },
  {
    channel: "module-voltage",
    regime: "running",
    kind: "12 V",
    low: 13.2,
    high: 14.8,
    source: "class sheet on charging: never below 13.2 V",
  },
  {
    channel: "manifold",
    regime: "key-on",
    kind: "any",
    low: 96,
    high: 104,
    source:
      "101.3 kPa at sea level (ISA), within 5 kPa of barometric (service bulletin, 1981); lower at altitude",
  },
  {
    channel: "manifold",
    regime: "cranking",
    kind: "throttled",
    low: 84,
    high: 98,
    source:
      "3 to 5 inHg below barometric with closed throttle (training text); 1 to 2 inHg weak, common practice",
  },
  {
    channel: "manifold",
    regime: "idle",
    kind: "throttled",
    low: 25,
    high: 45,
    source: `${commonPractice}; service manuals of four models: 26 to 52`,
  },
  {
    channel: "throttle",
    regime: "key-on",
    kind: "throttled",
    low: 8,
    high: 22,
    source: `${commonPractice}: 10 to 20 % at closed`,
  },
  {
    channel: "throttle",
    regime: "cranking",
    kind: "throttled",
    low: 8,
    high: 22,
    source: `${commonPractice}: 10 to 20 % at closed; wide open cuts injection`,
  },
  {
    channel: "throttle",
    regime: "idle",
    kind: "throttled",
    low: 8,
    high: 22,
    source: `${commonPractice}: 10 to 20 % at closed`,
  },
  {
    channel: "coolant",
    regime: "any",
    kind: "any",
    low: -39,
    high: 120,
    source: "valid range -39 to 120 °C (service manual, 2007)",
  },
  {
    channel: "intake-air",
    regime: "any",
    kind: "any",
    low: -39,
    high: 120,
    source: "valid range -39 to 120 °C (service manual, 2007)",
  },
  {
    channel: "trim-short-b1",
    regime: "idle",
    kind: "spark",
    low: -10,
    high: 10,
    source: "±8 % normal, beyond ±10 % act (article on fuel trim diagnostics)",
  },
  {
    channel: "trim-short-b2",
    regime: "idle",
    kind: "spark",
    low: -10,
    high: 10,
    source: "±8 % normal, beyond ±10 % act (article on fuel trim diagnostics)",
  },
  {
    channel: "trim-long-b1",
    regime: "idle",
    kind: "spark",
    low: -10,
    high: 10,
    source: "±8 % normal, beyond ±10 % act (article on fuel trim diagnostics)",
  },
  {
    channel: "trim-long-b2",
    regime: "idle",
    kind: "spark",
    low: -10,
    high: 10,
    source: "±8 % normal, beyond ±10 % act (article on fuel trim diagnostics)",
  },
  {
    channel: "trim-short-b1",
    regime: "running",
    kind: "spark",
    low: -12,
    high: 12,
    source: "±8 % normal, beyond ±10 % act; single readings of a healthy car reach 12.5 (open data set)",
  },
  {
    channel: "trim-short-b2",
    regime: "running",
    kind: "spark",
    low: -12,
    high: 12,
    source: "±8 % normal, beyond ±10 % act; single readings of a healthy car reach 12.5 (open data set)",
  },
  {
    channel: "trim-long-b1",
    regime: "running",
    kind: "spark",
    low: -12,
    high: 12,
    source: "±8 % normal, beyond ±10 % act; single readings of a healthy car reach 12.5 (open data set)",
  },
  {
    channel: "trim-long-b2",
    regime: "running",
    kind: "spark",
    low: -12,
    high: 12,
    source: "±8 % normal, beyond ±10 % act; single readings of a healthy car reach 12.5 (open data set)",
  },
  {
    channel: "oxygen-b1s1",
    regime: "idle",
    kind: "spark",
    low: 0.1,
    high: 0.9,
    source: "0.1 to 0.9 V swing, from memory",
  },
  {
    channel: "oxygen-b2s1",
    regime: "idle",
    kind: "spark",
    low: 0.1,
    high: 0.9,
    source: "0.1 to 0.9 V swing, from memory",
  },
  {
    channel: "barometric",
    regime: "any",
    kind: "any",
    low: 70,
    high: 104,
    source: "ISA: 101.3 kPa at sea level, 70.1 at 3000 m",
  },
];

/** A figure that is worked out from readings, and what is plausible for it. */
export interface FigureRange {
  readonly of: string;
  /** null is open. */
  readonly low: number | null;
  readonly high: number | null;
  /** Inside the range, but closer to an edge than this, is near the edge. */
  readonly margin: number;
  readonly unit: UnitId;
  readonly source: string;
}

export const figures = [
  {
    of: "rest-voltage",
    low: 12.0,
    high: 13.3,
    margin: 0.1,
    unit: "V",
    source:
      "key on, pump and lamps drawing: a healthy car of the open data set shows 12.04 to 12.85 V (1st to 95th percentile). At rest 12.06 V is a quarter charged, 12.65 V full (ASE L1 study guide 2.3)",
  },
  {
    of: "crank-voltage",
    low: 9.6,
    high: null,
    margin: 0.3,
    unit: "V",
    source: "load-test table by temperature (service manual, 2004): 9.6 V from 20 °C up, 8.5 V at -18 °C",
  },
  {
    of: "charging-voltage",
    low: 13.2,
    high: 15,
    margin: 0.1,
    unit: "V",
    source: `class sheet on charging: never below 13.2 V, 13.8 to 14.8 V at 2000 rpm; ${commonPractice}: no regulator goes to 15.0 V`,
  },
  {
    of: "charging-burst",
    low: null,
    high: 15,
    margin: 0.1,
    unit: "V",
    source: `held for five seconds; ${commonPractice}: cold regulators reach 14.8 V, none 15.0 V`,
  },
  {
    of: "feed-drop",
    low: -0.5,
    high: 0.5,
    margin: 0.1,
    unit: "V",
    source: `${commonPractice}; a conductor may drop 0.2 V (ASE L1 study guide 2.3)`,
  },
  {
    of: "crank-speed",
    low: 150,
    high: 300,
    margin: 10,
    unit: "rpm",
    source: `${commonPractice}: 150 to 250 warm petrol; to 300 in an open data set of 18 starts`,
  },
  {
    of: "crank-speed-diesel",
    low: 180,
    high: 300,
    margin: 20,
    unit: "rpm",
    source: "diesel: 100 cold, 180 hot (service manual, 2002 and 2004)",
  },
  {
    of: "crank-pull-down",
    low: 6.8,
    high: null,
    margin: 1,
    unit: "kPa",
    source: "3 to 5 inHg with closed throttle (training text); 1 to 2 inHg weak, common practice",
  },
  {
    of: "cylinders-unlike",
    low: null,
    high: 0.4,
    margin: 0.16,
    unit: "ratio",
    source:
      "bench vehicles: sound 0 to 0.1, one cylinder at 60 % of the others 0.5 to 1.1; no real capture was seen yet",
  },
  {
    of: "crank-compression",
    low: 0.85,
    high: null,
    margin: 0.08,
    unit: "ratio",
    source: "bench vehicles: sound 1.05 to 1.45, all at 60 % 0.66 to 0.84; no real capture was seen yet",
  },
  {
    of: "crank-throttle",
    low: null,
    high: 50,
    margin: 15,
    unit: "%",
    source: `clear-flood cut from 50 to 85 % on, by vehicle (article, marine service manual)`,
  },
  {
    of: "time-to-fire",
    low: null,
    high: 2,
    margin: 0.5,
    unit: "s",
    source: "a sound engine takes 0.8 to 1.3 s (from memory)",
  },
  {
    of: "time-in-vain",
    low: null,
    high: 3,
    margin: 1,
    unit: "s",
    source: `${commonPractice}: nobody lets go sooner of one that should have fired`,
  },
  {
    of: "key-on-manifold",
    low: -5,
    high: 5,
    margin: 1,
    unit: "kPa",
    source: "within 5 kPa of barometric (service bulletin, 1981); today's limits from memory",
  },
  {
    of: "altitude-pressure",
    low: -4,
    high: 4,
    margin: 1,
    unit: "kPa",
    source: "ISA, with 4 kPa for the weather (from memory)",
  },
  {
    of: "coolant-intake",
    low: -15,
    high: 15,
    margin: 5,
    unit: "°C",
    source: "within 9 or 15 °C after 8 h off (service manuals of two models, 2007)",
  },
  {
    of: "temperature",
    low: -39,
    high: 130,
    margin: 3,
    unit: "°C",
    source: "valid -39 to 120 or 140 °C (service manual, 2007); open reads -40, from memory",
  },
  {
    of: "coolant-warm",
    low: 70,
    high: 110,
    margin: 5,
    unit: "°C",
    source: `${commonPractice}; open data set: 75 °C reached after 184 to 432 s`,
  },
  {
    of: "throttle-rest",
    low: 2,
    high: 25,
    margin: 3,
    unit: "%",
    source: `${commonPractice}: 10 to 20 % at closed, closed is not 0`,
  },
  {
    of: "fuel-level",
    low: 5,
    high: null,
    margin: 5,
    unit: "%",
    source: commonPractice,
  },
  {
    of: "trim",
    low: -10,
    high: 10,
    margin: 2,
    unit: "%",
    source: "±8 % normal, beyond ±10 % act (article on fuel trim diagnostics)",
  },
  {
    of: "bank-difference",
    low: -8,
    high: 8,
    margin: 2,
    unit: "%",
    source: commonPractice,
  },
  {
    of: "unmetered-air",
    low: -0.3,
    high: 0.3,
    margin: 0.05,
    unit: "g/s",
    source: "open data set: a healthy engine shows up to 0.15 g/s from zone offsets",
  },
  {
    of: "metering-error",
    low: -8,
    high: 8,
    margin: 1,
    unit: "%",
    source: "open data set: a healthy engine shows up to 6.2 % from zone offsets",
  },
  {
    of: "delivery-loss",
    low: null,
    high: 8,
    margin: 1,
    unit: "%",
    source: `${commonPractice}: lean that grows with load, at the greatest flow seen`,
  },
  {
    of: "lambda",
    low: 0.95,
    high: 1.05,
    margin: 0.02,
    unit: "lambda",
    source: `${commonPractice}: closed loop holds 1 within a few percent`,
  },
  {
    of: "idle-speed",
    low: 600,
    high: 1000,
    margin: 20,
    unit: "rpm",
    source: `${commonPractice}; open data set: warm idle 628 to 909`,
  },
  {
    of: "hunting",
    low: null,
    high: 250,
    margin: 25,
    unit: "rpm",
    source: `${commonPractice}: several hundred; open data set: a healthy idle swings by up to 200 between readings`,
  },
  {
    of: "idle-manifold",
    low: 22,
    high: 50,
    margin: 2,
    unit: "kPa",
    source: "service manuals of four models: 26 to 52; an open data set never left 22 to 50 for 10 s",
  },
  {
    of: "idle-air-flow",
    low: 0.7,
    high: 2.2,
    margin: 0.2,
    unit: "g/s",
    source: `g/s per litre; ${commonPractice} 1, other texts 1 to 2`,
  },
  {
    of: "roughness",
    low: null,
    high: 1.5,
    margin: 0.2,
    unit: "%",
    source: "open data set: 265 half minutes of healthy idle at flat load, none above 1.5 %",
  },
  {
    of: "misfire-1000",
    low: null,
    high: 1,
    margin: 0.2,
    unit: "%",
    source: "13 CCR 1968.2(e)(3.2), from memory: a maker may use 1 % in 1000 revolutions",
  },
  {
    of: "misfire-200",
    low: null,
    high: 5,
    margin: 1,
    unit: "%",
    source: "13 CCR 1968.2(e)(3.2), from memory: 5 % in 200 revolutions where the map is lower",
  },
  {
    of: "counter-step",
    low: 0.7,
    high: 1.3,
    margin: 0.1,
    unit: "ratio",
    source: `${commonPractice}: a counter of turns steps in proportion to engine speed`,
  },
] as const satisfies readonly FigureRange[];

export type Figure = (typeof figures)[number]["of"];

const byChannel = new Map<string, Range[]>();
for (const range of ranges) {
  const list = byChannel.get(range.channel);
  if (list === undefined) byChannel.set(range.channel, [range]);
  else list.push(range);
}

/** The row that holds for a channel in a regime. */
export function rangeFor(channel: string, regime: Regime): Range | undefined {
  const rows = byChannel.get(channel);
  const group = regimeGroup[regime];
  return (
    rows?.find((r) => r.regime === regime) ??
    (group === undefined ? undefined : rows?.find((r) => r.regime === group)) ??
    rows?.find((r) => r.regime === "any")
  );
}
