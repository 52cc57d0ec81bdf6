/** The one place that holds the link, the session and the live recording, and does what a page asks. */
import type { Session, SessionStatus } from "../../adapters/polling/session.ts";
import { benchVehicleInfo, type Bench } from "../../adapters/bench/index.ts";
import { listPorts } from "../../adapters/link/index.ts";
import { addressText, parseAddress } from "../../shared/address.ts";
import type { Clock } from "../../shared/clock.ts";
import { CranksideError } from "../../shared/errors.ts";
import type { PageRequest, PortInfo, ServerMessage, Status } from "../../shared/messages.ts";
import type { FactsEvent, MarkEvent } from "../../shared/recording/format.ts";
import type { JobFacts } from "../../shared/vehicle.ts";
import { addToRecording } from "../recorder/add.ts";
import { recordingPath, type Folders } from "./folders.ts";
import { hookUp } from "./hookup.ts";
import { LiveRecording } from "./liveRecording.ts";
import { failureOf } from "./sockets.ts";

export interface DeskOptions {
  readonly clock: Clock;
  readonly folders: Folders;
  /** Name and version, written into recordings. */
  readonly writer: string;
}

type Answer = { ports?: PortInfo[] };

/** The state is told at most this often while bytes flow. */
const statusEveryMs = 500;

export class Desk {
  readonly #options: DeskOptions;
  #session: Session | null = null;
  #sessionStatus: SessionStatus | null = null;
  #bench: Bench | null = null;
  #address: string | null = null;
  #live: LiveRecording | null = null;
  #failure: unknown = null;
  #channels: readonly string[] = [];
  #listener: (message: ServerMessage) => void = () => undefined;
  #statusDue: (() => void) | null = null;
  /** Requests that change something run one after the other, whichever page they come from. */
  #queue: Promise<unknown> = Promise.resolve();

  constructor(options: DeskOptions) {
    this.#options = options;
  }

  onMessage(listener: (message: ServerMessage) => void): void {
    this.#listener = listener;
  }

  greeting(): ServerMessage[] {
    const { folders, writer } = this.#options;
    return [
      { type: "hello", version: writer, folder: folders.own, bench: benchVehicleInfo() },
      { type: "status", status: this.status() },
    ];
  }

  status(): Status {
    const s = this.#sessionStatus;
    const bench = this.#bench?.state();
    return {
      link: s === null ? "none" : s.link === "closed" ? "none" : s.link,
      address: this.#address,
      doing: s?.doing ?? "",
      failure: this.#failure === null ? (s?.failure ?? null) : failureOf(this.#failure),
      adapter: s?.adapter?.says ?? null,
      protocol: s?.protocol ?? null,
      modules: [...(s?.modules ?? [])].map(([address, pids]) => ({ address, pids: [...pids] })),
      recording: this.#live?.status ?? null,
      channels: [...this.#channels],
      bench:
        bench === undefined
          ? null
          : { vehicle: bench.vehicle, key: bench.key, pedal: bench.pedal, faults: [...bench.faults] },
    };
  }

  /** Does what a page asks; rejects with a coded error that the page shows. */
  handle(request: PageRequest): Promise<Answer> {
    if (request.type === "ports") return listPorts().then((ports) => ({ ports }));
    // Whoever gives up must not wait for the search through all protocols that is given up.
    if (request.type === "disconnect" || request.type === "connect") this.#giveUp();
    const done = this.#queue.then(() => this.#do(request));
    this.#queue = done.catch(() => undefined);
    return done.then(() => ({}));
  }

  #giveUp(): void {
    if (this.#sessionStatus?.link !== "connecting") return;
    // The one who asked to connect is told by the rejection there.
    this.#session?.close().catch((error: unknown) => (this.#failure = error));
  }

  /** Ends the recording and lets go of the link. */
  async close(): Promise<void> {
    this.#giveUp();
    await this.#queue;
    await this.#disconnect();
    this.#statusDue?.();
  }

  async #do(request: Exclude<PageRequest, { type: "ports" }>): Promise<void> {
    switch (request.type) {
      case "connect":
        return this.#connect(request.address, request.facts);
      case "disconnect":
        return this.#disconnect();
      case "stop":
        await this.#session?.pause();
        return this.#endRecording();
      case "start": {
        this.#start(request.facts);
        return;
      }
      case "channels":
        this.#channels = request.channels;
        this.#session?.setChannels(request.channels);
        {
          this.#tellStatus();
          return;
        }
      case "mark":
        return this.#add(
          request.recording,
          (t) => ({ k: "mark", t, ...withoutMissing(request.mark) }) satisfies MarkEvent,
        );
      case "facts":
        return this.#add(
          request.recording,
          (t) => ({ k: "facts", t, facts: request.facts }) satisfies FactsEvent,
        );
      case "bench":
        if (this.#bench === null) throw new CranksideError("wrong-use", "no bench vehicle is connected");
        this.#bench.act(request.act);
        {
          this.#tellStatus();
          return;
        }
    }
  }

  async #connect(text: string, facts: JobFacts): Promise<void> {
    const address = parseAddress(text);
    await this.#disconnect();
    this.#failure = null;
    this.#address = addressText(address);
    const hook = hookUp(address, this.#options.clock);
    this.#bench = hook.bench;
    const vehicle = { ...hook.facts, ...facts.vehicle };
    const live = this.#newRecording({ ...facts, vehicle });
    const session = hook.session(live.sink, this.#channels);
    this.#session = session;
    session.onStatus((status) => {
      this.#sessionStatus = status;
      this.#tellStatus();
    });
    try {
      await session.connect();
      session.start(live.sink);
    } catch (error) {
      await this.#disconnect();
      this.#failure = error;
      this.#tellStatus();
      throw error;
    }
  }

  async #disconnect(): Promise<void> {
    const session = this.#session;
    this.#session = null;
    await session?.close();
    await this.#endRecording();
    this.#sessionStatus = null;
    this.#bench?.stop();
    this.#bench = null;
    this.#address = null;
    this.#failure = null;
    this.#tellStatus();
  }

  #start(facts: JobFacts): void {
    if (this.#session === null) throw new CranksideError("wrong-use", "nothing is connected to record from");
    if (this.#live !== null) return;
    this.#session.start(this.#newRecording(facts).sink);
  }

  #newRecording(facts: JobFacts): LiveRecording {
    const { clock, folders, writer } = this.#options;
    const live = new LiveRecording({
      clock,
      folder: folders.own,
      facts,
      header: {
        from: this.#address ?? "unknown",
        adapter: this.#sessionStatus?.adapter ?? null,
        protocol: this.#sessionStatus?.protocol ?? null,
        invented: this.#bench !== null,
        writer,
      },
      onLines: (file, from, lines) => {
        this.#listener({ type: "lines", file, from, text: lines });
        this.#tellStatusSoon();
      },
    });
    this.#live = live;
    return live;
  }

  async #endRecording(): Promise<void> {
    const live = this.#live;
    await live?.close();
    this.#live = null;
    this.#tellStatus();
  }

  /** Adds to the live recording, or behind the end of a finished one. */
  async #add(file: string | null, event: (t: number) => MarkEvent | FactsEvent): Promise<void> {
    if (file === null || file === this.#live?.status?.file) {
      if (this.#live === null) throw new CranksideError("wrong-use", "nothing is being recorded");
      const { sink } = this.#live;
      sink.append(event(this.#options.clock.now() - sink.zeroMs));
      return;
    }
    const { path, bundled } = recordingPath(this.#options.folders, file);
    if (bundled) {
      throw new CranksideError("file-unwritable", "the samples that ship with the program are not added to", {
        found: file,
      });
    }
    const wallMs = this.#options.clock.wall();
    await addToRecording(path, (startedMs) => [event(Math.max(0, wallMs - startedMs))], { wallMs });
  }

  #tellStatus(): void {
    this.#statusDue?.();
    this.#statusDue = null;
    this.#listener({ type: "status", status: this.status() });
  }

  #tellStatusSoon(): void {
    this.#statusDue ??= this.#options.clock.after(statusEveryMs, () => this.#tellStatus());
  }
}

/** A mark as it came, without the fields that are undefined. */
function withoutMissing(mark: Extract<PageRequest, { type: "mark" }>["mark"]): Omit<MarkEvent, "k" | "t"> {
  const { id, at, label, until, removed } = mark;
  return {
    id,
    at,
    label,
    ...(until === undefined ? {} : { until }),
    ...(removed === undefined ? {} : { removed }),
  };
}
