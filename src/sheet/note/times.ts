/** When what stands on a sheet happened, by the start of its recording and the place in it. */
import { isoWithZoneOf } from "../../../shared/times.ts";
import { inOrder, type Clip, type Entry, type JobDocument, type Tie } from "../job.ts";
import { saysOf } from "../snapshot.ts";
import { statementOf } from "../statement.ts";
import { dateText } from "./composing.ts";

/** ISO 8601 of a recording's start, as its item on the sheet says; null where the sheet does not have it. */
export function startedOf(job: JobDocument, file: string): string | null {
  return inOrder(job.recordings).find((r) => r.tie.file === file)?.started ?? null;
}

/** Milliseconds since 1970 of a place in a recording; infinite where its start is not known, so that it comes last. */
export function instantOf(job: JobDocument, tie: Tie, offset = 0): number {
  const started = Date.parse(startedOf(job, tie.file) ?? "");
  return Number.isNaN(started) ? Number.POSITIVE_INFINITY : started + offset;
}

/** "2024-03-02 09:00:12"; empty where the start is not known. */
export function wallText(job: JobDocument, tie: Tie, offset: number): string {
  const started = startedOf(job, tie.file);
  if (started === null || Number.isNaN(Date.parse(started))) return "";
  const iso = isoWithZoneOf(started)(offset);
  return `${dateText(iso)}:${iso.slice(17, 19)}`;
}

/** Where in its recording an entry begins, milliseconds. */
export function offsetOf(entry: Entry): number {
  return statementOf(entry, "metric").windows[0]?.from ?? 0;
}

/** When a survey was taken. */
export function surveyInstant(job: JobDocument, entry: Entry): number {
  const says = saysOf(entry.says);
  const at = says?.kind === "modules" ? Date.parse(says.at ?? "") : Number.NaN;
  return Number.isNaN(at) ? instantOf(job, entry.tie) : at;
}

export function surveyTime(job: JobDocument, entry: Entry): string {
  const says = saysOf(entry.says);
  const at = says?.kind === "modules" ? says.at : undefined;
  return dateText(at ?? startedOf(job, entry.tie.file) ?? "");
}

export function clipInstant(job: JobDocument, clip: Clip): number {
  return instantOf(job, clip.tie, clip.from);
}
