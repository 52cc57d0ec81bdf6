/** The file of a recording that grows, on a disk that may fail: what waits goes into it as soon as the disk takes it again. */
import { mkdirSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import type { CranksideError } from "../../shared/errors.ts";
import { abandon, type Disk } from "./disk.ts";
import { systemCode, unreadable, unwritable } from "./problems.ts";
import { copyOut, readSome, rejoin, stillThere } from "./rescue.ts";
import { ByteTail } from "./tail.ts";
import { noteBegun, noteEnded } from "./underWay.ts";

export interface GrowingFileOptions {
  readonly disk: Disk;
  /** Bytes that may wait to be written although the disk takes them. */
  readonly gather: number;
  /** Room in memory for bytes that the disk does not take. */
  readonly memoryBytes: number;
  /** It begins to fail, takes bytes again, or the recording goes on in another file. */
  readonly onTrouble: () => void;
  /** It is to be looked at again in a while. */
  readonly onUnsettled: () => void;
}

export class GrowingFile {
  readonly #options: GrowingFileOptions;
  readonly #tail = new ByteTail();
  #fd: number;
  #path: string;
  /** As noted in the list of files being recorded. */
  #noted = "";
  #written = 0;
  #synced = 0;
  #failure: CranksideError | null = null;
  #syncing: Promise<void> | null = null;
  #syncAgain = false;

  constructor(fd: number, path: string, options: GrowingFileOptions) {
    this.#fd = fd;
    this.#path = path;
    this.#options = options;
    this.#note();
  }

  get path(): string {
    return this.#path;
  }

  /** Bytes that are in the file. */
  get written(): number {
    return this.#written;
  }

  /** Bytes of them that the system confirmed to be on the disk itself. */
  get synced(): number {
    return this.#synced;
  }

  /** All bytes that were taken, in the file or in memory. */
  get length(): number {
    return this.#tail.to;
  }

  /** The first byte that is remembered: those before it are on the disk. */
  get rememberedFrom(): number {
    return this.#tail.from;
  }

  get failure(): CranksideError | null {
    return this.#failure;
  }

  /** What is remembered from this byte on. */
  since(from: number): Buffer {
    return Buffer.concat([...this.#tail.since(from)]);
  }

  /** Some bytes from `from` on, out of the file or, where it does not have them, out of memory. Throws `file-unreadable`. */
  readSome(from: number): Uint8Array {
    if (from >= this.#written) return this.since(from);
    try {
      return readSome(this.#fd, from, this.#written);
    } catch (error) {
      if (from >= this.#tail.from) return this.since(from);
      throw unreadable(this.#path, error);
    }
  }

  /** Takes bytes, whatever the disk does; false where even the memory is full. */
  take(bytes: Uint8Array): boolean {
    const { memoryBytes, gather } = this.#options;
    const tail = this.#tail;
    if (tail.to - this.#written + bytes.length > memoryBytes) return false;
    tail.push(bytes);
    if (this.#failure === null && tail.to - this.#written > gather) this.flush();
    // Written but unsynced bytes are kept only to mend a disk that comes back: they may not fill the memory.
    if (tail.to - tail.from > 2 * memoryBytes) tail.dropBefore(this.#written);
    return true;
  }

  /** Writes what waits. */
  flush(): boolean {
    try {
      const pieces = this.#tail.since(this.#written);
      for (const piece of this.#options.gather === 0 ? pieces : [Buffer.concat([...pieces])])
        this.#write(piece);
      return true;
    } catch (error) {
      this.#fail(error);
      return false;
    }
  }

  /** Fails, or is no longer where it was. */
  isLame(): boolean {
    if (this.#failure !== null) return true;
    try {
      return !stillThere(this.#fd, this.#path);
    } catch (error) {
      this.#fail(error);
      return true;
    }
  }

  /** Tries to get all that waits into it, over a new descriptor where the old one leads nowhere; true when it is. */
  recover(): boolean {
    try {
      this.#reopen();
    } catch (error) {
      this.#fail(error);
      return false;
    }
    return this.#catchUp();
  }

  /** Goes on as a copy in another folder; true when all that waited is in it. Throws `file-unwritable`: nothing changed. */
  moveTo(folder: string): boolean {
    const wanted = join(folder, basename(this.#path));
    try {
      mkdirSync(folder, { recursive: true });
      this.#follow(copyOut(this.#options.disk, this.#fd, wanted, this.#written));
    } catch (error) {
      throw unwritable(wanted, error);
    }
    return this.#catchUp();
  }

  /** Starts a sync, or has one follow the one under way. */
  sync(): void {
    if (this.#syncing !== null) {
      this.#syncAgain = true;
      return;
    }
    if (this.#failure === null) this.flush();
    const upTo = this.#written;
    const fd = this.#fd;
    this.#syncing = this.#options.disk
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
          this.sync();
        } else if (this.#failure !== null || this.#synced < this.#tail.to) {
          this.#options.onUnsettled();
        }
      });
  }

  /** Resolves when no sync is under way. */
  async settled(): Promise<void> {
    while (this.#syncing !== null) await this.#syncing;
  }

  /** Lets go of it. */
  release(): void {
    noteEnded(this.#noted);
    abandon(this.#fd);
  }

  #fail(error: unknown): void {
    const advice =
      "What was recorded before is unharmed; new events are kept in memory and written when it works again.";
    const before = this.#failure?.message;
    this.#failure = unwritable(this.#path, error, advice);
    this.#options.onUnsettled();
    if (this.#failure.message !== before) this.#options.onTrouble();
  }

  #note(): void {
    noteEnded(this.#noted);
    this.#noted = noteBegun(this.#path);
  }

  /** Counts what went even when the rest of the piece did not, so that nothing is ever written twice. */
  #write(piece: Uint8Array): void {
    for (let at = 0; at < piece.length;) {
      const went = this.#options.disk.write(this.#fd, piece, at);
      if (went <= 0) throw new Error("the disk takes no more bytes");
      at += went;
      this.#written += went;
    }
  }

  /** Over a descriptor that leads somewhere again. */
  #catchUp(): boolean {
    if (!this.flush()) return false;
    this.#failure = null;
    this.#options.onTrouble();
    return true;
  }

  #reopen(): void {
    const { disk } = this.#options;
    const gone = systemCode(this.#failure?.cause);
    if (["EIO", "ENODEV", "ENXIO", "EBADF", "ESTALE"].includes(gone)) {
      const again = rejoin(disk, this.#path, this.#tail, this.#written);
      abandon(this.#fd);
      this.#fd = again.fd;
      this.#written = again.written;
      this.#synced = Math.min(this.#synced, again.written);
      return;
    }
    if (stillThere(this.#fd, this.#path)) return;
    this.#follow(copyOut(disk, this.#fd, this.#path, this.#written));
  }

  /** A copy takes the place of the file. */
  #follow(copy: { readonly fd: number; readonly path: string }): void {
    abandon(this.#fd);
    this.#fd = copy.fd;
    this.#path = copy.path;
    this.#synced = 0;
    this.#options.disk.syncFolder?.(dirname(copy.path));
    this.#note();
  }
}
