/** What is laid side by side before and after. */
export interface Compared {
  readonly channel: string;
  readonly words: string;
  readonly unit: string;
  /** The mean, the middle one, or how far readings lie from their neighbours. */
  readonly of: "level" | "middle" | "roughness";
}

export const crankCompared: readonly Compared[] = [
  { channel: "engine-speed", words: "cranking speed", unit: "rpm", of: "middle" },
  { channel: "socket-voltage", words: "voltage at the socket", unit: "V", of: "level" },
  { channel: "module-voltage", words: "voltage at the module", unit: "V", of: "level" },
  { channel: "manifold", words: "manifold pressure", unit: "kPa", of: "level" },
];

export const compared: readonly Compared[] = [
  { channel: "engine-speed", words: "engine speed", unit: "rpm", of: "level" },
  { channel: "engine-speed", words: "roughness of engine speed", unit: "%", of: "roughness" },
  { channel: "manifold", words: "manifold pressure", unit: "kPa", of: "level" },
  { channel: "correction-b1", words: "total correction, bank 1", unit: "%", of: "level" },
  { channel: "correction-b2", words: "total correction, bank 2", unit: "%", of: "level" },
  { channel: "trim-short-b1", words: "STFT, bank 1", unit: "%", of: "level" },
  { channel: "trim-long-b1", words: "LTFT, bank 1", unit: "%", of: "level" },
  { channel: "trim-short-b2", words: "STFT, bank 2", unit: "%", of: "level" },
  { channel: "trim-long-b2", words: "LTFT, bank 2", unit: "%", of: "level" },
  { channel: "module-voltage", words: "voltage at the module", unit: "V", of: "level" },
  { channel: "socket-voltage", words: "voltage at the socket", unit: "V", of: "level" },
  { channel: "load", words: "load", unit: "%", of: "level" },
];

interface Shared {
  readonly what: string;
  readonly unit: string;
  /** Further apart than this the two are not alike. Estimates, common practice. */
  readonly within: number;
  readonly digits: number;
}

export type JudgedCondition =
  | (Shared & {
      readonly of: "cranking";
      readonly figure: "restVolts" | "coolant" | "intakeAir" | "throttle";
    })
  | (Shared & { readonly of: "running"; readonly channel: string });

/** Conditions that must be alike before "repaired" may be said. */
export const judgedConditions: readonly JudgedCondition[] = [
  { of: "cranking", figure: "coolant", what: "coolant at the crank", unit: "°C", within: 15, digits: 0 },
  { of: "cranking", figure: "intakeAir", what: "intake air at the crank", unit: "°C", within: 15, digits: 0 },
  { of: "cranking", figure: "throttle", what: "throttle at the crank", unit: "%", within: 10, digits: 0 },
  { of: "running", channel: "coolant", what: "coolant while running", unit: "°C", within: 12, digits: 0 },
  {
    of: "running",
    channel: "intake-air",
    what: "intake air while running",
    unit: "°C",
    within: 20,
    digits: 0,
  },
  { of: "running", channel: "load", what: "load while running", unit: "%", within: 12, digits: 0 },
];
