/**
 * The library: recordings, decoding, what is found in them, the repair note. It needs no Node and no browser; bytes come in,
 * plain values go out. The command line reads recordings through the same analyst.
 */
import { decodeParameter } from "../../shared/decode.ts";
import { CranksideError } from "../../shared/errors.ts";
import { parameterByPid } from "../../shared/parameters.ts";
import { writtenFactsSchema, type VehicleFacts } from "../../shared/vehicle.ts";
import { wrongShape } from "../../shared/wrongShape.ts";
import { Analyst } from "../analyst/index.ts";
import { adviceText } from "../interpret/causes/adviceText.ts";
import { findingsText } from "../interpret/index.ts";
import { sourceFrom } from "../sheet/tied.ts";
import { readJob } from "../sheet/job.ts";
import { composeNote } from "../sheet/note/compose.ts";
import { noteHtml as htmlOf } from "../sheet/note/html.ts";
import { readByJob } from "../sheet/readByJob.ts";
import type {
  Advice,
  Channel,
  Decoded,
  Findings,
  Headline,
  NoteOptions,
  RecordingOptions,
  Span,
  Units,
} from "./types.ts";

export type * from "./types.ts";

/** For the note, which draws what they read. */
const analysts = new WeakMap<Recording, Analyst>();

/** A recording, whole or growing: push its bytes as they come, ask at any time, finish where it ends. */
export class Recording {
  readonly #analyst: Analyst;

  /** Throws `facts-invalid`. */
  constructor(options: RecordingOptions = {}) {
    const { name = "recording" } = options;
    const given = vehicleOf(options.vehicle ?? {});
    this.#analyst = new Analyst(name, readByJob(null, name, given));
    analysts.set(this, this.#analyst);
  }

  /** Throws `not-a-recording` or `newer-format` for a wrong first line; what else is wrong is a notice. Not compressed. */
  push(bytes: Uint8Array): void {
    this.#analyst.push(bytes);
  }

  /** All that there is was pushed. */
  finish(): void {
    this.#analyst.finish();
  }

  /** When it began, ISO 8601 with zone. */
  get started(): string {
    return this.#analyst.started;
  }

  get lengthMs(): number {
    return this.#analyst.reading.lastTime;
  }

  /** The data of a bench vehicle, or otherwise made up. */
  get invented(): boolean {
    return this.#analyst.reading.invented;
  }

  get complaint(): string {
    return this.#analyst.facts.complaint ?? "";
  }

  /** What is wrong with the file, line by line. */
  get notices(): readonly string[] {
    return this.#analyst.reading.notices.map(({ text }) => text);
  }

  get channels(): readonly Channel[] {
    const { reading } = this.#analyst;
    return reading.channels.all().map(({ channel, module, times, values }) => {
      const { name, unit } = reading.info(channel);
      return { channel, module, name, unit, times, values };
    });
  }

  /** What the engine did. */
  get spans(): readonly Span[] {
    return this.#analyst.spans();
  }

  findings(): Findings {
    return this.#analyst.findings();
  }

  /** As the command line prints them. */
  findingsText(units: Units = "metric", all = false): string {
    return findingsText(this.#analyst.findings(), units, all);
  }

  /** Likely causes, by this recording alone. */
  advice(): Advice {
    return this.#analyst.advice();
  }

  adviceText(): string {
    return adviceText(this.#analyst.advice());
  }

  headline(units: Units = "metric"): Headline {
    return this.#analyst.headline(this.#analyst.advice(), units);
  }
}

/** The values in the data bytes of a reply to service 01, by the parameter's number; empty for one that is not known. */
export function decode(pid: number, data: Uint8Array): readonly Decoded[] {
  const parameter = parameterByPid.get(pid);
  if (parameter === undefined) return [];
  return decodeParameter(parameter, data).map(({ value, number }) => ({
    ...{ channel: value.channel, name: value.name, unit: value.unit },
    value: number,
  }));
}

function analystOf(recording: Recording): Analyst {
  const analyst = analysts.get(recording);
  if (analyst === undefined) throw new TypeError("not a recording that was opened here");
  return analyst;
}

/** The repair note of a job, as one HTML file that needs nothing else. Throws `job-invalid` or `newer-format`. */
export function noteHtml(job: string, options: NoteOptions<Recording>): string {
  const read = readJob(job, "job");
  const { made, units = "metric", part = "all", recordingOf, photoOf } = options;
  const sources = {
    evidence: (tie: { readonly file: string; readonly bytes: number; readonly sha256: string }) => {
      const found = recordingOf(tie);
      if (typeof found === "string") return { state: found, source: null };
      const { reading } = analystOf(found);
      const { facts } = readByJob(read, tie.file);
      const { vehicle = {} } = facts?.(reading.facts) ?? reading.facts;
      return { state: "fits" as const, source: sourceFrom(reading, vehicle) };
    },
    photo: photoOf ?? (() => null),
  };
  return htmlOf(composeNote(read, sources, { system: units, made, writer: "crankside/core", part }));
}

function vehicleOf(given: Readonly<Record<string, unknown>>): VehicleFacts {
  const read = writtenFactsSchema.safeParse(given);
  if (read.success) return read.data;
  throw new CranksideError(
    "facts-invalid",
    "the vehicle facts are not as they should be",
    wrongShape(read.error.issues, given, "the fields of vehicle facts"),
  );
}
