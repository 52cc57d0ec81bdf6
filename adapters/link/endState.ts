/**
 * What every end of a line keeps alike: bytes until somebody listens, the one report of the close, and the
 * writes that are under way. Platform code feeds it; the ByteEnd it belongs to delegates to it.
 */
import { CranksideError, messageOf } from "../../shared/errors.ts";

/** Bytes kept for a listener that is not set yet. More than a person's adapter says in a minute. */
const mostKept = 1024 * 1024;

/** Hands bytes to the platform and calls back once, with an error when it failed. */
export type Send = (done: (error?: Error | null) => void) => void;

export class EndState {
  readonly name: string;
  #kept: Uint8Array[] = [];
  #keptBytes = 0;
  #dropped = 0;
  #bytesListener: ((bytes: Uint8Array) => void) | null = null;
  #closeListener: ((why: CranksideError | null) => void) | null = null;
  #closed: { readonly why: CranksideError | null } | null = null;
  #reported = false;
  readonly #pending = new Set<(why: CranksideError) => void>();

  constructor(name: string) {
    this.name = name;
  }

  get closed(): boolean {
    return this.#closed !== null;
  }

  get pendingWrites(): number {
    return this.#pending.size;
  }

  /** Bytes that came while nobody listened and that found no room. */
  get droppedBytes(): number {
    return this.#dropped;
  }

  /** The platform received these. */
  deliver(bytes: Uint8Array): void {
    if (this.#closed !== null || bytes.length === 0) return;
    if (this.#bytesListener !== null) {
      this.#bytesListener(bytes);
      return;
    }
    if (this.#keptBytes + bytes.length > mostKept) {
      this.#dropped += bytes.length;
      return;
    }
    this.#kept.push(bytes);
    this.#keptBytes += bytes.length;
  }

  onBytes(listener: (bytes: Uint8Array) => void): void {
    this.#bytesListener = listener;
    const kept = this.#kept;
    this.#kept = [];
    this.#keptBytes = 0;
    for (const bytes of kept) listener(bytes);
  }

  /** The end is over; the first call decides why. Rejects the writes under way, reports once. */
  shut(why: CranksideError | null): void {
    if (this.#closed !== null) return;
    this.#closed = { why };
    const pending = [...this.#pending];
    this.#pending.clear();
    for (const reject of pending) reject(this.closedError());
    this.#report();
  }

  onClose(listener: (why: CranksideError | null) => void): void {
    this.#closeListener = listener;
    this.#report();
  }

  #report(): void {
    if (this.#closed === null || this.#closeListener === null || this.#reported) return;
    this.#reported = true;
    this.#closeListener(this.#closed.why);
  }

  /** Runs one write: settles when the platform calls back, or with `link-closed` as soon as the end is over. */
  write(send: Send): Promise<void> {
    if (this.#closed !== null) return Promise.reject(this.closedError());
    return new Promise((resolve, reject) => {
      this.#pending.add(reject);
      send((error) => {
        if (!this.#pending.delete(reject)) return;
        if (error === undefined || error === null) resolve();
        else reject(this.lost(error));
      });
    });
  }

  closedError(): CranksideError {
    const why = this.#closed?.why ?? null;
    return new CranksideError(
      "link-closed",
      "the line is closed",
      { found: why === null ? "closed from our side" : why.message, where: this.name },
      why ?? undefined,
    );
  }

  /** The error for a line that went away under us. */
  lost(cause: unknown, advice?: string): CranksideError {
    return new CranksideError(
      "link-failed",
      "the line was lost",
      { found: messageOf(cause), where: this.name, ...(advice === undefined ? {} : { advice }) },
      cause,
    );
  }
}
