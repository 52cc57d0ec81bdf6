import { recordingSummarySchema } from "../../../../shared/messages.ts";
import type { RecordingSummary } from "../../../sheet/summary.ts";

/** What recordings are about, asked for one after the other and kept while the page is there. */
export class Summaries {
  readonly #base: string;
  #known: Readonly<Record<string, RecordingSummary>> = $state.raw({});
  #asking = false;
  #wanted: string[] = [];

  /** `base` is where they are answered, with a slash at the end. */
  constructor(base: string) {
    this.#base = base;
  }

  of(file: string): RecordingSummary | null {
    return Object.hasOwn(this.#known, file) ? (this.#known[file] ?? null) : null;
  }

  /** These are wanted, behind those that were wanted before. */
  want(files: readonly string[]): void {
    const missing = files.filter((file) => this.of(file) === null && !this.#wanted.includes(file));
    this.#wanted = [...this.#wanted, ...missing];
    if (!this.#asking) void this.#askOn();
  }

  async #askOn(): Promise<void> {
    this.#asking = true;
    for (let file = this.#wanted.shift(); file !== undefined; file = this.#wanted.shift()) {
      const summary = await this.#asked(file);
      if (summary !== null) this.#known = { ...this.#known, [file]: summary };
    }
    this.#asking = false;
  }

  /** A list is as good without: nothing is told where it does not come. */
  async #asked(file: string): Promise<RecordingSummary | null> {
    try {
      const response = await fetch(this.#base + encodeURIComponent(file), { cache: "no-store" });
      if (response.status !== 200) return null;
      const found = recordingSummarySchema.safeParse(await response.json());
      return found.success ? found.data : null;
    } catch {
      return null;
    }
  }
}
