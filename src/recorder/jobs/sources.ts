/** Reads what a job's sheet rests on, once a file: the evidence for a note. */
import { createHash } from "node:crypto";
import { readFile } from "node:fs/promises";
import { isCranksideError } from "../../../shared/errors.ts";
import {
  sourceFrom,
  type TiedRecording,
  type TiedSource,
  type Sources,
  type TieState,
} from "../../sheet/tied.ts";
import { inOrder, type JobDocument, type Tie } from "../../sheet/job.ts";
import { readByJob } from "../../sheet/readByJob.ts";
import { beforeOf } from "../../sheet/snapshot.ts";
import { openRecording } from "../open.ts";
import { systemCode, unreadable } from "../problems.ts";
import type { JobStore } from "./store.ts";
import { tieStates } from "./tie.ts";

/** Every tie on the sheet, once each. */
export function tiesOf(job: JobDocument): Tie[] {
  const all = [
    ...inOrder(job.recordings).map((r) => r.tie),
    ...inOrder(job.clips).flatMap((c) => [c.tie, ...(c.against === undefined ? [] : [c.against.tie])]),
    ...inOrder(job.entries).flatMap((e) => [e.tie, ...beforeOf(e.says)]),
    ...inOrder(job.checks).flatMap((c) => (c.place === undefined ? [] : [c.place.tie])),
  ];
  return [...new Map(all.map((tie) => [keyOf(tie), tie])).values()];
}

function keyOf(tie: Tie): string {
  return `${tie.file} ${tie.bytes} ${tie.sha256}`;
}

/** Rejects only for what is no fault of one file: a missing recording is a state of its tie. */
export async function readSources(store: JobStore, job: JobDocument): Promise<Sources> {
  const evidence = new Map<string, TiedRecording>();
  const byFile = new Map<string, Tie[]>();
  for (const tie of tiesOf(job)) byFile.set(tie.file, [...(byFile.get(tie.file) ?? []), tie]);
  const drawn = new Set(
    inOrder(job.clips).flatMap((c) => [c.tie.file, ...(c.against === undefined ? [] : [c.against.tie.file])]),
  );
  for (const [file, ties] of byFile) {
    const found = await fileEvidence(store, job, { file, ties, drawn: drawn.has(file) });
    for (const [i, tie] of ties.entries())
      evidence.set(keyOf(tie), found[i] ?? { state: "missing", source: null });
  }
  const photos = new Map<string, Uint8Array>();
  for (const photo of inOrder(job.photos)) {
    const bytes = await photoBytes(store, job.id, photo);
    if (bytes !== null) photos.set(photo.id, bytes);
  }
  return {
    evidence: (tie) => evidence.get(keyOf(tie)) ?? { state: "missing", source: null },
    photo: (id) => photos.get(id) ?? null,
  };
}

async function fileEvidence(
  store: JobStore,
  job: JobDocument,
  { file, ties, drawn }: { file: string; ties: readonly Tie[]; drawn: boolean },
): Promise<TiedRecording[]> {
  let states: TieState[];
  let source: TiedSource | null = null;
  try {
    const path = await store.recordingPath(job.id, file);
    states = await tieStates(path, ties);
    if (drawn && states.includes("fits")) source = await sourceOf(path, file, job);
  } catch (error) {
    if (isCranksideError(error, "file-missing")) states = ties.map(() => "missing");
    else if (isCranksideError(error, "not-a-recording") || isCranksideError(error, "newer-format"))
      states = ties.map(() => "unreadable");
    else throw error;
  }
  return states.map((state) => ({ state, source: state === "fits" ? source : null }));
}

async function sourceOf(path: string, file: string, job: JobDocument): Promise<TiedSource> {
  const { reading, vehicle } = await openRecording(path, { by: readByJob(job, file) });
  return sourceFrom(reading, vehicle);
}

async function photoBytes(
  store: JobStore,
  id: string,
  photo: { readonly file: string; readonly sha256: string },
): Promise<Uint8Array | null> {
  try {
    const path = store.photoPath(id, photo.file);
    const bytes = await readFile(path);
    return createHash("sha256").update(bytes).digest("hex") === photo.sha256 ? bytes : null;
  } catch (error) {
    if (isCranksideError(error, "file-missing") || systemCode(error) === "ENOENT") return null;
    throw unreadable(photo.file, error);
  }
}
