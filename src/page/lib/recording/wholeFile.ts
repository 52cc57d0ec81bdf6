/** A thread that reads a whole recording, and what it says. */
import type { Failure } from "../../../../shared/messages.ts";
import type { PackedReading } from "../../../reading/index.ts";
import type { RegimeSpan } from "../chart/index.ts";

export interface WantedFile {
  /** As it is named in error messages. */
  readonly file: string;
  /** Where its bytes are: a whole address, as a thread's own is another one than the page's. */
  readonly url: string;
}

export type ToReader =
  { readonly kind: "practise"; readonly url: string } | ({ readonly kind: "read" } & WantedFile);

/** What was read so far, to look at; nothing goes on from it. */
interface PartRead {
  readonly kind: "part";
  readonly bytes: number;
  readonly reading: PackedReading;
}

/** All of it, or all up to a failure. */
export interface WholeRead {
  readonly kind: "all";
  readonly bytes: number;
  readonly reading: PackedReading;
  readonly spans: readonly RegimeSpan[];
  readonly failure: Failure | null;
}

export type FromReader = PartRead | WholeRead;

/** One thread waits for the next file: a person who looks at a list will soon open one. */
let waiting: Worker | null = null;

function made(): Worker {
  const worker = new Worker(new URL("./wholeFile.worker.ts", import.meta.url), { type: "module" });
  worker.addEventListener("error", () => {
    if (waiting === worker) waiting = null;
  });
  return worker;
}

function say(worker: Worker, word: ToReader): void {
  worker.postMessage(word);
}

/** A file will probably be opened soon; the thread for it practises on the sample at this address. */
export function expectFile(sample: string): void {
  if (waiting !== null || !("Worker" in globalThis)) return;
  waiting = made();
  say(waiting, { kind: "practise", url: sample });
}

/**
 * Reads the file; `part` hears of what is there meanwhile. Rejects where there are no threads, or when this one came to
 * grief, and when the signal is given.
 */
export function wholeFile(
  wanted: WantedFile,
  { part, signal }: { readonly part: (read: PartRead) => void; readonly signal: AbortSignal },
): Promise<WholeRead> {
  return new Promise((resolve, reject) => {
    const worker = waiting ?? made();
    waiting = null;
    const leave = (): void => {
      worker.terminate();
      signal.removeEventListener("abort", aborted);
    };
    const aborted = (): void => {
      leave();
      reject(new Error("not wanted any more"));
    };
    signal.addEventListener("abort", aborted);
    worker.addEventListener("message", ({ data }: MessageEvent<FromReader>) => {
      if (data.kind === "part") {
        part(data);
        return;
      }
      leave();
      resolve(data);
    });
    worker.addEventListener("error", ({ message }) => {
      leave();
      reject(new Error(message));
    });
    say(worker, { kind: "read", ...wanted });
  });
}
