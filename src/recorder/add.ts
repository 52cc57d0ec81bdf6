/** Adds marks and facts to a recording that is no longer being written. Not a byte of what is there changes. */
import { ftruncateSync, fstatSync, realpathSync, statSync } from "node:fs";
import { sep } from "node:path";
import { CranksideError } from "../../shared/errors.ts";
import {
  eventLine,
  type FactsEvent,
  type MarkEvent,
  type NoticeEvent,
} from "../../shared/recording/format.ts";
import { realDisk, type Disk } from "./disk.ts";
import { unreadable, unwritable } from "./problems.ts";
import { writeAll } from "./rescue.ts";
import { scanRecording, type Scan } from "./verify.ts";
import { isBeingRecorded } from "./writer.ts";

export type AddedEvent = MarkEvent | FactsEvent | NoticeEvent;

export interface AddOptions {
  /** A folder whose recordings take no additions: the samples that ship with the program. */
  readonly bundledFolder?: string | null;
  /** Wall time now, milliseconds since 1970, to tell a recording that another program is still writing. */
  readonly wallMs?: number;
  readonly disk?: Disk;
}

/** A recording without end line that changed so lately is taken to be still growing: the writer syncs each second. */
const stillGrowingMs = 10_000;

const addedKinds: ReadonlySet<string> = new Set(["mark", "facts", "notice"]);
const underWay = new Map<string, Promise<void>>();

/**
 * Appends the events and an end line after what is there. `events` may be made from the recording's start (wall
 * time, milliseconds since 1970). One that was cut short is carried on: a notice says so, its torn line stays.
 *
 * Rejects with `out-of-order` while it is still being recorded, `file-unwritable` for a compressed, bundled or
 * altered one or a failing disk, `wrong-use` for other kinds of events, and as `readRecording` does. After a
 * rejection the file is as it was.
 */
export function addToRecording(
  path: string,
  events: readonly AddedEvent[] | ((startedMs: number) => readonly AddedEvent[]),
  options: AddOptions = {},
): Promise<void> {
  const real = resolveReal(path);
  if (real instanceof CranksideError) return Promise.reject(real);
  // One addition at a time to each file: the second one must see the end of the first.
  const before = underWay.get(real) ?? Promise.resolve();
  const mine = before.then(
    () => add(real, events, options),
    () => add(real, events, options),
  );
  underWay.set(real, mine);
  const forget = (): void => {
    if (underWay.get(real) === mine) underWay.delete(real);
  };
  mine.then(forget, forget);
  return mine;
}

function resolveReal(path: string): string | CranksideError {
  try {
    return realpathSync(path);
  } catch (error) {
    return unreadable(path, error);
  }
}

async function add(
  path: string,
  events: readonly AddedEvent[] | ((startedMs: number) => readonly AddedEvent[]),
  options: AddOptions,
): Promise<void> {
  const refuse = (found: string, advice: string): CranksideError =>
    new CranksideError("file-unwritable", "the recording takes no additions", { found, where: path, advice });
  if (isInside(path, options.bundledFolder)) {
    throw refuse("a sample that ships with the program", "Copy it to your own folder first.");
  }
  if (isBeingRecorded(path)) throw stillGrowing(path);
  const scan = await scanRecording(path);
  const { state, gzip, header } = scan.verification;
  if (gzip) throw refuse("a compressed file", "Unpack it first.");
  if (state === "altered") throw refuse("an altered file", `See: crankside verify ${path}`);
  if (state === "cut-short" && options.wallMs !== undefined) {
    if (Math.abs(options.wallMs - statSync(path).mtimeMs) < stillGrowingMs) throw stillGrowing(path);
  }
  const added = typeof events === "function" ? events(Date.parse(header.started)) : events;
  for (const event of added) {
    if (!addedKinds.has(event.k)) {
      throw new CranksideError("wrong-use", "only marks and facts can be added to a recording", {
        found: event.k,
        where: path,
      });
    }
  }
  if (added.length === 0 && state === "whole") return;
  await append(path, scan, addition(scan, added), options.disk ?? realDisk);
}

function stillGrowing(path: string): CranksideError {
  return new CranksideError("out-of-order", "the recording is still being written", {
    where: path,
    advice: "Add to it where it is recorded, or when it has ended.",
  });
}

function isInside(path: string, folder: string | null | undefined): boolean {
  if (folder === null || folder === undefined) return false;
  const real = resolveReal(folder);
  return typeof real === "string" && path.startsWith(real + sep);
}

/** The bytes to append: closes a torn line, tells the cut, then the events and the end line over all of it. */
function addition(scan: Scan, events: readonly AddedEvent[]): Buffer {
  const { state, lastTime } = scan.verification;
  const lines: string[] = [];
  if (scan.openBytes > 0) lines.push("\n");
  if (state === "cut-short") {
    const torn = scan.openWhole ? 0 : scan.openBytes;
    lines.push(eventLine({ k: "notice", t: lastTime, text: "the recording was cut short here", torn }));
  }
  for (const event of events) lines.push(eventLine(event));
  const t = Math.max(lastTime, ...events.map((e) => e.t));
  const body = Buffer.from(lines.join(""), "utf8");
  const sha256 = scan.hash.copy().update(body).digest("hex");
  return Buffer.concat([body, Buffer.from(eventLine({ k: "end", t, sha256 }), "utf8")]);
}

async function append(path: string, scan: Scan, bytes: Buffer, disk: Disk): Promise<void> {
  let fd: number;
  try {
    fd = disk.open(path, "a");
  } catch (error) {
    throw unwritable(path, error);
  }
  try {
    if (fstatSync(fd).size !== scan.verification.bytes) throw stillGrowing(path);
    try {
      writeAll(disk, fd, bytes);
      await disk.sync(fd);
    } catch (error) {
      // A half-written addition is taken back: what was there before stays as it was.
      ftruncateSync(fd, scan.verification.bytes);
      throw unwritable(path, error);
    }
  } finally {
    disk.close(fd);
  }
}
