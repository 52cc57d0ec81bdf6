import type { JobEntry } from "../../../shared/jobMessages.ts";
import { inOrder, type JobDocument } from "../../sheet/job.ts";
import { foundLine } from "../../sheet/note/found.ts";

export function entryOf(job: JobDocument): JobEntry {
  return {
    id: job.id,
    name: job.vehicle.name ?? "",
    complaint: (job.texts.complaint ?? "").slice(0, 200),
    changed: job.changed,
    archived: job.archived,
    begun: job.created,
    recordings: inOrder(job.recordings).length,
    found: foundLine(job),
    problem: null,
  };
}

/** Every word is somewhere in what a person wrote, whatever the case. */
export function matches(job: JobDocument, search: string): boolean {
  const words = search
    .toLowerCase()
    .split(/\s+/)
    .filter((word) => word !== "");
  if (words.length === 0) return true;
  const { who, vehicle, texts } = job;
  const said = [
    job.id,
    ...Object.values(who),
    vehicle.name ?? "",
    vehicle.vin ?? "",
    ...Object.values(texts),
    ...inOrder(job.entries).map((e) => e.words),
    ...inOrder(job.checks).flatMap((c) => [c.name, c.seen, c.notes]),
    ...inOrder(job.causes).map((c) => c.name),
    ...inOrder(job.clips).map((c) => c.caption),
    ...inOrder(job.photos).map((p) => p.caption),
  ]
    .join("\n")
    .toLowerCase();
  return words.every((word) => said.includes(word));
}
