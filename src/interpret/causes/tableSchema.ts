/** The shape of the tables, for whoever corrects them: everything that logic relies on and types cannot say. */
import { z } from "zod/mini";
import { complaints, states } from "./types.ts";

const text = z.string().check(z.minLength(2), z.maxLength(400));
const id = z.string().check(z.regex(/^[a-z0-9]+(?:-[a-z0-9]+)*$/));
const least0 = z.number().check(z.gte(0));
const span = z
  .tuple([z.number(), z.number()])
  .check(z.refine(([low, high]) => low <= high, "low before high"));

const onlySchema = z.strictObject({
  fuel: z.optional(z.array(z.enum(["petrol", "diesel", "ethanol", "gas", "other"])).check(z.minLength(1))),
  metering: z.optional(z.enum(["air-flow", "manifold-pressure"])),
  banksAtLeast: z.optional(z.int().check(z.gte(2))),
});

export const causeRowSchema = z.strictObject({
  id,
  name: text,
  about: text,
  place: text,
  weight: z.partialRecord(z.enum(complaints), z.number().check(z.gt(0), z.lte(100))),
  repair: z.strictObject({
    act: z.optional(id),
    does: text,
    part: z.nullable(text),
    money: span,
    minutes: span,
  }),
  proof: text,
  badGuess: z.strictObject({ money: least0, words: text }),
  intermittent: z.optional(z.literal(true)),
  only: z.optional(onlySchema),
  source: text,
});

const probability = z.number().check(z.gt(0), z.lt(1));

const outcomeSchema = z.strictObject({
  id,
  text,
  means: text,
  from: z.optional(z.number()),
  to: z.optional(z.number()),
  normal: z.optional(z.literal(true)),
  why: z.optional(text),
  often: z.optional(z.record(z.string(), probability)),
});

const before = { check: id, outcomes: z.optional(z.array(id)) };

export const handCheckRowSchema = z.strictObject({
  id,
  name: text,
  steps: z.array(text).check(z.minLength(1), z.maxLength(6)),
  tools: z.array(id),
  minutes: z.number().check(z.gt(0), z.lte(120)),
  minutesOpen: z.optional(z.number().check(z.gt(0))),
  opens: z.optional(text),
  money: least0,
  caution: z.union([z.literal("none needed"), z.array(id).check(z.minLength(1))]),
  state: z.enum(states),
  asks: z.optional(z.literal(true)),
  for: z.optional(z.array(z.enum(complaints)).check(z.minLength(1))),
  only: z.optional(onlySchema),
  reading: z.optional(
    z.strictObject({
      what: text,
      unit: z.string().check(z.minLength(1)),
      possible: span,
      figure: z.enum(["value", "lowest-of-highest", "furthest-from-mean", "highest", "lowest"]),
      source: text,
      beside: z.optional(
        z.strictObject({
          shown: text,
          what: text,
          words: z.tuple([text, text, text]),
          take: z.enum(["shown", "beside"]),
          possible: span,
          channels: z.array(z.string().check(z.minLength(2))),
        }),
      ),
      perBattery: z.optional(z.literal(true)),
      doubtful: z.optional(z.strictObject({ from: z.number(), words: text })),
      replaced: z.optional(z.strictObject({ by: z.literal("fuelPressureKPa"), outcome: id })),
    }),
  ),
  group: id,
  outcomes: z.array(outcomeSchema).check(z.minLength(2), z.maxLength(6)),
  after: z.optional(z.array(z.strictObject({ ...before, or: z.optional(z.strictObject(before)) }))),
  source: text,
});

const often = z.intersection(z.object({ otherwise: probability }), z.record(id, probability));

export const signSaysSchema = z.strictObject({
  group: id,
  sameAs: z.optional(z.enum(complaints)),
  often: z.union([
    z.strictObject({ outside: often }),
    z.strictObject({ low: often, high: often, neither: z.optional(often) }),
  ]),
  source: text,
});
