/** Which complaints and which recordings the causes are worked out from. Pure. */
import { complaintsInWords, complaintsOf } from "../interpret/causes/complaint.ts";
import type { Log } from "../interpret/causes/results.ts";
import { awayAt } from "../interpret/causes/away.ts";
import { complaints, type Complaint } from "../interpret/causes/types.ts";
import type { Findings } from "../interpret/report/schema.ts";
import { inOrder, type JobDocument } from "./job.ts";

export interface Told {
  readonly complaints: readonly Complaint[];
  readonly from: "chosen" | "words" | "recording" | "nothing";
}

/** As the person chose them, else as their words say, else as the recordings show. */
export function complaintsTold(job: JobDocument | null, words: string, findings: readonly Findings[]): Told {
  const chosen = job?.advice.complaints;
  // One that only a later version knows stays in the job, and is not weighed here.
  if (chosen !== undefined)
    return { complaints: complaints.filter((c) => chosen.includes(c)), from: "chosen" };
  const said = complaintsInWords(words);
  if (said.length > 0) return { complaints: said, from: "words" };
  const shown = [...new Set(findings.flatMap((f) => complaintsOf(f)))];
  return { complaints: shown, from: shown.length > 0 ? "recording" : "nothing" };
}

export interface Counted {
  readonly file: string;
  readonly counts: boolean;
  /** Why it does not count; empty when it does. */
  readonly why: "" | "not wanted" | "the fault was away then" | "not on the sheet of this job";
}

/**
 * The job's recordings, and the one that is shown. One that began while a change had taken the fault away shows the
 * mended vehicle, and would speak against the very cause that was found.
 */
export function countedRecordings(
  job: JobDocument | null,
  log: Log,
  shown: { readonly file: string },
): Counted[] {
  const items = job === null ? [] : inOrder(job.recordings);
  const own = [...new Map(items.map((r) => [r.tie.file, r])).values()];
  const unwanted = new Set(job?.advice.uncounted ?? []);
  const out: Counted[] = own.map(({ tie, started }) => {
    const at = Date.parse(started);
    const why = unwanted.has(tie.file)
      ? "not wanted"
      : !Number.isNaN(at) && awayAt(log, at)
        ? "the fault was away then"
        : "";
    return { file: tie.file, counts: why === "", why };
  });
  if (own.some((r) => r.tie.file === shown.file)) return out;
  const why = own.length > 0 ? "not on the sheet of this job" : "";
  return [...out, { file: shown.file, counts: why === "", why }];
}
