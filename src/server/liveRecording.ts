import type { Clock } from "../../shared/clock.ts";
import type { Header, RecordingEvent } from "../../shared/recording/format.ts";
import type { EventSink } from "../../shared/recording/sink.ts";
import type { Status } from "../../shared/messages.ts";
import type { JobFacts } from "../../shared/vehicle.ts";
import { createRecording, type RecordingWriter } from "../recorder/writer.ts";

export interface LiveRecordingOptions {
  readonly clock: Clock;
  readonly folder: string;
  readonly facts: JobFacts;
  readonly header: Pick<Header, "from" | "adapter" | "protocol" | "invented" | "writer">;
  /** Whole lines as they are appended, with the byte of the file they begin at. */
  readonly onLines: (file: string, from: number, lines: string) => void;
}

/**
 * A recording that has not ended yet. The file is made with the first event, so that a port that could not even
 * be opened leaves no empty file behind.
 */
export class LiveRecording {
  readonly sink: EventSink;
  readonly #options: LiveRecordingOptions;
  readonly #startedMs: number;
  #writer: RecordingWriter | null = null;

  constructor(options: LiveRecordingOptions) {
    this.#options = options;
    this.#startedMs = options.clock.wall();
    this.sink = {
      zeroMs: options.clock.now(),
      append: (event: RecordingEvent) => {
        const nothing = this.#writer === null && event.k === "link" && event.state === "closed";
        if (!nothing) this.#open().append(event);
      },
    };
  }

  get status(): Status["recording"] {
    const writer = this.#writer;
    if (writer === null) return null;
    return {
      file: writer.file,
      started: new Date(this.#startedMs).toISOString(),
      bytes: writer.bytes,
      saved: writer.saved,
    };
  }

  /** Writes the end line and syncs it to disk. */
  async close(): Promise<void> {
    await this.#writer?.close();
  }

  #open(): RecordingWriter {
    if (this.#writer !== null) return this.#writer;
    const { clock, folder, facts, header, onLines } = this.#options;
    const vehicle = facts.vehicle ?? {};
    const writer = createRecording({
      folder,
      clock,
      zeroMs: this.sink.zeroMs,
      startedMs: this.#startedMs,
      header: { ...header, vehicle },
      ...(vehicle.name === undefined ? {} : { name: vehicle.name }),
    });
    this.#writer = writer;
    writer.onAppended((from, lines) => onLines(writer.file, from, lines));
    if (facts.complaint !== undefined) writer.append({ k: "facts", t: 0, facts });
    return writer;
  }
}
