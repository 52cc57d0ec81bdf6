/** Writes a recording while it happens: appended line by line, synced, closed with a hash. */
import { createHash } from "node:crypto";
import { mkdirSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import type { Clock } from "../../shared/clock.ts";
import { CranksideError } from "../../shared/errors.ts";
import {
  eventLine,
  formatName,
  formatVersion,
  headerLine,
  type Header,
  type RecordingEvent,
} from "../../shared/recording/format.ts";
import type { EventSink } from "../../shared/recording/sink.ts";
import { realDisk, type Disk } from "./disk.ts";
import { GrowingFile } from "./growingFile.ts";
import { fileStamp, isoWithZone, slug } from "./names.ts";
import { gatherBytes, type RecordingOptions } from "./options.ts";
import { systemCode, unwritable } from "./problems.ts";
import { openFree } from "./rescue.ts";

export { isBeingRecorded } from "./underWay.ts";
export type { RecordingHeader, RecordingOptions, RecordingPlace } from "./options.ts";

/** An appended line waits this long for a sync; with the sync itself it is on the disk within a second. */
const syncEveryMs = 500;

/** Default room in memory for lines that the disk does not take: about an hour at 50 exchanges a second. */
const memoryBytes = 32 * 1024 * 1024;

/**
 * Makes a new file, never over an existing one, and writes the header line. Throws `file-exists` or
 * `file-unwritable` when it cannot be made; afterwards a failing disk shows in `failure` only.
 */
export function createRecording(options: RecordingOptions): RecordingWriter {
  const disk = options.disk ?? realDisk;
  const startedMs = options.startedMs ?? options.clock.wall();
  const wanted =
    "file" in options
      ? options.file
      : join(options.folder, `${fileStamp(startedMs)}-${slug(options.name ?? "")}.ndjson`);
  const header: Header = {
    format: formatName,
    version: formatVersion,
    started: isoWithZone(startedMs),
    ...options.header,
  };
  try {
    mkdirSync(dirname(wanted), { recursive: true });
    const made = "file" in options ? { fd: disk.open(wanted, "ax+"), path: wanted } : openFree(disk, wanted);
    disk.syncFolder?.(dirname(made.path));
    return new RecordingWriter(made.fd, made.path, header, { ...options, disk });
  } catch (error) {
    if (systemCode(error) === "EEXIST") {
      throw new CranksideError(
        "file-exists",
        "the file is already there and is not written over",
        { where: wanted },
        error,
      );
    }
    throw unwritable(wanted, error);
  }
}

export class RecordingWriter implements EventSink {
  readonly zeroMs: number;
  readonly header: Header;
  readonly #clock: Clock;
  readonly #diskClock: Clock;
  readonly #hash = createHash("sha256");
  readonly #listeners = new Set<(fromByte: number, line: Uint8Array) => void>();
  readonly #file: GrowingFile;
  #onTrouble: () => void = () => undefined;
  #lost = 0;
  #cancelTimer: (() => void) | null = null;
  #closing: Promise<void> | null = null;

  /** Made by `createRecording`. */
  constructor(fd: number, path: string, header: Header, options: RecordingOptions & { disk: Disk }) {
    this.header = header;
    this.#clock = options.clock;
    this.#diskClock = options.gatherBy ?? options.clock;
    this.#file = new GrowingFile(fd, path, {
      disk: options.disk,
      gather: options.gatherBy === undefined ? 0 : gatherBytes,
      memoryBytes: options.memoryBytes ?? memoryBytes,
      onTrouble: () => this.#onTrouble(),
      onUnsettled: () => this.#arm(),
    });
    this.zeroMs = options.zeroMs ?? options.clock.now();
    this.#accept(headerLine(header));
    this.#arm();
  }

  get path(): string {
    return this.#file.path;
  }

  /** The file's name without its folder. */
  get file(): string {
    return basename(this.#file.path);
  }

  /** Bytes that are in the file. */
  get bytes(): number {
    return this.#file.written;
  }

  /** Bytes of `bytes` that the system confirmed to be on the disk itself. */
  get syncedBytes(): number {
    return this.#file.synced;
  }

  /** Every event so far is in the file, none waits in memory. */
  get saved(): boolean {
    const { failure, written, length } = this.#file;
    return failure === null && written === length && this.#lost === 0;
  }

  /** Why the disk does not take what is appended (`file-unwritable`), or null. Goes away when it does again. */
  get failure(): CranksideError | null {
    return this.#file.failure;
  }

  /** Events that neither disk nor memory had room for since the last time all was well. */
  get lostEvents(): number {
    return this.#lost;
  }

  /** What was appended and is not in the file yet, and the byte of the file that it will begin at. */
  get unwritten(): { readonly from: number; readonly text: string } {
    return this.#tailFrom(this.#file.written);
  }

  /** The last lines, which the disk may not hold for sure, from the byte they begin at: whole lines. */
  get remembered(): { readonly from: number; readonly text: string } {
    return this.#tailFrom(this.#file.rememberedFrom);
  }

  #tailFrom(from: number): { readonly from: number; readonly text: string } {
    return { from, text: this.#file.since(from).toString("utf8") };
  }

  /** All bytes that were appended, in the file or in memory. */
  get length(): number {
    return this.#file.length;
  }

  /**
   * Some bytes of the recording from `from` on, out of the file or, where it does not have them, out of memory;
   * empty at its end. Throws `file-unreadable` for what only a failed disk has.
   */
  readSome(from: number): Uint8Array {
    return this.#file.readSome(from);
  }

  /** Sets the one who hears when the disk begins to fail, takes again, or the recording goes on in another file. */
  onTrouble(listener: () => void): void {
    this.#onTrouble = listener;
  }

  /** Tries a failing disk again at once. */
  retry(): void {
    if (this.#file.failure !== null) this.#recover();
  }

  /**
   * Goes on in a new file of this name in another folder, with all that was recorded so far; the old file is let
   * go as it is. Throws `file-unwritable`, also where the old file cannot be read any more; then nothing changed.
   */
  moveTo(folder: string): void {
    if (this.#file.moveTo(folder)) this.#tellLost();
    this.#file.sync();
  }

  /**
   * Calls for each line as it is appended, with its bytes and the one of the file that it begins at; also while the disk
   * fails. Returns what ends it.
   */
  onAppended(listener: (fromByte: number, line: Uint8Array) => void): () => void {
    this.#listeners.add(listener);
    return () => {
      this.#listeners.delete(listener);
    };
  }

  /** Throws only `out-of-order`, after `close`. */
  append(event: RecordingEvent): void {
    if (this.#closing !== null) {
      throw new CranksideError("out-of-order", "the recording is closed", { where: this.path });
    }
    this.#accept(eventLine(event));
    if (event.k === "mark" || event.k === "facts") this.#file.sync();
    else this.#arm();
  }

  /** Resolves when no sync is under way. */
  settled(): Promise<void> {
    return this.#file.settled();
  }

  /**
   * Writes the end line, syncs and lets go of the file. Rejects with `file-unwritable` when events are still
   * only in memory; the file is then cut short, and what is in it unharmed. `t`, milliseconds since the start,
   * is for what was not recorded as it happened.
   */
  close(t = this.#clock.now() - this.zeroMs): Promise<void> {
    this.#closing ??= this.#finish(t);
    return this.#closing;
  }

  async #finish(t: number): Promise<void> {
    const file = this.#file;
    this.#cancelTimer?.();
    this.#cancelTimer = null;
    if (file.failure !== null || this.#lost > 0) this.#recover();
    this.#accept(eventLine({ k: "end", t, sha256: this.#hash.copy().digest("hex") }));
    if (file.failure === null) file.flush();
    await file.settled();
    if (file.isLame()) this.#recover();
    file.sync();
    await file.settled();
    file.release();
    if (file.failure !== null) throw file.failure;
  }

  #accept(text: string): void {
    const bytes = Buffer.from(text, "utf8");
    const from = this.#file.length;
    if (!this.#file.take(bytes)) {
      this.#lost += 1;
      return;
    }
    this.#hash.update(bytes);
    for (const listener of this.#listeners) listener(from, bytes);
  }

  #arm(): void {
    if (this.#cancelTimer !== null || this.#closing !== null) return;
    this.#cancelTimer = this.#diskClock.after(syncEveryMs, () => {
      this.#cancelTimer = null;
      if (this.#file.isLame()) this.#recover();
      this.#file.sync();
    });
  }

  #recover(): void {
    if (this.#file.recover()) this.#tellLost();
  }

  #tellLost(): void {
    if (this.#lost === 0) return;
    const text = `${this.#lost} events were lost here: the disk took none and the memory was full`;
    this.#lost = 0;
    this.#accept(eventLine({ k: "notice", t: this.#clock.now() - this.zeroMs, text }));
  }
}
