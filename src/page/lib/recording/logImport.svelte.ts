import {
  choicesOf,
  importedSchema,
  lookedSchema,
  stillAsked,
  withChannel,
  withSystem,
  type Choice,
  type Imported,
  type LogLook,
} from "../../../../shared/logLook.ts";
import type { Failure } from "../../../../shared/messages.ts";
import { failureOf } from "../app/failure.ts";
import { askedFor } from "../app/leave.ts";

/** A log that was looked at, and waits for its columns to be confirmed. */
interface Found {
  readonly id: string;
  readonly name: string;
  readonly look: LogLook;
}

/** A log from elsewhere on its way to a recording: brought, looked at, confirmed, opened. */
export class LogImport {
  readonly #base: string;
  readonly #opens: (made: Imported) => void;
  #busy = $state("");
  #found: Found | null = $state.raw(null);
  #choices: readonly Choice[] = $state.raw([]);
  #failure: Failure | null = $state.raw(null);
  /** The answers hold for the next log with this header. */
  keep = $state(true);
  readonly #asked: readonly string[] = $derived.by(() =>
    this.#found === null ? [] : stillAsked(this.#found.look, this.#choices),
  );

  /** `base` is where logs are answered; `opens` shows what was made. */
  constructor(base: string, opens: (made: Imported) => void) {
    this.#base = base;
    this.#opens = opens;
  }

  /** What is being done, in words; empty when nothing is. */
  get busy(): string {
    return this.#busy;
  }

  get found(): Found | null {
    return this.#found;
  }

  get choices(): readonly Choice[] {
    return this.#choices;
  }

  get failure(): Failure | null {
    return this.#failure;
  }

  /** What has to be said before a recording can be made. */
  get asked(): readonly string[] {
    return this.#asked;
  }

  /** There is something to show. */
  get open(): boolean {
    return this.#busy !== "" || this.#found !== null || this.#failure !== null;
  }

  async bring(file: File): Promise<void> {
    if (this.#busy !== "") return;
    this.close();
    await this.#doing(`Looking at ${file.name}…`, async () => {
      const told = await this.#send(`?name=${encodeURIComponent(file.name)}`, file);
      const { id, look } = lookedSchema.parse(told);
      this.#found = { id, name: file.name, look };
      this.#choices = choicesOf(look);
    });
  }

  setChannel(at: number, channel: string | null): void {
    this.#choices = this.#choices.map((choice, i) => {
      if (i !== at) return choice;
      const unit = choice.unit ?? this.#found?.look.columns[i]?.unit ?? null;
      return withChannel({ channel: null, unit }, channel);
    });
  }

  setUnit(at: number, unit: string | null): void {
    this.#choices = this.#choices.map((choice, i) => (i === at ? { ...choice, unit } : choice));
  }

  /** All units that are not said yet. */
  setSystem(system: "metric" | "us"): void {
    this.#choices = withSystem(this.#choices, system);
  }

  async confirm(): Promise<void> {
    const found = this.#found;
    if (found === null || this.#busy !== "" || this.#asked.length > 0) return;
    await this.#doing(`Making a recording of ${found.name}…`, async () => {
      const body = JSON.stringify({ choices: this.#choices, keep: this.keep });
      const made = importedSchema.parse(await this.#send(`/${found.id}`, body));
      this.close();
      this.#opens(made);
    });
  }

  close(): void {
    this.#found = null;
    this.#choices = [];
    this.#failure = null;
  }

  async #doing(words: string, act: () => Promise<void>): Promise<void> {
    this.#busy = words;
    this.#failure = null;
    try {
      await act();
    } catch (error) {
      this.#failure = failureOf(error);
    } finally {
      this.#busy = "";
    }
  }

  async #send(path: string, body: File | string): Promise<unknown> {
    const response = await askedFor(this.#base + path, { method: "POST", body });
    return response.json();
  }
}
