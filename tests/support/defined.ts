import type { DefinedParameter } from "../../shared/defined.ts";

/** An invented counter of 16 bits. */
export const crankCounter: DefinedParameter = {
  channel: "crank-signal",
  name: "Crankshaft signal counter",
  request: "221101",
  startBit: 0,
  length: 16,
  byteOrder: "high-first",
  signed: false,
  factor: 1,
  offset: 0,
  unit: "count",
  kind: "counter",
  source: "invented",
};

/** An invented pressure: signed, ten bits in the middle of two bytes, in tenths. */
export const pressure: DefinedParameter = {
  channel: "own-pressure",
  name: "Pressure of its own",
  short: "own",
  request: "21A2",
  startBit: 4,
  length: 10,
  byteOrder: "high-first",
  signed: true,
  factor: 0.1,
  offset: 5,
  unit: "kPa",
  plausible: { low: 0, high: 50 },
  kind: "value",
  source: "invented",
};
