import { accessSync, constants, mkdirSync } from "node:fs";
import type { Clock } from "../../shared/clock.ts";
import { CranksideError, isCranksideError, messageOf } from "../../shared/errors.ts";
import { tellsNothing, type Header, type RecordingEvent } from "../../shared/recording/format.ts";
import { parseEvent } from "../../shared/recording/parse.ts";
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
  readonly onLines: (file: string, from: number, lines: Uint8Array) => void;
  /** The disk began to fail, takes again, or the recording goes on in another file. */
  readonly onTrouble: () => void;
  /** A folder to go on in while this one fails, or null. */
  readonly spare: (folder: string) => string | null;
}

/**
 * A recording that has not ended yet. The file is made with the first event, so that a port that could not even
 * be opened leaves no empty file behind.
 */
export class LiveRecording {
  readonly sink: EventSink;
  readonly #options: LiveRecordingOptions;
  readonly #startedMs: number;
  #folder: string;
  #writer: RecordingWriter | null = null;
  #unhear: () => void = () => undefined;
  #spare: string | null = null;

  constructor(options: LiveRecordingOptions) {
    this.#options = options;
    this.#folder = options.folder;
    this.#startedMs = options.clock.wall();
    this.sink = {
      zeroMs: options.clock.now(),
      append: (event: RecordingEvent) => {
        const nothing = this.#writer === null && tellsNothing(event);
        if (!nothing) this.#open().append(event);
      },
    };
  }

  /** Where it is kept. */
  get folder(): string {
    return this.#folder;
  }

  get status(): Status["recording"] {
    const writer = this.#writer;
    if (writer === null) return null;
    const { failure } = writer;
    return {
      file: writer.file,
      started: new Date(this.#startedMs).toISOString(),
      bytes: writer.bytes,
      saved: writer.saved,
      failure: failure === null ? null : { code: failure.code, message: failure.message },
      waiting: writer.length - writer.bytes,
      lost: writer.lostEvents,
      spare: failure === null ? null : this.#spare,
    };
  }

  /** Its bytes from `from` on as they stand now, from disk and memory; null before it has a file. */
  bytes(from: number): Generator<Uint8Array> | null {
    const writer = this.#writer;
    return writer === null ? null : pieces(writer, from);
  }

  /** Throws `file-unwritable` where no file could be made: better said before anything is connected. */
  checkFolder(): void {
    try {
      mkdirSync(this.#folder, { recursive: true });
      accessSync(this.#folder, constants.W_OK | constants.X_OK);
    } catch (error) {
      const spare = this.#options.spare(this.#folder);
      throw new CranksideError(
        "file-unwritable",
        "nothing can be recorded in the recordings folder",
        {
          found: messageOf(error),
          where: this.#folder,
          advice:
            spare === null
              ? "Start with --folder for another one."
              : `Start with --folder ${spare}, for one.`,
        },
        error,
      );
    }
  }

  /**
   * Goes on in the spare folder with all that was recorded so far. Where the failed disk does not even give that
   * back, a new recording begins there with what memory holds, and the old file stays as it is. Rejects with
   * `file-unwritable` when that folder fails too, and `wrong-use` when there is none.
   */
  move(): void {
    const writer = this.#writer;
    const folder = this.#options.spare(this.#folder);
    if (writer === null || folder === null) {
      throw new CranksideError("wrong-use", "there is no other folder to go on in", { where: this.#folder });
    }
    try {
      writer.moveTo(folder);
    } catch (error) {
      if (!isCranksideError(error, "file-unwritable")) throw error;
      this.#beginAnew(writer, folder);
    }
    this.#folder = folder;
    this.#options.onTrouble();
  }

  /**
   * Writes the end line and syncs it to disk; in the spare folder when the disk fails. Rejects with
   * `file-unwritable` when what is in memory could be saved nowhere.
   */
  async close(): Promise<void> {
    this.#writer?.retry();
    if ((this.#writer?.failure ?? null) !== null && this.#options.spare(this.#folder) !== null) this.move();
    await this.#writer?.close();
  }

  #open(): RecordingWriter {
    if (this.#writer !== null) return this.#writer;
    const { facts } = this.#options;
    const writer = this.#create(this.#folder);
    if (facts.complaint !== undefined) writer.append({ k: "facts", t: 0, facts });
    return writer;
  }

  #create(folder: string): RecordingWriter {
    const { clock, facts, header, onLines, onTrouble, spare } = this.#options;
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
    this.#unhear = writer.onAppended((from, lines) => onLines(writer.file, from, lines));
    writer.onTrouble(() => {
      this.#spare = writer.failure === null ? null : spare(this.#folder);
      onTrouble();
    });
    return writer;
  }

  #beginAnew(old: RecordingWriter, folder: string): void {
    const { from, text } = old.remembered;
    this.#unhear();
    old.onTrouble(() => undefined);
    const writer = this.#create(folder);
    // It may never end well, and harms nothing by trying.
    old.close().catch(() => undefined);
    const events = text
      .split("\n")
      .slice(from === 0 ? 1 : 0)
      .map((line) => parseEvent(line))
      .flatMap((parsed) => (parsed.kind === "event" ? [parsed.event] : []));
    const t = events[0]?.t ?? this.#options.clock.now() - this.sink.zeroMs;
    if (from > 0) writer.append({ k: "notice", t, text: `the first ${from} bytes are in ${old.path}` });
    for (const event of events) writer.append(event);
  }
}

function* pieces(writer: RecordingWriter, from: number): Generator<Uint8Array> {
  const until = writer.length;
  for (let at = from; at < until;) {
    const piece = writer.readSome(at);
    if (piece.length === 0) return;
    at += piece.length;
    yield piece;
  }
}
