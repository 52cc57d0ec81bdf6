/** What GET /api/find answers: recordings and jobs that fit, the newest first. */
import { z } from "zod/mini";

export const foundSchema = z.object({
  found: z.array(
    z.object({
      kind: z.enum(["recording", "job"]),
      /** File of the recording, or id of the job. */
      name: z.string(),
      started: z.string(),
      /** What tells it from others, in one line. */
      line: z.string(),
    }),
  ),
  /** How many fit; more than are listed where there are many. */
  fits: z.int(),
  all: z.int(),
  /** So many have no index yet: ask again. */
  making: z.int(),
});
export type FoundList = z.infer<typeof foundSchema>;

/** What GET /api/cases answers: jobs that ended with a proved cause. */
export const casesSchema = z.object({
  cases: z.array(
    z.object({
      id: z.string(),
      complaints: z.array(z.string()),
      signs: z.array(z.string()),
      cause: z.string(),
      job: z.optional(z.string()),
    }),
  ),
});
export type CaseList = z.infer<typeof casesSchema>["cases"];

/** What GET /api/references is asked by: the recording that is looked at, as far as it is known. */
export const lookedAtSchema = z.object({
  file: z.string(),
  vehicle: z.object({
    name: z.string(),
    vin: z.string(),
    cylinders: z.optional(z.number()),
    displacementL: z.optional(z.number()),
    fuel: z.optional(z.string()),
  }),
  coolant: z.nullable(z.number()),
  invented: z.boolean(),
});

/** What it answers: sound recordings of the same kind, to be laid under. */
export const referencesSchema = z.object({
  references: z.array(
    z.object({
      file: z.string(),
      same: z.enum(["vehicle", "engine"]),
      coolant: z.nullable(z.number()),
      started: z.string(),
    }),
  ),
  /** So many have no index yet: ask again. */
  making: z.int(),
});
