/**
 * Jobs over HTTP: reading for everyone who is in, changing only for pages that this server served. Each answer is JSON,
 * a photo, or the note; a failure has its code.
 */
import { createReadStream } from "node:fs";
import { rm, stat } from "node:fs/promises";
import type { IncomingMessage, ServerResponse } from "node:http";
import { basename, join } from "node:path";
import { randomBytes } from "node:crypto";
import { pipeline } from "node:stream/promises";
import { z } from "zod/mini";
import type { Clock } from "../../shared/clock.ts";
import { CranksideError, isCranksideError, type ErrorCode } from "../../shared/errors.ts";
import { leftOutHeader } from "../../shared/jobMessages.ts";
import { isoWithZone } from "../recorder/names.ts";
import { writeBundle } from "../recorder/jobs/bundle.ts";
import { noteAsHtml, noteOf } from "../recorder/jobs/note.ts";
import { bundleLimits, openBundle, type OpenedBundle } from "../recorder/jobs/openBundle.ts";
import { tiesOf } from "../recorder/jobs/sources.ts";
import type { JobFolders } from "../recorder/jobs/folders.ts";
import { JobStore } from "../recorder/jobs/store.ts";
import { tieOf, tieStates } from "../recorder/jobs/tie.ts";
import { makeFolder, writeNew } from "../recorder/jobs/write.ts";
import { zip, type Packed } from "../recorder/jobs/zip.ts";
import { unwritable } from "../recorder/problems.ts";
import { changeSchema, type Change } from "../sheet/change.ts";
import { jobId, type JobDocument } from "../sheet/job.ts";
import { maskedJob, nothingMasked } from "../sheet/mask.ts";
import { noteParts, type NoteOptions } from "../sheet/note/compose.ts";
import { noteMarkdown, type NoteFile } from "../sheet/note/markdown.ts";
import { photoLimits } from "../sheet/photo/photo.ts";
import { answerError, answerJson, counted, forbid, sendFailure } from "./answers.ts";
import { isOwnOrigin, type Door } from "./doors.ts";
import { staysInside } from "./folders.ts";
import { decoded } from "./paths.ts";
import { isFields } from "../../shared/stored/forms.ts";
import { wrongShape } from "../../shared/wrongShape.ts";

const longestBody = 4 * 1024 * 1024;
const mostChanges = 2000;

const changesSchema = z.strictObject({ changes: z.array(changeSchema).check(z.maxLength(mostChanges)) });
const nameSchema = z.strictObject({ name: z.string().check(z.maxLength(120)) });
const fileSchema = z.strictObject({ file: z.string().check(z.maxLength(255)) });

export interface JobsOptions {
  /** Asked anew each time: the folder may change while recording. */
  readonly folders: () => JobFolders;
  readonly clock: Clock;
  readonly writer: string;
}

interface Asked {
  readonly request: IncomingMessage;
  readonly response: ServerResponse;
  readonly url: URL;
  readonly store: JobStore;
  readonly id: string;
  /** Came over the network: adds results, and nothing else. */
  readonly guest: boolean;
}

/** Results of hand checks, each under a name that the job does not have yet; the same sent twice is one. */
function addsResults(changes: readonly Change[], { log }: JobDocument): boolean {
  return changes.every(({ path: [list, id = "", ...deeper], before, after }) => {
    if (list !== "log" || deeper.length > 0 || before !== undefined || !isFields(after)) return false;
    const { entry, order, ...more } = after;
    const known = Object.hasOwn(log, id) ? JSON.stringify(log[id]?.entry) : undefined;
    if (known !== undefined && known !== JSON.stringify(entry)) return false;
    return (
      isFields(entry) && entry["k"] === "result" && order !== undefined && Object.keys(more).length === 0
    );
  });
}

export class Jobs {
  readonly #options: JobsOptions;
  #store: JobStore | null = null;

  constructor(options: JobsOptions) {
    this.#options = options;
  }

  /** True when the address is one of ours; it is then answered. */
  answer(
    request: IncomingMessage,
    response: ServerResponse,
    { url, door }: { url: URL; door: Door },
  ): boolean {
    const parts = url.pathname.split("/").slice(1);
    if (parts[0] !== "api" || parts[1] !== "jobs") return false;
    const words = parts.slice(2).map((part) => decoded(part) ?? "");
    const reads = request.method === "GET" || request.method === "HEAD";
    const guest = door.role !== "full";
    const enters = guest && door.mayEnter && words.length === 2 && words[1] === "changes";
    if (!reads && (request.method !== "POST" || (guest && !enters) || !isOwnOrigin(request, door))) {
      forbid(response, "changes jobs");
      return true;
    }
    const asked = { request, response, url, store: this.#current(), id: words[0] ?? "", guest };
    if (leadsOut(asked.store, words)) {
      sendFailure(response, 404, { code: "file-missing", message: "a link that leads out of the folder" });
      return true;
    }
    const done = reads ? this.#read(asked, words) : this.#change(asked, words);
    done.catch((error: unknown) => answerError(response, error));
    return true;
  }

  /** One store a folder, so that changes of one job wait for each other. */
  #current(): JobStore {
    const folders = this.#options.folders();
    if (this.#store === null || this.#store.folders.own !== folders.own)
      this.#store = new JobStore(folders, this.#options.clock);
    return this.#store;
  }

  async #read(asked: Asked, words: readonly string[]): Promise<void> {
    const { response, url, store, id } = asked;
    const [, what, name = ""] = words;
    if (words.length === 0 || id === "") {
      // A device of the network asks every few seconds which job lies open, and need not have all of them read for it.
      const only = url.searchParams.get("only") === "last";
      const jobs = only ? [] : await store.list(url.searchParams.get("search") ?? "");
      answerJson(response, { jobs, last: await store.last() });
      return;
    }
    if (words.length === 1) return sendIfNewer(asked);
    switch (what) {
      case "photos":
        return sendPhoto(asked, name);
      case "tie": {
        const path = await store.recordingPath(id, url.searchParams.get("file") ?? "");
        answerJson(response, await tieOf(path));
        return;
      }
      case "ties":
        answerJson(response, await states(store, id));
        return;
      case "note.html":
        return sendNote(asked, this.#noteOptions(url));
      case "bundle.zip":
        return sendBundle(asked, this.#noteOptions(url));
      case "markdown.zip":
        return sendFiles(asked, this.#noteOptions(url), () => true);
      case "clips.zip":
        return sendFiles(asked, this.#noteOptions(url), ({ name }) => name.endsWith(".csv"));
      default:
        throw new CranksideError("file-missing", "there is nothing at this address");
    }
  }

  async #change(asked: Asked, words: readonly string[]): Promise<void> {
    const bundle = words.length === 0 && asked.url.searchParams.has("bundle");
    answerJson(asked.response, bundle ? await taken(asked) : await this.#changed(asked, words));
  }

  /** Does what was asked; what is answered. */
  async #changed({ request, store, id, guest }: Asked, words: readonly string[]): Promise<unknown> {
    if (words.length === 0) {
      const { name } = await bodyOf(request, nameSchema);
      const { id: made } = await store.create(name);
      return store.opened(made);
    }
    switch (words[1]) {
      case "open":
        return store.opened(id);
      case "changes": {
        const { changes } = await bodyOf(request, changesSchema);
        if (guest && !addsResults(changes, await store.read(id)))
          throw new CranksideError(
            "role-refused",
            "a device of the network adds results and changes nothing",
          );
        const { job, conflicts } = await store.change(id, changes);
        return { job, conflicts };
      }
      case "photos":
        return store.addPhoto(id, await bytesOf(request, photoLimits.bytes, "photo-invalid"));
      case "leave":
        await store.laidAside(id);
        return {};
      case "take-in": {
        const { file } = await bodyOf(request, fileSchema);
        await store.takeIn(id, file);
        return {};
      }
      default:
        throw new CranksideError("file-missing", "there is nothing at this address");
    }
  }

  #noteOptions(url: URL): NoteOptions {
    const masked = new Set((url.searchParams.get("mask") ?? "").split(","));
    return {
      system: url.searchParams.get("units") === "us" ? "us" : "metric",
      masking: { vin: masked.has("vin"), names: masked.has("names"), plate: masked.has("plate") },
      made: isoWithZone(this.#options.clock.wall()),
      writer: this.#options.writer,
      part: noteParts.find((part) => part === url.searchParams.get("part")) ?? "all",
    };
  }
}

/** With `since`, nothing is sent where the job is at that revision still. */
async function sendIfNewer({ response, url, store, id }: Asked): Promise<void> {
  const job = await store.read(id);
  const since = url.searchParams.get("since");
  if (since === null || Number(since) !== job.revision) {
    answerJson(response, job);
    return;
  }
  response.writeHead(204, { "cache-control": "no-store" });
  response.end();
}

/** The job's folder, a folder in it, or the file that is asked for is a link to somewhere else. */
function leadsOut(store: JobStore, [id = "", , name = ""]: readonly string[]): boolean {
  if (!jobId.safeParse(id).success) return false;
  const folder = store.folder(id);
  const places = [
    "",
    "job.json",
    "recordings",
    "photos",
    ...(name === "" ? [] : [join("photos", basename(name))]),
  ];
  return !places.every((place) => staysInside(store.folders.own, join(folder, place)));
}

/** How each tie of the sheet stands now. */
async function states(
  store: JobStore,
  id: string,
): Promise<{ file: string; sha256: string; state: string }[]> {
  const job = await store.read(id);
  const out: { file: string; sha256: string; state: string }[] = [];
  for (const tie of tiesOf(job)) {
    let state: string;
    try {
      [state = "missing"] = await tieStates(await store.recordingPath(id, tie.file), [tie]);
    } catch (error) {
      if (!isCranksideError(error, "file-missing")) throw error;
      state = "missing";
    }
    out.push({ file: tie.file, sha256: tie.sha256, state });
  }
  return out;
}

async function sendPhoto({ request, response, store, id }: Asked, name: string): Promise<void> {
  const path = store.photoPath(id, name);
  const type = name.endsWith(".png") ? "image/png" : name.endsWith(".webp") ? "image/webp" : "image/jpeg";
  let size: number;
  try {
    size = (await stat(path)).size;
  } catch (error) {
    throw new CranksideError("file-missing", "there is no such photo", { found: name }, error);
  }
  response.writeHead(200, {
    "content-type": type,
    "content-length": size,
    // Its name is its sum.
    "cache-control": "private, max-age=31536000, immutable",
  });
  if (request.method === "HEAD") response.end();
  else await pipeline(createReadStream(path), response);
}

async function sendNote({ response, url, store, id }: Asked, options: NoteOptions): Promise<void> {
  const html = await noteAsHtml(store, id, options);
  const name = maskedJob(await store.read(id), options.masking ?? nothingMasked).id;
  response.writeHead(200, {
    "content-type": "text/html; charset=utf-8",
    "cache-control": "no-store",
    // As strict as the note's own: nothing in it may run or load.
    "content-security-policy":
      "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'self'",
    ...(url.searchParams.has("save") ? { "content-disposition": `attachment; filename="${name}.html"` } : {}),
  });
  response.end(html);
}

/** The zip file that `write` makes, under the job's name as far as it is not masked. */
async function sendZip(
  { response, store, id }: Asked,
  { masking = nothingMasked }: NoteOptions,
  write: (path: string) => Promise<{ readonly bytes: number; readonly about?: readonly string[] }>,
): Promise<void> {
  const shown = maskedJob(await store.read(id), masking).id;
  const path = join(store.folder(id), `.out-${randomBytes(6).toString("hex")}.zip`);
  try {
    const { bytes, about = [] } = await write(path);
    response.writeHead(200, {
      "content-type": "application/zip",
      "content-length": bytes,
      "cache-control": "no-store",
      "content-disposition": `attachment; filename="${shown}.zip"`,
      ...(about.length === 0 ? {} : { [leftOutHeader]: encodeURIComponent(about.join(" ")) }),
    });
    await pipeline(createReadStream(path), response);
  } finally {
    await rm(path, { force: true });
  }
}

function sendBundle(asked: Asked, options: NoteOptions): Promise<void> {
  const { store, id } = asked;
  return sendZip(asked, options, (path) => writeBundle(store, id, { ...options, part: "all", path }));
}

/** Markdown with its pictures and readings, or some of these files. */
function sendFiles(asked: Asked, options: NoteOptions, wanted: (file: NoteFile) => boolean): Promise<void> {
  return sendZip(asked, options, async (path) => {
    const files = noteMarkdown(await noteOf(asked.store, asked.id, options)).filter(wanted);
    const packed = files.map(({ name, content }): Packed => ({ name, content: Buffer.from(content) }));
    return { bytes: await zip(path, packed) };
  });
}

/** Takes a bundle that was picked on the page, as the command `open` takes a file; it is then the job that is open. */
async function taken({ request, store }: Asked): Promise<OpenedBundle> {
  const path = join(store.root, `.taken-${randomBytes(6).toString("hex")}.zip`);
  try {
    await makeFolder(store.root);
    await writeNew(path, counted(request, bundleLimits.packedBytes, "bundle-unsafe"));
    const opened = await openBundle(store, path);
    return { ...opened, job: await store.opened(opened.job.id) };
  } catch (error) {
    throw error instanceof CranksideError ? error : unwritable(path, error);
  } finally {
    await rm(path, { force: true });
  }
}

/** Whole body, up to so many bytes; beyond that it is not read to its end. */
async function bytesOf(request: IncomingMessage, most: number, code: ErrorCode): Promise<Buffer> {
  const pieces: Buffer[] = [];
  for await (const piece of counted(request, most, code)) pieces.push(piece);
  return Buffer.concat(pieces);
}

export async function bodyOf<T>(request: IncomingMessage, schema: z.ZodMiniType<T>): Promise<T> {
  const text = (await bytesOf(request, longestBody, "message-invalid")).toString("utf8");
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    throw new CranksideError("message-invalid", "not a message", { expected: "JSON" }, error);
  }
  const result = schema.safeParse(value);
  if (result.success) return result.data;
  const wrong = wrongShape(result.error.issues, value, "a known message");
  throw new CranksideError("message-invalid", "not a message", { ...wrong });
}
