import { createHash } from "node:crypto";
import { closeSync, mkdtempSync, openSync, readFileSync, rmSync, writeFileSync, writeSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll } from "vitest";
import type { Disk } from "../../src/recorder/disk.ts";
import { realDisk } from "../../src/recorder/disk.ts";
import { readRecording } from "../../src/recorder/read.ts";
import type { RecordingHeader } from "../../src/recorder/writer.ts";
import type { Header, MarkEvent, RecordingEvent, UnknownEvent } from "../../shared/recording/format.ts";
import type { Notice } from "../../shared/recording/reader.ts";

const folders: string[] = [];

afterAll(() => {
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true });
});

export function tempFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), "crankside-recorder-"));
  folders.push(folder);
  return folder;
}

export const header: RecordingHeader = {
  from: "tcp:127.0.0.1:35000",
  adapter: null,
  protocol: null,
  vehicle: { name: "Test cart" },
  invented: true,
  writer: "crankside test",
};

export const headerText =
  '{"format":"crankside-recording","version":1,"started":"2024-03-02T09:00:00.000+01:00","from":"tcp:127.0.0.1:35000",' +
  '"adapter":null,"protocol":null,"vehicle":{},"invented":true,"writer":"by hand"}\n';

export function mark(t: number, label = "fuel added"): MarkEvent {
  return { k: "mark", t, id: `m${t}`, at: t, label };
}

export function exchange(t: number, line = "410C1AF8"): RecordingEvent {
  return { k: "x", t, ask: "010C1", lines: [line], first: 20, end: 22 };
}

/** A file written by hand: the body and an end line over it. */
export function closed(body: string): string {
  const sha256 = createHash("sha256").update(body, "utf8").digest("hex");
  return `${body}{"t":900,"k":"end","sha256":"${sha256}"}\n`;
}

export function file(content: string | Uint8Array, name = "by-hand.ndjson"): string {
  const path = join(tempFolder(), name);
  writeFileSync(path, content);
  return path;
}

export interface ReadBack {
  readonly header: Header;
  readonly events: RecordingEvent[];
  readonly unknown: UnknownEvent[];
  readonly notices: Notice[];
}

export async function readBack(path: string): Promise<ReadBack> {
  const events: RecordingEvent[] = [];
  const unknown: UnknownEvent[] = [];
  const notices: Notice[] = [];
  const { header: read } = await readRecording(path, {
    header: () => undefined,
    event: (event) => events.push(event),
    unknown: (event) => unknown.push(event),
    notice: (notice) => notices.push(notice),
  });
  return { header: read, events, unknown, notices };
}

export function textOf(path: string): string {
  return readFileSync(path, "utf8");
}

export function systemError(code: string): Error {
  return Object.assign(new Error(`${code}: injected`), { code });
}

/** The real disk with faults that a test switches on and off. */
export class FaultyDisk implements Disk {
  /** Code that writes fail with, or null. */
  writeFault: string | null = null;
  syncFault: string | null = null;
  openFault: string | null = null;
  /** Bytes that still fit before `ENOSPC`. */
  room = Number.POSITIVE_INFINITY;
  /** Most bytes of one write. */
  most = Number.POSITIVE_INFINITY;
  syncs = 0;
  opened: number[] = [];
  /** Descriptors that fail for good, as after a disk was pulled out. */
  readonly dead = new Set<number>();

  open(path: string, flags: string | number): number {
    if (this.openFault !== null) throw systemError(this.openFault);
    const fd = openSync(path, flags);
    this.opened.push(fd);
    this.dead.delete(fd);
    return fd;
  }

  write(fd: number, bytes: Uint8Array, at: number): number {
    if (this.writeFault !== null) throw systemError(this.writeFault);
    if (this.dead.has(fd)) throw systemError("EIO");
    if (this.room <= 0) throw systemError("ENOSPC");
    const length = Math.min(bytes.length - at, this.most, this.room);
    const went = writeSync(fd, bytes, at, length);
    this.room -= went;
    return went;
  }

  async sync(fd: number): Promise<void> {
    this.syncs += 1;
    if (this.syncFault !== null) throw systemError(this.syncFault);
    if (this.dead.has(fd)) throw systemError("EIO");
    await realDisk.sync(fd);
  }

  close(fd: number): void {
    closeSync(fd);
  }
}
