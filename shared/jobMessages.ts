/** What travels between server and page about jobs. The job itself is src/sheet/job.ts. */
import { z } from "zod/mini";

/** One entry of GET /api/jobs, the job that was changed last first. */
export const jobEntrySchema = z.object({
  id: z.string(),
  /** The vehicle's name. */
  name: z.string(),
  complaint: z.string(),
  changed: z.string(),
  archived: z.boolean(),
  /** Why it cannot be opened, if so. */
  problem: z.nullable(z.string()),
});
export type JobEntry = z.infer<typeof jobEntrySchema>;
export const jobListSchema = z.array(jobEntrySchema);
