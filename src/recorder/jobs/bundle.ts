/** A job as one file that can be opened on another machine: note, recordings, photos, readings, and their sums. */
import { createHash } from "node:crypto";
import { stat } from "node:fs/promises";
import { composeNote, type NoteOptions } from "../../sheet/note/compose.ts";
import { noteHtml } from "../../sheet/note/html.ts";
import type { Sources } from "../../sheet/tied.ts";
import { inOrder, jobText, type JobDocument } from "../../sheet/job.ts";
import { leavingJob, masksAnything, nothingMasked } from "../../sheet/mask.ts";
import { isCranksideError } from "../../../shared/errors.ts";
import { unreadable } from "../problems.ts";
import { bundleFormat, bundleVersion, isAllowedName, type Manifest } from "./manifest.ts";
import { refuseExisting } from "./note.ts";
import { readSources, tiesOf } from "./sources.ts";
import type { JobStore } from "./store.ts";
import { isGzip } from "../bytes.ts";
import { firstBytes, zip, type Packed } from "./zip.ts";

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
  const sources = await readSources(store, job);
  const note = composeNote(job, sources, options);
  const csv = note.sections.flatMap((s) => s.blocks.flatMap((b) => (b.kind === "chart" ? b.csv : [])));
  const { recordings, about: unpacked } = masksAnything(masking)
    ? { recordings: [], about: [recordingsStayOut] }
    : await recordingsOf(store, job);
  const leaving = leavingJob(job, masking);
  const photos = photosOf(leaving, sources);
  const about = [...unpacked, ...photos.about];
  const named: Named[] = [
    { name: "job.json", content: Buffer.from(jobText(leaving)) },
    { name: "note.html", content: Buffer.from(noteHtml(note)) },
    ...csv.map(({ name, text }) => ({ name: `clips/${name}`, content: Buffer.from(text()) })),
    ...photos.packed,
    ...recordings,
  ];
  const files: Manifest["files"] = [];
  const packed: Packed[] = [];
  for (const one of named) {
    const { content, sha256, bytes } = await summed(one);
    files.push({ name: one.name, bytes, sha256 });
    packed.push({ name: one.name, content });
  }
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

interface Named {
  readonly name: string;
  readonly content: Buffer | { readonly path: string };
}

/** Each file once; one that is gone, or was altered, would make a bundle that cannot be opened. */
function photosOf(job: JobDocument, sources: Sources): { packed: Named[]; about: string[] } {
  const packed = new Map<string, Named>();
  const about = new Map<string, string>();
  for (const { id, file, caption } of inOrder(job.photos)) {
    const bytes = sources.photo(id);
    const called = caption === "" ? file : `${file} (${caption})`;
    if (bytes === null) about.set(file, `The photo ${called} is not in here: it is missing or was altered.`);
    else packed.set(file, { name: `photos/${file}`, content: Buffer.from(bytes) });
  }
  return { packed: [...packed.values()], about: [...about.values()] };
}

async function recordingsOf(
  store: JobStore,
  job: JobDocument,
): Promise<{ recordings: Named[]; about: string[] }> {
  const recordings: Named[] = [];
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

interface Summed {
  readonly content: Packed["content"];
  readonly bytes: number;
  readonly sha256: string;
}

/** What is packed and its sum. A recording may be growing: then its whole lines as they are now. */
async function summed({ content }: Named): Promise<Summed> {
  if (Buffer.isBuffer(content)) return { content, bytes: content.length, sha256: sha256Of(content) };
  const { path } = content;
  try {
    const { size } = await stat(path);
    const whole = await sumOf({ path, bytes: size });
    const grew = (await stat(path)).size > size && !(await isGzip(path));
    const sum = grew && whole.toLastFeed.bytes > 0 ? whole.toLastFeed : whole;
    return { content: { path, bytes: sum.bytes }, bytes: sum.bytes, sha256: sum.sha256 };
  } catch (error) {
    throw unreadable(path, error);
  }
}

interface Sum {
  readonly bytes: number;
  readonly sha256: string;
}

/** Of all these bytes, and of those up to the last line feed among them. */
async function sumOf(file: {
  readonly path: string;
  readonly bytes: number;
}): Promise<Sum & { readonly toLastFeed: Sum }> {
  const hash = createHash("sha256");
  let bytes = 0;
  let toLastFeed: Sum = { bytes: 0, sha256: "" };
  for await (const piece of firstBytes(file) as AsyncIterable<Buffer>) {
    const at = piece.lastIndexOf(0x0a) + 1;
    hash.update(piece.subarray(0, at));
    if (at > 0) toLastFeed = { bytes: bytes + at, sha256: hash.copy().digest("hex") };
    hash.update(piece.subarray(at));
    bytes += piece.length;
  }
  return { bytes, sha256: hash.digest("hex"), toLastFeed };
}

function sha256Of(content: Buffer): string {
  return createHash("sha256").update(content).digest("hex");
}
