/** What page and server say to each other about what was learned of vehicles. */
import { z } from "zod/mini";

/** Longest file of it that is taken: 400 figures and 10,000 names of recordings fit. */
export const longestNormal = 4 * 1024 * 1024;

export const learnRequestSchema = z.strictObject({
  name: z.string().check(z.maxLength(120)),
  files: z.array(z.string().check(z.minLength(1), z.maxLength(260))).check(z.minLength(1), z.maxLength(500)),
});
export type LearnRequest = z.infer<typeof learnRequestSchema>;

/** By `vehicleKey` the id of what was learned and is used for that vehicle. */
export const usedSchema = z.record(z.string().check(z.maxLength(300)), z.string().check(z.maxLength(60)));

/** `id` null: none is used for this vehicle any more. */
export const useRequestSchema = z.strictObject({
  vehicle: z.string().check(z.minLength(1), z.maxLength(300)),
  id: z.nullable(z.string().check(z.maxLength(60))),
});
export type UseRequest = z.infer<typeof useRequestSchema>;
