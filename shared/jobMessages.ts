/** What travels between server and page about jobs. The job itself is src/sheet/job.ts. */
import { z } from "zod/mini";

/** What a file that leaves could not take along, in words, percent-encoded. */
export const leftOutHeader = "crankside-left-out";

/** One entry of GET /api/jobs, the job that was changed last first. */
export const jobEntrySchema = z.object({
  id: z.string(),
  /** The vehicle's name. */
  name: z.string(),
  complaint: z.string(),
  changed: z.string(),
  archived: z.boolean(),
  /** ISO 8601 with zone. */
  begun: z.optional(z.string()),
  /** How many stand on the sheet. */
  recordings: z.optional(z.int()),
  /** "Battery worn out: shown, mended"; empty where nothing was found yet. */
  found: z.optional(z.string()),
  /** Why it cannot be opened, if so. */
  problem: z.nullable(z.string()),
});
export type JobEntry = z.infer<typeof jobEntrySchema>;

/** Answer of GET /api/jobs. */
export const jobListSchema = z.object({
  jobs: z.array(jobEntrySchema),
  /** The job that was opened last. */
  last: z.nullable(z.string()),
});
export type JobList = z.infer<typeof jobListSchema>;

/** What is answered where a request about jobs failed. */
export const jobFailureSchema = z.object({ code: z.string(), message: z.string() });

/** Answer of POST /api/jobs/ID/photos. */
export const keptPhotoSchema = z.object({
  file: z.string(),
  type: z.enum(["image/jpeg", "image/png", "image/webp"]),
  width: z.int(),
  height: z.int(),
  bytes: z.int(),
  sha256: z.string(),
});
export type KeptPhoto = z.infer<typeof keptPhotoSchema>;
