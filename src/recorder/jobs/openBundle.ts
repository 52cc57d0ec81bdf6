/**
 * Opens a bundle on this machine. Nothing in it is believed: names must be of the few that a bundle has, sizes are
 * counted while unpacking, every file must fit its sum, and only when all of it does, the job appears.
 */
import { createHash, randomBytes } from "node:crypto";
import { mkdir, readFile, rename, rm, rmdir } from "node:fs/promises";
import { join } from "node:path";
import { open as openZipFile, type Entry, type ZipFile } from "yauzl";
import { CranksideError, messageOf } from "../../../shared/errors.ts";
import { cleanPhoto } from "../../sheet/photo/photo.ts";
import { jobText, readJob, type JobDocument } from "../../sheet/job.ts";
import { systemCode, unreadable, unwritable } from "../problems.ts";
import { isAllowedName, readManifest, type Manifest } from "./manifest.ts";
import type { KeptPhoto } from "../../../shared/jobMessages.ts";
import { keptPhoto, type JobStore } from "./store.ts";
import { makeFolder, syncFolder, writeNew, writeWhole } from "./write.ts";

export const bundleLimits = {
  entries: 5000,
  /** All files together, unpacked. */
  bytes: 8 * 1024 ** 3,
  /** The zip file itself, where it comes through the page. */
  packedBytes: 2 * 1024 ** 3,
  manifestBytes: 2 * 1024 ** 2,
  /** Text of a recording shrinks to a tenth or so; far beyond that it is made to fill a disk. */
  ratio: 400,
  /** Small files may shrink as they like. */
  ratioFreeBytes: 4 * 1024 ** 2,
} as const;

const folders = ["recordings", "photos", "clips"] as const;

export interface OpenedBundle {
  readonly job: JobDocument;
  readonly files: number;
  readonly about: readonly string[];
}

/** Rejects with `file-missing`, `file-unreadable`, `bundle-invalid`, `bundle-unsafe`, `bundle-altered` or `newer-format`. */
export async function openBundle(store: JobStore, path: string): Promise<OpenedBundle> {
  const zip = await openZip(path);
  const staging = join(store.root, `.opening-${randomBytes(6).toString("hex")}`);
  try {
    const entries = await entriesOf(zip, path);
    const manifest = await manifestOf(zip, entries, path);
    const listed = checkListed(entries, manifest, path);
    try {
      await makeFolder(staging);
      for (const folder of folders) await mkdir(join(staging, folder));
    } catch (error) {
      throw unwritable(staging, error);
    }
    for (const { entry, file } of listed)
      await unpack(zip, { entry, file, to: join(staging, file.name), where: path });
    const job = await finish(store, staging, manifest, path);
    return { job, files: listed.length, about: manifest.about };
  } finally {
    zip.close();
    await rm(staging, { recursive: true, force: true });
  }
}

function openZip(path: string): Promise<ZipFile> {
  const options = { lazyEntries: true, autoClose: false, strictFileNames: true, validateEntrySize: true };
  return new Promise((resolve, reject) => {
    openZipFile(path, options, (error, zip) => {
      if (error === null) resolve(zip);
      else if (systemCode(error) !== "") reject(unreadable(path, error));
      else reject(invalid(path, "a zip file", messageOf(error), error));
    });
  });
}

function invalid(where: string, expected: string, found: string, cause?: unknown): CranksideError {
  return new CranksideError("bundle-invalid", "not a bundle", { expected, found, where }, cause);
}

function unsafe(where: string, found: string): CranksideError {
  return new CranksideError("bundle-unsafe", "the bundle is not unpacked", {
    expected: "the files of one job, once each, of a size that can be",
    found,
    where,
  });
}

function entriesOf(zip: ZipFile, where: string): Promise<Map<string, Entry>> {
  const entries = new Map<string, Entry>();
  const lower = new Set<string>();
  let total = 0;
  return new Promise((resolve, reject) => {
    zip.on("error", (error: Error) => {
      const text = messageOf(error);
      reject(
        /relative path|absolute path|invalid characters/.test(text)
          ? unsafe(where, text)
          : invalid(where, "a whole zip file", text, error),
      );
    });
    zip.on("end", () => resolve(entries));
    zip.on("entry", (entry: Entry) => {
      const { fileName: name } = entry;
      total += entry.uncompressedSize;
      const problem = problemOf(entry, total, entries.size);
      if (problem !== null) {
        reject(unsafe(where, problem));
        return;
      }
      if (lower.has(name.toLowerCase())) {
        reject(unsafe(where, `${JSON.stringify(name)} twice`));
        return;
      }
      lower.add(name.toLowerCase());
      entries.set(name, entry);
      zip.readEntry();
    });
    zip.readEntry();
  });
}

const linkMode = 0o120000;
const kindMask = 0o170000;

function problemOf(entry: Entry, total: number, count: number): string | null {
  const name = JSON.stringify(entry.fileName.slice(0, 120));
  if (entry.fileName !== "manifest.json" && !isAllowedName(entry.fileName)) return `a file named ${name}`;
  const mode = entry.externalFileAttributes >>> 16;
  if ((mode & kindMask) === linkMode) return `${name}, a link`;
  if (entry.isEncrypted()) return `${name}, encrypted`;
  if (count >= bundleLimits.entries) return `more than ${bundleLimits.entries} files`;
  if (total > bundleLimits.bytes) return `more than ${bundleLimits.bytes} bytes when unpacked`;
  const { uncompressedSize: size, compressedSize: packed } = entry;
  if (size > bundleLimits.ratioFreeBytes && size > packed * bundleLimits.ratio)
    return `${name}, which grows from ${packed} to ${size} bytes`;
  return null;
}

function stream(zip: ZipFile, entry: Entry): Promise<NodeJS.ReadableStream> {
  return new Promise((resolve, reject) => {
    zip.openReadStream(entry, (error, readable) => {
      if (error === null) resolve(readable);
      else reject(error);
    });
  });
}

async function manifestOf(zip: ZipFile, entries: Map<string, Entry>, where: string): Promise<Manifest> {
  const entry = entries.get("manifest.json");
  if (entry === undefined) throw invalid(where, "manifest.json in it", "none");
  if (entry.uncompressedSize > bundleLimits.manifestBytes) throw unsafe(where, "a manifest of that size");
  const pieces: Buffer[] = [];
  try {
    for await (const piece of (await stream(zip, entry)) as AsyncIterable<Buffer>) pieces.push(piece);
  } catch (error) {
    throw invalid(where, "a manifest that can be read", messageOf(error), error);
  }
  return readManifest(Buffer.concat(pieces).toString("utf8"), where);
}

interface Listed {
  readonly entry: Entry;
  readonly file: Manifest["files"][number];
}

/** The manifest names every file, and every file is in the manifest, with the same size. */
function checkListed(entries: Map<string, Entry>, manifest: Manifest, where: string): Listed[] {
  const listed: Listed[] = [];
  const names = new Set<string>();
  for (const file of manifest.files) {
    const entry = entries.get(file.name);
    if (entry === undefined || names.has(file.name)) {
      throw invalid(
        where,
        `${file.name} once, as its manifest says`,
        entry === undefined ? "none" : "two lines of it",
      );
    }
    if (entry.uncompressedSize !== file.bytes) {
      throw altered(where, file.name, `${file.bytes} bytes`, `${entry.uncompressedSize} bytes`);
    }
    names.add(file.name);
    listed.push({ entry, file });
  }
  for (const name of entries.keys()) {
    if (name !== "manifest.json" && !names.has(name))
      throw invalid(where, "only files of its manifest", name);
  }
  if (!names.has("job.json")) throw invalid(where, "job.json in it", "none");
  return listed;
}

function altered(where: string, name: string, expected: string, found: string): CranksideError {
  return new CranksideError("bundle-altered", `${name} is not as it was packed`, { expected, found, where });
}

interface Unpacking extends Listed {
  readonly to: string;
  readonly where: string;
}

async function unpack(zip: ZipFile, { entry, file, to, where }: Unpacking): Promise<void> {
  const hash = createHash("sha256");
  let bytes = 0;
  async function* counted(): AsyncGenerator<Buffer> {
    for await (const piece of (await stream(zip, entry)) as AsyncIterable<Buffer>) {
      bytes += piece.length;
      if (bytes > file.bytes) throw altered(where, file.name, `${file.bytes} bytes`, "more");
      hash.update(piece);
      yield piece;
    }
  }
  try {
    await writeNew(to, counted());
  } catch (error) {
    if (error instanceof CranksideError) throw error;
    const ours = ["EEXIST", "ENOSPC", "EACCES", "EROFS", "EDQUOT", "ENOENT"].includes(systemCode(error));
    throw ours
      ? unwritable(to, error)
      : altered(where, file.name, "a file that can be unpacked", messageOf(error));
  }
  const sum = hash.digest("hex");
  if (bytes !== file.bytes || sum !== file.sha256) throw altered(where, file.name, file.sha256, sum);
}

/** Job and photos must be what they say; then the folder gets its name. An older job of that name is not touched. */
async function finish(
  store: JobStore,
  staging: string,
  manifest: Manifest,
  where: string,
): Promise<JobDocument> {
  const job = readJob(await readFile(join(staging, "job.json"), "utf8"), `${where}, job.json`);
  const cleaned = await cleanedPhotos(staging, job, manifest);
  const id = await store.claim(job.id);
  const own: JobDocument = { ...cleaned, id };
  try {
    for (const folder of folders) await syncFolder(join(staging, folder));
    await writeWhole(join(staging, "job.json"), jobText(own));
    // In place of the empty folder that was just claimed; not every system renames over one.
    await rmdir(store.folder(id));
    await rename(staging, store.folder(id));
    await syncFolder(store.root);
  } catch (error) {
    throw error instanceof CranksideError ? error : unwritable(store.folder(id), error);
  }
  return own;
}

/**
 * What a photo carries beside its picture (position, camera, comments, what hangs behind its end) is not let in. One that
 * had any is another file then, and the job names it by its new sum.
 */
async function cleanedPhotos(staging: string, job: JobDocument, manifest: Manifest): Promise<JobDocument> {
  const renamed = new Map<string, KeptPhoto>();
  for (const { name } of manifest.files) {
    if (!name.startsWith("photos/")) continue;
    const bytes = await readFile(join(staging, name));
    const photo = cleanPhoto(bytes);
    if (Buffer.from(photo.bytes).equals(bytes)) continue;
    const kept = keptPhoto(photo);
    await writeWhole(join(staging, "photos", kept.file), photo.bytes);
    await rm(join(staging, name));
    renamed.set(name.slice("photos/".length), kept);
  }
  if (renamed.size === 0) return job;
  const photos = Object.fromEntries(
    Object.entries(job.photos).map(([id, photo]) => [id, { ...photo, ...renamed.get(photo.file) }]),
  );
  return { ...job, photos };
}
