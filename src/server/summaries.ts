/** What each recording is about, worked out when a list asks for it, one at a time, and remembered while it is as it was. */
import { statSync } from "node:fs";
import { openRecording } from "../recorder/open.ts";
import { summaryOf, type RecordingSummary } from "../sheet/summary.ts";

/** Longer ones would hold up what else is served: their line stays without what happened. */
const mostBytes = 16_000_000;
/** Compressed ones inflate to some fifteen times their size. */
const inflates = 15;

export class Summaries {
  readonly #known = new Map<string, RecordingSummary>();
  #last: Promise<unknown> = Promise.resolve();

  /** What is known of it as it is now, or null. Throws where it cannot be looked at. */
  known(path: string): RecordingSummary | null {
    return this.#known.get(stateOf(path).key) ?? null;
  }

  /** Null for one that is too long. Rejects as `readRecording` does. */
  async of(path: string): Promise<RecordingSummary | null> {
    const before = this.#last;
    const turn = (async () => {
      await before;
      return this.#made(path);
    })();
    this.#last = turn.catch(() => undefined);
    return turn;
  }

  async #made(path: string): Promise<RecordingSummary | null> {
    const { key, bytes } = stateOf(path);
    const known = this.#known.get(key);
    if (known !== undefined) return known;
    if (bytes * (path.endsWith(".gz") ? inflates : 1) > mostBytes) return null;
    const summary = summaryOf((await openRecording(path)).reading);
    this.#known.set(key, summary);
    return summary;
  }
}

function stateOf(path: string): { readonly key: string; readonly bytes: number } {
  const { size, mtimeMs } = statSync(path);
  return { key: `${path} ${size} ${mtimeMs}`, bytes: size };
}
