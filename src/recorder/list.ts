import { closeSync, lstatSync, openSync, readdirSync, readSync } from "node:fs";
import { join } from "node:path";
import { constants as zlibConstants, gunzipSync } from "node:zlib";
import { CranksideError, messageOf } from "../../shared/errors.ts";
import type { RecordingEntry } from "../../shared/messages.ts";
import type { Header } from "../../shared/recording/format.ts";
import { parseHeader } from "../../shared/recording/parse.ts";
import { systemCode, unreadable } from "./problems.ts";

export interface RecordingFolders {
  /** The person's own folder; need not exist yet. */
  readonly own: string;
  /** The samples that ship with the program, or null. */
  readonly bundled: string | null;
}

/** Longest header line that is believed. */
const headerBytes = 64 * 1024;

/** Most that so much of a compressed recording inflates to. */
const inflatedBytes = 16 * 1024 * 1024;

/**
 * The recordings of both folders, newest first, by nothing but header line and size. A file that cannot be read
 * is listed with its problem. Throws `file-unreadable` when a folder itself cannot be read.
 */
export function listRecordings(folders: RecordingFolders): RecordingEntry[] {
  const found = [
    ...entriesOf(folders.own, false),
    ...(folders.bundled === null ? [] : entriesOf(folders.bundled, true)),
  ];
  return found
    .sort((a, b) => b.order - a.order || (a.entry.file < b.entry.file ? 1 : -1))
    .map((f) => f.entry);
}

interface Found {
  readonly entry: RecordingEntry;
  /** Start, or last change where the start cannot be read; milliseconds since 1970. */
  readonly order: number;
}

function entriesOf(folder: string, bundled: boolean): Found[] {
  let files: string[];
  try {
    files = readdirSync(folder).filter((file) => /\.ndjson(\.gz)?$/.test(file) && !file.startsWith("."));
  } catch (error) {
    if (systemCode(error) === "ENOENT") return [];
    throw unreadable(folder, error);
  }
  return files.map((file) => found(folder, file, bundled));
}

function found(folder: string, file: string, bundled: boolean): Found {
  const path = join(folder, file);
  let bytes = 0;
  let changed = 0;
  try {
    const stat = lstatSync(path);
    if (!stat.isFile()) throw notAFile(path);
    bytes = stat.size;
    changed = stat.mtimeMs;
    const header = readHeader(path);
    return { entry: entryOf(header, file, bundled, bytes), order: Date.parse(header.started) };
  } catch (error) {
    const problem = error instanceof CranksideError ? error : unreadable(path, error);
    const entry = {
      file,
      bundled,
      bytes,
      started: null,
      from: "",
      vehicle: "",
      invented: bundled,
      problem: messageOf(problem),
    };
    return { entry, order: changed };
  }
}

/** A link may lead out of the folder, and reading from a pipe would wait for ever. */
function notAFile(path: string): CranksideError {
  return new CranksideError("file-unreadable", "the file cannot be read", {
    expected: "a plain file",
    found: "a link, a pipe or the like",
    where: path,
  });
}

function entryOf(header: Header, file: string, bundled: boolean, bytes: number): RecordingEntry {
  const { started, from, vehicle, invented } = header;
  return {
    file,
    bundled,
    bytes,
    started,
    from,
    vehicle: vehicle.name ?? vehicle.vin ?? "",
    invented,
    problem: null,
  };
}

function readHeader(path: string): Header {
  const start = firstBytes(path);
  const gzip = start[0] === 0x1f && start[1] === 0x8b;
  const text = (gzip ? inflateStart(start) : start).toString("utf8");
  const feed = text.indexOf("\n");
  return parseHeader(feed < 0 ? text : text.slice(0, feed), path);
}

function firstBytes(path: string): Buffer {
  const fd = openSync(path, "r");
  try {
    const buffer = Buffer.alloc(headerBytes);
    return buffer.subarray(0, readSync(fd, buffer, 0, headerBytes, 0));
  } finally {
    closeSync(fd);
  }
}

/** The file's beginning is a cut gzip on purpose, so it is inflated as far as it goes. */
function inflateStart(start: Buffer): Buffer {
  return gunzipSync(start, { finishFlush: zlibConstants.Z_SYNC_FLUSH, maxOutputLength: inflatedBytes });
}
