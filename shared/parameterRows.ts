/** What a row of the parameter table is made of, and how the usual shapes of rows are written down. */
import type { UnitId } from "./units.ts";
import type { EnumId, BitsId } from "./enumerations.ts";

/**
 * W = Wikipedia "OBD-II PIDs"; Wm = same tables and SAE J1979-DA / ISO 15031-5 annex B, from memory; O = the open
 * collection OBDb, signal list of SAE J1979 (CC BY-SA 4.0), and its captured replies with their figures.
 */
export type Source = "W" | "Wm" | "O";

/** value = raw * mul / div + add, with raw read big-endian from `len` bytes at `at`. */
export interface Value {
  readonly channel: string;
  /** Full name, as in the standard. */
  readonly name: string;
  /** Short name for a lane. */
  readonly short: string;
  readonly unit: UnitId;
  readonly at: number;
  readonly len: number;
  readonly signed?: true;
  readonly mul?: number;
  readonly div?: number;
  readonly add?: number;
  /** Only there when this bit of data byte `at` is set. */
  readonly when?: { readonly at: number; readonly bit: number; /** ... or this one. */ readonly or?: number };
  /** This raw value means "not there". */
  readonly absent?: number;
  /** Some bits of the bytes only: the raw number is shifted right by so many, then masked. */
  readonly part?: { readonly shift: number; readonly mask: number };
  readonly enumeration?: EnumId;
  readonly bits?: BitsId;
}

export interface Parameter {
  readonly pid: number;
  readonly bytes: number;
  readonly name: string;
  readonly source: Source;
  /** Said where the source is unsure, such as of a length. */
  readonly note?: string;
  /** Came after the first release: a person's file of own parameters may define this number, and then goes first. */
  readonly later?: true;
  readonly values: readonly Value[];
}

export type Scale = Pick<Value, "mul" | "div" | "add" | "signed">;

export const percent: Scale = { mul: 100, div: 255 };
export const trim: Scale = { mul: 100, div: 128, add: -100 };
export const temperature: Scale = { add: -40 };

export function one(
  pid: number,
  bytes: number,
  channel: string,
  name: string,
  short: string,
  unit: UnitId,
  scale: Scale,
  source: Source,
): Parameter {
  return { pid, bytes, name, source, values: [{ channel, name, short, unit, at: 0, len: bytes, ...scale }] };
}

/** Rows whose first byte says which of the following values exist: bit n stands for value n. */
export function flagged(
  pid: number,
  bytes: number,
  name: string,
  unit: UnitId,
  len: number,
  scale: Scale,
  values: readonly (readonly [channel: string, name: string, short: string])[],
  note?: string,
): Parameter {
  return {
    pid,
    bytes,
    name,
    source: "Wm",
    ...(note === undefined ? {} : { note }),
    values: values.map(([channel, valueName, short], i) => ({
      channel,
      name: valueName,
      short,
      unit,
      at: 1 + i * len,
      len,
      when: { at: 0, bit: i },
      ...scale,
    })),
  };
}

export const lengthUncertain = "length uncertain: from memory";
