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
import { abandon, realDisk, type Disk } from "./disk.ts";
import { fileStamp, isoWithZone, slug } from "./names.ts";
import { gatherBytes, type RecordingOptions } from "./options.ts";
import { systemCode, unreadable, unwritable } from "./problems.ts";
import { copyOut, openFree, readSome, rejoin, stillThere } from "./rescue.ts";
import { ByteTail } from "./tail.ts";
import { noteBegun, noteEnded } from "./underWay.ts";

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
  /** Bytes that may wait to be written. */
  readonly #gather: number;
  readonly #disk: Disk;
  readonly #memoryBytes: number;
  readonly #hash = createHash("sha256");
  readonly #listeners = new Set<(fromByte: number, line: Uint8Array) => void>();
  #onTrouble: () => void = () => undefined;
  readonly #tail = new ByteTail();
  #fd: number;
  #path: string;
  /** As noted in the list of files being recorded. */
  #noted = "";
  #written = 0;
  #synced = 0;
  #lost = 0;
  #failure: CranksideError | null = null;
  #syncing: Promise<void> | null = null;
  #syncAgain = false;
  #cancelTimer: (() => void) | null = null;
  #closing: Promise<void> | null = null;

  /** Made by `createRecording`. */
  constructor(fd: number, path: string, header: Header, options: RecordingOptions & { disk: Disk }) {
    this.#fd = fd;
    this.#path = path;
    this.header = header;
    this.#clock = options.clock;
    this.#diskClock = options.gatherBy ?? options.clock;
    this.#gather = options.gatherBy === undefined ? 0 : gatherBytes;
    this.#disk = options.disk;
    this.#memoryBytes = options.memoryBytes ?? memoryBytes;
    this.zeroMs = options.zeroMs ?? options.clock.now();
    this.#note();
    this.#accept(headerLine(header));
    this.#arm();
  }

  get path(): string {
    return this.#path;
  }

  /** The file's name without its folder. */
  get file(): string {
    return basename(this.#path);
  }

  /** Bytes that are in the file. */
  get bytes(): number {
    return this.#written;
  }

  /** Bytes of `bytes` that the system confirmed to be on the disk itself. */
  get syncedBytes(): number {
    return this.#synced;
  }

  /** Every event so far is in the file, none waits in memory. */
  get saved(): boolean {
    return this.#failure === null && this.#written === this.#tail.to && this.#lost === 0;
  }

  /** Why the disk does not take what is appended (`file-unwritable`), or null. Goes away when it does again. */
  get failure(): CranksideError | null {
    return this.#failure;
  }

  /** Events that neither disk nor memory had room for since the last time all was well. */
  get lostEvents(): number {
    return this.#lost;
  }

  /** What was appended and is not in the file yet, and the byte of the file that it will begin at. */
  get unwritten(): { readonly from: number; readonly text: string } {
    return this.#tailFrom(this.#written);
  }

  /** The last lines, which the disk may not hold for sure, from the byte they begin at: whole lines. */
  get remembered(): { readonly from: number; readonly text: string } {
    return this.#tailFrom(this.#tail.from);
  }

  #tailFrom(from: number): { readonly from: number; readonly text: string } {
    return { from, text: Buffer.concat([...this.#tail.since(from)]).toString("utf8") };
  }

  /** All bytes that were appended, in the file or in memory. */
  get length(): number {
    return this.#tail.to;
  }

  /**
   * Some bytes of the recording from `from` on, out of the file or, where it does not have them, out of memory;
   * empty at its end. Throws `file-unreadable` for what only a failed disk has.
   */
  readSome(from: number): Uint8Array {
    const inMemory = (): Uint8Array => Buffer.concat([...this.#tail.since(from)]);
    if (from >= this.#written) return inMemory();
    try {
      return readSome(this.#fd, from, this.#written);
    } catch (error) {
      if (from >= this.#tail.from) return inMemory();
      throw unreadable(this.#path, error);
    }
  }

  /** Sets the one who hears when the disk begins to fail, takes again, or the recording goes on in another file. */
  onTrouble(listener: () => void): void {
    this.#onTrouble = listener;
  }

  /** Tries a failing disk again at once. */
  retry(): void {
    if (this.#failure !== null) this.#recover();
  }

  /**
   * Goes on in a new file of this name in another folder, with all that was recorded so far; the old file is let
   * go as it is. Throws `file-unwritable`, also where the old file cannot be read any more; then nothing changed.
   */
  moveTo(folder: string): void {
    const wanted = join(folder, this.file);
    try {
      mkdirSync(folder, { recursive: true });
      this.#follow(copyOut(this.#disk, this.#fd, wanted, this.#written));
    } catch (error) {
      throw unwritable(wanted, error);
    }
    this.#catchUp();
    this.#sync();
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
      throw new CranksideError("out-of-order", "the recording is closed", { where: this.#path });
    }
    this.#accept(eventLine(event));
    if (event.k === "mark" || event.k === "facts") this.#sync();
    else this.#arm();
  }

  /** Resolves when no sync is under way. */
  async settled(): Promise<void> {
    while (this.#syncing !== null) await this.#syncing;
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
    this.#cancelTimer?.();
    this.#cancelTimer = null;
    if (this.#failure !== null || this.#lost > 0) this.#recover();
    this.#accept(eventLine({ k: "end", t, sha256: this.#hash.copy().digest("hex") }));
    if (this.#failure === null) this.#flush();
    await this.settled();
    if (this.#failure !== null || !this.#isThere()) this.#recover();
    this.#sync();
    await this.settled();
    noteEnded(this.#noted);
    abandon(this.#fd);
    if (this.#failure !== null) throw this.#failure;
  }

  #accept(text: string): void {
    const bytes = Buffer.from(text, "utf8");
    if (this.#tail.to - this.#written + bytes.length > this.#memoryBytes) {
      this.#lost += 1;
      return;
    }
    const from = this.#tail.to;
    this.#hash.update(bytes);
    this.#tail.push(bytes);
    if (this.#failure === null && this.#tail.to - this.#written > this.#gather) this.#flush();
    // Written but unsynced bytes are kept only to mend a disk that comes back: they may not fill the memory.
    if (this.#tail.to - this.#tail.from > 2 * this.#memoryBytes) this.#tail.dropBefore(this.#written);
    for (const listener of this.#listeners) listener(from, bytes);
  }

  #fail(error: unknown): void {
    const advice =
      "What was recorded before is unharmed; new events are kept in memory and written when it works again.";
    const before = this.#failure?.message;
    this.#failure = unwritable(this.#path, error, advice);
    this.#arm();
    if (this.#failure.message !== before) this.#onTrouble();
  }

  #note(): void {
    noteEnded(this.#noted);
    this.#noted = noteBegun(this.#path);
  }

  #flush(): boolean {
    try {
      const pieces = this.#tail.since(this.#written);
      for (const piece of this.#gather === 0 ? pieces : [Buffer.concat([...pieces])]) this.#write(piece);
      return true;
    } catch (error) {
      this.#fail(error);
      return false;
    }
  }

  /** Counts what went even when the rest of the piece did not, so that nothing is ever written twice. */
  #write(piece: Uint8Array): void {
    for (let at = 0; at < piece.length;) {
      const went = this.#disk.write(this.#fd, piece, at);
      if (went <= 0) throw new Error("the disk takes no more bytes");
      at += went;
      this.#written += went;
    }
  }

  #arm(): void {
    if (this.#cancelTimer !== null || this.#closing !== null) return;
    this.#cancelTimer = this.#diskClock.after(syncEveryMs, () => {
      this.#cancelTimer = null;
      if (this.#failure !== null || !this.#isThere()) this.#recover();
      this.#sync();
    });
  }

  #isThere(): boolean {
    try {
      return stillThere(this.#fd, this.#path);
    } catch (error) {
      this.#fail(error);
      return false;
    }
  }

  /** Tries to get all that waits into the file, over a new descriptor where the old one leads nowhere. */
  #recover(): void {
    try {
      this.#reopen();
    } catch (error) {
      this.#fail(error);
      return;
    }
    this.#catchUp();
  }

  /** Over a descriptor that leads somewhere again. */
  #catchUp(): void {
    if (!this.#flush()) return;
    this.#failure = null;
    this.#onTrouble();
    if (this.#lost === 0) return;
    const text = `${this.#lost} events were lost here: the disk took none and the memory was full`;
    this.#lost = 0;
    this.#accept(eventLine({ k: "notice", t: this.#clock.now() - this.zeroMs, text }));
  }

  #reopen(): void {
    const gone = systemCode(this.#failure?.cause);
    if (["EIO", "ENODEV", "ENXIO", "EBADF", "ESTALE"].includes(gone)) {
      const again = rejoin(this.#disk, this.#path, this.#tail, this.#written);
      abandon(this.#fd);
      this.#fd = again.fd;
      this.#written = again.written;
      this.#synced = Math.min(this.#synced, again.written);
      return;
    }
    if (stillThere(this.#fd, this.#path)) return;
    this.#follow(copyOut(this.#disk, this.#fd, this.#path, this.#written));
  }

  /** A copy takes the place of the file. */
  #follow(copy: { readonly fd: number; readonly path: string }): void {
    abandon(this.#fd);
    this.#fd = copy.fd;
    this.#path = copy.path;
    this.#synced = 0;
    this.#disk.syncFolder?.(dirname(copy.path));
    this.#note();
  }

  /** Starts a sync, or has one follow the one under way. */
  #sync(): void {
    if (this.#syncing !== null) {
      this.#syncAgain = true;
      return;
    }
    if (this.#failure === null) this.#flush();
    const upTo = this.#written;
    const fd = this.#fd;
    this.#syncing = this.#disk
      .sync(fd)
      .then(
        () => {
          if (fd !== this.#fd) return;
          this.#synced = upTo;
          this.#tail.dropBefore(upTo);
        },
        (error: unknown) => {
          if (fd === this.#fd) this.#fail(error);
        },
      )
      .then(() => {
        this.#syncing = null;
        if (this.#syncAgain) {
          this.#syncAgain = false;
          this.#sync();
        } else if (this.#failure !== null || this.#synced < this.#tail.to) {
          this.#arm();
        }
      });
  }
}
