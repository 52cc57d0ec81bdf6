/** What page and server say to each other about what was learned of vehicles. */
import { z } from "zod/mini";

/** Longest file of it that is taken: 400 figures and 10,000 names of recordings fit. */
export const longestNormal = 4 * 1024 * 1024;

export const learnRequestSchema = z.strictObject({
  name: z.string().check(z.maxLength(120)),
  files: z.array(z.string().check(z.minLength(1), z.maxLength(260))).check(z.minLength(1), z.maxLength(500)),
});
export type LearnRequest = z.infer<typeof learnRequestSchema>;
