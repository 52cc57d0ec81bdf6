/** A job as one file that can be opened on another machine: note, recordings, photos, readings, and their sums. */
import { createHash } from "node:crypto";
import { createReadStream } from "node:fs";
import { composeNote, type NoteOptions } from "../../sheet/note/compose.ts";
import { noteHtml } from "../../sheet/note/html.ts";
import { inOrder, jobText, type JobDocument } from "../../sheet/job.ts";
import { leavingJob, masksAnything, nothingMasked } from "../../sheet/mask.ts";
import { isCranksideError } from "../../../shared/errors.ts";
import { unreadable } from "../problems.ts";
import { bundleFormat, bundleVersion, isAllowedName, type Manifest } from "./manifest.ts";
import { refuseExisting } from "./note.ts";
import { readSources, tiesOf } from "./sources.ts";
import type { JobStore } from "./store.ts";
import { zip, type Packed } from "./zip.ts";

/** What a masked bundle says of itself. */
const recordingsStayOut = "Recordings are left out: they cannot be masked without being altered.";

export interface BundleSummary {
  readonly files: number;
  readonly bytes: number;
  /** What was left out or hidden, in words. */
  readonly about: readonly string[];
}

/**
 * Writes a bundle to a new file. Where something is masked, the recordings stay out: they hold the VIN as the vehicle
 * said it, and facts as they were typed. Rejects with `file-exists`, `file-unwritable` and as `read` does.
 */
export async function writeBundle(
  store: JobStore,
  id: string,
  { path, ...options }: NoteOptions & { readonly path: string },
): Promise<BundleSummary> {
  refuseExisting(path);
  const masking = options.masking ?? nothingMasked;
  const job = await store.read(id);
  const note = composeNote(job, await readSources(store, job), options);
  const csv = note.sections.flatMap((s) => s.blocks.flatMap((b) => (b.kind === "chart" ? b.csv : [])));
  const { recordings, about } = masksAnything(masking)
    ? { recordings: [], about: [recordingsStayOut] }
    : await recordingsOf(store, job);
  const leaving = leavingJob(job, masking);
  const packed: Packed[] = [
    { name: "job.json", content: Buffer.from(jobText(leaving)) },
    { name: "note.html", content: Buffer.from(noteHtml(note)) },
    ...csv.map(({ name, text }) => ({ name: `clips/${name}`, content: Buffer.from(text()) })),
    ...inOrder(job.photos)
      .filter((photo, i, all) => all.findIndex((p) => p.file === photo.file) === i)
      .map((photo) => ({ name: `photos/${photo.file}`, content: { path: store.photoPath(id, photo.file) } })),
    ...recordings,
  ];
  const files: Manifest["files"] = [];
  for (const one of packed) files.push(await sumOf(one));
  const manifest: Manifest = {
    format: bundleFormat,
    version: bundleVersion,
    job: leaving.id,
    made: options.made,
    writer: options.writer,
    about,
    files,
  };
  const bytes = await zip(path, [
    { name: "manifest.json", content: Buffer.from(`${JSON.stringify(manifest, null, 1)}\n`) },
    ...packed,
  ]);
  return { files: packed.length + 1, bytes, about };
}

async function recordingsOf(
  store: JobStore,
  job: JobDocument,
): Promise<{ recordings: Packed[]; about: string[] }> {
  const recordings: Packed[] = [];
  const about: string[] = [];
  for (const file of new Set(tiesOf(job).map((tie) => tie.file))) {
    const name = `recordings/${file}`;
    try {
      if (!isAllowedName(name)) throw unreadable(file, new Error("its name cannot be in a bundle"));
      recordings.push({ name, content: { path: await store.recordingPath(job.id, file) } });
    } catch (error) {
      if (!isCranksideError(error)) throw error;
      about.push(`${file} is not in here: ${error.message}`);
    }
  }
  return { recordings, about };
}

async function sumOf({ name, content }: Packed): Promise<Manifest["files"][number]> {
  const hash = createHash("sha256");
  if (Buffer.isBuffer(content)) {
    return { name, bytes: content.length, sha256: hash.update(content).digest("hex") };
  }
  let bytes = 0;
  try {
    for await (const piece of createReadStream(content.path) as AsyncIterable<Buffer>) {
      hash.update(piece);
      bytes += piece.length;
    }
  } catch (error) {
    throw unreadable(content.path, error);
  }
  return { name, bytes, sha256: hash.digest("hex") };
}
