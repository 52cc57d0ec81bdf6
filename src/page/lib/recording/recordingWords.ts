/** How a recording is called in a list, so that each line is another one. Pure. */
import { capital } from "../../../../shared/letters.ts";
import { inOrder, type JobDocument } from "../../../sheet/job.ts";
import type { OfJob, RecordingSummary } from "../../../sheet/summary.ts";
import type { JobEntry } from "../../../../shared/jobMessages.ts";
import { clockText, count, whenText } from "../app/words.ts";

interface Named {
  readonly file: string;
  readonly bundled?: boolean;
  readonly started: string | null;
  readonly vehicle?: string;
}

/** A sample is called by its story, a recording of one's own by its vehicle. */
export function titleOf(
  { file, bundled = false, vehicle = "" }: Named,
  summary: RecordingSummary | null,
): string {
  if (!bundled) return [vehicle, summary?.vehicle ?? "", file].find((text) => text !== "") ?? file;
  const words = file.replace(/\.ndjson(\.gz)?$/, "").replaceAll("-", " ");
  return capital(words);
}

/** When, how long, what it was about and what happened: "… · 1:15 · cranks, no start · 3 cranks: did not fire". */
export function aboutText({ started }: Named, summary: RecordingSummary | null): string {
  const parts = [
    whenText(started),
    ...(summary === null ? [] : [clockText(summary.lengthMs), summary.complaint, summary.happened]),
  ];
  return parts.filter((text) => text !== "").join(" · ");
}

/** By which recordings are known to be of this job, or of its vehicle. */
export function ofJob(job: JobDocument | null): OfJob | null {
  if (job === null) return null;
  const named = [job.vehicle.name, job.vehicle.vin].flatMap((text) => (text === undefined ? [] : [text]));
  return {
    files: new Set(inOrder(job.recordings).map((r) => r.tie.file)),
    vehicles: new Set(named.map((text) => text.toLowerCase())),
  };
}

/** One line for a choice among recordings: name, time, what happened, and the file, which no other one has. */
export function lineOf(entry: Named, summary: RecordingSummary | null): string {
  const title = titleOf(entry, summary);
  return [title, aboutText(entry, summary), ...(title === entry.file ? [] : [entry.file])].join(" · ");
}

/** What tells a job from another of the same vehicle. */
export function aboutJob({ complaint, begun, changed, recordings, found = "" }: JobEntry): string {
  const parts = [
    complaint,
    begun === undefined ? "" : `begun ${whenText(begun)}`,
    `changed ${whenText(changed)}`,
    recordings === undefined ? "" : count(recordings, "recording"),
    found,
  ];
  return parts.filter((text) => text !== "").join(" · ");
}
