/** The form of a parameter that a person defines. */
import { z } from "zod/mini";
import { unitIds, type UnitId } from "./units.ts";

/** Bits of a value at most. */
const mostBits = 64;
/** Bits that a number holds exactly: a counter, whose steps are counted, has no more. */
export const exactBits = 53;
/** Bits from the first data byte on: the longest reply of these services is far shorter. */
const mostStart = 2047;
const text = z.string().check(z.minLength(1), z.maxLength(200));

/** Requests to a module go out under these identifiers only: others belong to the vehicle's own traffic. */
const requestId = /^(?:(?!7DF)[67][0-9A-F]{2}|18DA[0-9A-F]{2}F1)$/;

const fields = {
  channel: z.string().check(z.regex(/^[a-z][a-z0-9-]{1,39}$/, "small letters, digits and hyphens, 2 to 40")),
  name: text,
  short: z.optional(z.string().check(z.minLength(1), z.maxLength(24))),
  request: z
    .string()
    .check(
      z.regex(
        /^(?:21[0-9A-F]{2}|22[0-9A-F]{4}|01[0-9A-F]{2})$/,
        "21 and one byte, 22 and two, or 01 and one, in capital hexadecimal digits",
      ),
    ),
  module: z.optional(
    z
      .string()
      .check(z.regex(/^(?:[0-9A-F]{2,3}|[0-9A-F]{8})$/, "a module address as the recording shows it")),
  ),
  alone: z.optional(z.literal(true)),
  to: z.optional(
    z
      .string()
      .check(
        z.regex(requestId, "a request identifier on CAN: 600 to 7FF but 7DF, or 18DA and the module and F1"),
      ),
  ),
  from: z.optional(
    z
      .string()
      .check(z.regex(/^(?:[0-7][0-9A-F]{2}|18DAF1[0-9A-F]{2})$/, "the identifier that the replies bear")),
  ),
  extension: z.optional(z.string().check(z.regex(/^[0-9A-F]{2}$/, "one byte in capital hexadecimal digits"))),
  startBit: z.int().check(z.gte(0), z.lte(mostStart)),
  length: z.int().check(z.gte(1), z.lte(mostBits)),
  byteOrder: z.enum(["high-first", "low-first"]),
  signed: z.boolean(),
  factor: z.number(),
  divisor: z.optional(z.number()),
  offset: z.number(),
  noValue: z.optional(
    z.strictObject({ atOrBelow: z.optional(z.number()), atOrAbove: z.optional(z.number()) }),
  ),
  unit: z.enum(unitIds as [UnitId, ...UnitId[]]),
  plausible: z.optional(z.strictObject({ low: z.number(), high: z.number() })),
  kind: z.enum(["value", "counter"]),
  source: text,
};

/** One parameter. Bits are counted from the top bit of the first data byte behind the identifier. */
export const definedParameterSchema = z.strictObject(fields);
export type DefinedParameter = z.infer<typeof definedParameterSchema>;

/** As in a recording: with room for fields that a later writer adds. */
export const recordedParameterSchema = z.object(fields);
