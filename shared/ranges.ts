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
  "idle-cold": "idle, cold",
  "idle-warm": "idle, warm",
  held: "held speed",
  cruise: "cruise",
  load: "high load",
  overrun: "overrun",
  running: "running",
  stall: "stalled",
};

/** The group that a regime falls back on when a channel has no row of its own for it. */
export const regimeGroup: Readonly<Partial<Record<Regime, Regime>>> = {
  "idle-cold": "idle",
  "idle-warm": "idle",
  held: "running",
  cruise: "running",
  load: "running",
  stall: "key-on",
};

export interface Range {
  readonly channel: string;
  readonly regime: Regime | "any";
  readonly low: number;
  readonly high: number;
  readonly source: string;
}

const commonPractice = "common practice";

export const ranges: readonly Range[] = [
  {
    channel: "engine-speed",
    regime: "cranking",
    low: 150,
    high: 300,
    source: `${commonPractice}: 150 to 250 warm petrol; to 300 in an open data set of 18 starts`,
  },
  {
    channel: "engine-speed",
    regime: "no-speed",
    low: 150,
    high: 300,
    source: `${commonPractice}: a turning engine has a speed`,
  },
  {
    channel: "engine-speed",
    regime: "idle",
    low: 600,
    high: 1000,
    source: `${commonPractice}; open data set: warm idle 628 to 909`,
  },
  {
    channel: "socket-voltage",
    regime: "key-on",
    low: 12.0,
    high: 12.9,
    source: "rest voltage table, ASE L1 study guide 2.3: 12.0 V is about a quarter charged, 12.65 V full",
  },
  {
    channel: "socket-voltage",
    regime: "cranking",
    low: 9.6,
    high: 12.4,
    source: "load-test table, 9.6 V at 20 °C and above (service manual, 2004)",
  },
  {
    channel: "socket-voltage",
    regime: "no-speed",
    low: 9.6,
    high: 12.4,
    source: "load-test table, 9.6 V at 20 °C and above (service manual, 2004)",
  },
  {
    channel: "socket-voltage",
    regime: "idle",
    low: 13.2,
    high: 14.8,
    source: "class sheet on charging: never below 13.2 V; 13.8 to 14.8 V at 2000 rpm",
  },
  {
    channel: "socket-voltage",
    regime: "running",
    low: 13.2,
    high: 14.8,
    source: "class sheet on charging: never below 13.2 V; 13.8 to 14.8 V at 2000 rpm",
  },
  {
    channel: "module-voltage",
    regime: "key-on",
    low: 12.0,
    high: 12.9,
    source: "rest voltage table, ASE L1 study guide 2.3",
  },
  {
    channel: "module-voltage",
    regime: "cranking",
    low: 9.6,
    high: 12.4,
    source: "load-test table, 9.6 V at 20 °C and above (service manual, 2004)",
  },
  {
    channel: "module-voltage",
    regime: "idle",
    low: 13.2,
    high: 14.8,
    source: "class sheet on charging: never below 13.2 V",
  },
  {
    channel: "module-voltage",
    regime: "running",
    low: 13.2,
    high: 14.8,
    source: "class sheet on charging: never below 13.2 V",
  },
  {
    channel: "manifold",
    regime: "key-on",
    low: 96,
    high: 104,
    source:
      "101.3 kPa at sea level (ISA), within 5 kPa of barometric (service bulletin, 1981); lower at altitude",
  },
  {
    channel: "manifold",
    regime: "cranking",
    low: 84,
    high: 98,
    source:
      "3 to 5 inHg below barometric with closed throttle (training text); 1 to 2 inHg weak, common practice",
  },
  {
    channel: "manifold",
    regime: "idle",
    low: 25,
    high: 45,
    source: `${commonPractice}; service manuals of four models: 26 to 52`,
  },
  {
    channel: "throttle",
    regime: "key-on",
    low: 8,
    high: 22,
    source: `${commonPractice}: 10 to 20 % at closed`,
  },
  {
    channel: "throttle",
    regime: "cranking",
    low: 8,
    high: 22,
    source: `${commonPractice}: 10 to 20 % at closed; wide open cuts injection`,
  },
  {
    channel: "throttle",
    regime: "idle",
    low: 8,
    high: 22,
    source: `${commonPractice}: 10 to 20 % at closed`,
  },
  {
    channel: "coolant",
    regime: "any",
    low: -39,
    high: 120,
    source: "valid range -39 to 120 °C (service manual, 2007)",
  },
  {
    channel: "intake-air",
    regime: "any",
    low: -39,
    high: 120,
    source: "valid range -39 to 120 °C (service manual, 2007)",
  },
  {
    channel: "trim-short-b1",
    regime: "idle",
    low: -10,
    high: 10,
    source: "±8 % normal, beyond ±10 % act (article on fuel trim diagnostics)",
  },
  {
    channel: "trim-short-b2",
    regime: "idle",
    low: -10,
    high: 10,
    source: "±8 % normal, beyond ±10 % act (article on fuel trim diagnostics)",
  },
  {
    channel: "trim-long-b1",
    regime: "idle",
    low: -10,
    high: 10,
    source: "±8 % normal, beyond ±10 % act (article on fuel trim diagnostics)",
  },
  {
    channel: "trim-long-b2",
    regime: "idle",
    low: -10,
    high: 10,
    source: "±8 % normal, beyond ±10 % act (article on fuel trim diagnostics)",
  },
  {
    channel: "trim-short-b1",
    regime: "running",
    low: -12,
    high: 12,
    source: "±8 % normal, beyond ±10 % act; single readings of a healthy car reach 12.5 (open data set)",
  },
  {
    channel: "trim-short-b2",
    regime: "running",
    low: -12,
    high: 12,
    source: "±8 % normal, beyond ±10 % act; single readings of a healthy car reach 12.5 (open data set)",
  },
  {
    channel: "trim-long-b1",
    regime: "running",
    low: -12,
    high: 12,
    source: "±8 % normal, beyond ±10 % act; single readings of a healthy car reach 12.5 (open data set)",
  },
  {
    channel: "trim-long-b2",
    regime: "running",
    low: -12,
    high: 12,
    source: "±8 % normal, beyond ±10 % act; single readings of a healthy car reach 12.5 (open data set)",
  },
  { channel: "oxygen-b1s1", regime: "idle", low: 0.1, high: 0.9, source: "0.1 to 0.9 V swing, from memory" },
  { channel: "oxygen-b2s1", regime: "idle", low: 0.1, high: 0.9, source: "0.1 to 0.9 V swing, from memory" },
  {
    channel: "barometric",
    regime: "any",
    low: 70,
    high: 104,
    source: "ISA: 101.3 kPa at sea level, 70.1 at 3000 m",
  },
];

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
