/** Listening from the command line: one session into one file, read along for progress. */
import type { Session } from "../../adapters/polling/session.ts";
import type { Bench } from "../../adapters/bench/index.ts";
import { addressText, type Address } from "../../shared/address.ts";
import type { DefinedParameter } from "../../shared/defined.ts";
import { pause, type Clock } from "../../shared/clock.ts";
import { CranksideError } from "../../shared/errors.ts";
import {
  headerLine,
  tellsNothing,
  type MarkEvent,
  type RecordingEvent,
} from "../../shared/recording/format.ts";
import type { EventSink } from "../../shared/recording/sink.ts";
import type { VehicleFacts } from "../../shared/vehicle.ts";
import { Analyst } from "../analyst/index.ts";
import { createRecording, type RecordingWriter } from "../recorder/writer.ts";
import { holdAdapter } from "../server/holds.ts";
import { hookUp } from "../server/hookup.ts";
import { writerName } from "./version.ts";

export interface RecordOptions {
  readonly address: Address;
  /** Path of the file; null keeps the events in memory only. */
  readonly out: string | null;
  readonly clock: Clock;
  readonly channels: readonly string[];
  /** To be asked more often than the rest. */
  readonly pinned?: readonly string[];
  /** What the person defined to be read as well. */
  readonly defined?: readonly DefinedParameter[];
  /** On SAE J1979-2: also what nobody could confirm. */
  readonly unconfirmed?: boolean;
  readonly seed?: number;
  /** What is known of the vehicle beside what the recording says. */
  readonly vehicle?: VehicleFacts;
  /** Every module is asked at key on, and by `lastSurvey`. */
  readonly survey?: boolean;
  /** The real time, for a run on another clock: see the recorder's option. */
  readonly gatherBy?: Clock;
  readonly onDoing: (text: string) => void;
}

export interface Recorder {
  readonly session: Session;
  readonly bench: Bench | null;
  /** What is recorded, read along; whole once it is closed. */
  readonly analyst: Analyst;
  start(): void;
  /** A mark as of now. */
  readonly mark: (mark: Pick<MarkEvent, "id" | "at" | "until" | "label">) => void;
  /** The recording's time, milliseconds. */
  readonly now: () => number;
  close(): Promise<void>;
  /** One line on what was kept. */
  summary(): string;
}

/** Opens the address and sets the adapter up. On failure what was heard so far is kept and closed. */
export async function record(options: RecordOptions): Promise<Recorder> {
  const { address, clock, channels, pinned = [], defined = [], unconfirmed = false, gatherBy } = options;
  if (address.kind === "browser") {
    throw new CranksideError("wrong-use", "only a page can reach this adapter", {
      expected: "crankside, then the adapter chosen on its page",
      found: addressText(address),
    });
  }
  const letGo = await holdAdapter(address, clock);
  const hook = hookUp(address, { clock, ...(options.seed === undefined ? {} : { seed: options.seed }) });
  const analyst = new Analyst(options.out ?? "memory", {
    facts: (recorded) => ({ ...recorded, vehicle: { ...recorded.vehicle, ...options.vehicle } }),
  });
  const zeroMs = clock.now();
  const startedMs = clock.wall();
  const now = (): number => clock.now() - zeroMs;
  let writer: RecordingWriter | null = null;
  // The file is made with the first event: a port that cannot be opened leaves none behind.
  const open = (out: string): RecordingWriter => {
    const made = createRecording({
      file: out,
      clock,
      ...(gatherBy === undefined ? {} : { gatherBy }),
      zeroMs,
      startedMs,
      header: {
        from: addressText(address),
        adapter: null,
        protocol: null,
        vehicle: hook.facts,
        invented: hook.bench !== null,
        writer: writerName,
      },
    });
    // Read along as the file is read later.
    analyst.push(Buffer.from(headerLine(made.header)));
    made.onAppended((_, line) => analyst.push(line));
    return made;
  };
  const sink: EventSink = {
    zeroMs,
    append: (event: RecordingEvent) => {
      if (options.out === null) {
        analyst.reading.event(event);
      } else if (writer !== null || !tellsNothing(event)) {
        writer ??= open(options.out);
        writer.append(event);
      }
    },
  };
  const survey = options.survey === true;
  const session = hook.session(sink, { channels, pinned, defined, survey, unconfirmed });
  session.onStatus((status) => options.onDoing(status.doing));
  const close = async (): Promise<void> => {
    await session.close();
    hook.bench?.stop();
    letGo();
    await writer?.close();
    if (writer !== null) analyst.finish();
  };
  try {
    await session.connect();
  } catch (error) {
    await close();
    throw error;
  }
  return {
    session,
    bench: hook.bench,
    analyst,
    start: () => session.start(sink),
    mark: (mark) => {
      sink.append({ k: "mark", t: now(), ...mark });
    },
    now,
    close,
    summary: () => summary(analyst, writer?.bytes ?? 0),
  };
}

/** From key on until every module answers, milliseconds: some take seconds to boot (common practice). */
const bootMs = 4000;
/** More than the slowest bus takes. */
const wholeSurveyMs = 120_000;

/** After a script: the key is turned on again where it is off, and every module is asked once more. */
export async function lastQuestions({ session, bench }: Recorder, clock: Clock): Promise<void> {
  if (bench !== null && bench.state().key === "off") {
    bench.act({ act: "key", to: "on" });
    await pause(clock, bootMs);
  }
  await session.lastSurvey(wholeSurveyMs);
}

function summary({ reading }: Analyst, bytes: number): string {
  const exchanges = reading.counts.get("x") ?? 0;
  const seconds = (reading.lastTime / 1000).toFixed(1);
  const channels = reading.channels.channels.length;
  return `${seconds} s, ${exchanges} exchanges, ${channels} channels, ${bytes} bytes${reading.invented ? ", bench vehicle, invented data" : ""}`;
}
