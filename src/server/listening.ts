/**
 * The link to a vehicle, from connecting to letting go: the adapter that is held, the session, the bench vehicle where it is
 * one, and the recording that goes on. One at a time; whoever asks sees to that.
 */
import type { Session, SessionStatus } from "../../adapters/polling/session.ts";
import type { Bench } from "../../adapters/bench/index.ts";
import { addressText, parseAddress } from "../../shared/address.ts";
import type { DefinedParameter } from "../../shared/defined.ts";
import { CranksideError } from "../../shared/errors.ts";
import type { PageRequest, Status } from "../../shared/messages.ts";
import type { RecordingEvent } from "../../shared/recording/format.ts";
import type { JobFacts } from "../../shared/vehicle.ts";
import type { Folders } from "./folders.ts";
import { holdAdapter } from "./holds.ts";
import { hookUp, type ToRead, type HookOptions } from "./hookup.ts";
import { LiveRecording } from "./liveRecording.ts";
import { LastQuestions } from "./modules.ts";
import { spareFolder } from "./spare.ts";
import { statusOf } from "./status.ts";

export interface ListeningOptions extends HookOptions {
  readonly folders: Folders;
  /** Name and version, written into recordings. */
  readonly writer: string;
  /** Where a recording may go on when its own folder fails, the best first. */
  readonly spares?: readonly string[];
  /** Parameters that the person defined. */
  readonly defined?: readonly DefinedParameter[];
  /** See `SessionOptions`; before a recording ends, too. */
  readonly survey?: boolean;
  /** A recording was closed. */
  readonly onClosed?: () => void;
}

/** Who hears what becomes of it. */
export interface ListeningHeard {
  status(): void;
  lines(file: string, from: number, lines: Uint8Array): void;
  /** Recordings are read from another folder now. */
  moved(): void;
}

export class Listening {
  readonly #options: ListeningOptions;
  readonly #heard: ListeningHeard;
  readonly #lastQuestions = new LastQuestions();
  #session: Session | null = null;
  #sessionStatus: SessionStatus | null = null;
  #bench: Bench | null = null;
  #address: string | null = null;
  #live: LiveRecording | null = null;
  #failure: unknown = null;
  #asked: Pick<ToRead, "channels" | "pinned"> = { channels: [], pinned: [] };
  #folders: Folders;
  #letAdapterGo: () => void = () => undefined;

  constructor(options: ListeningOptions, heard: ListeningHeard) {
    this.#options = options;
    this.#folders = options.folders;
    this.#heard = heard;
  }

  get session(): Session | null {
    return this.#session;
  }

  get bench(): Bench | null {
    return this.#bench;
  }

  get live(): LiveRecording | null {
    return this.#live;
  }

  /** Where recordings are read from now; another folder after a recording had to go on elsewhere. */
  get folders(): Folders {
    return this.#folders;
  }

  /** This file is being recorded. */
  isLive(file: string): boolean {
    return this.#live?.status?.file === file;
  }

  status(): Status {
    return statusOf({
      session: this.#sessionStatus,
      address: this.#address,
      failure: this.#failure,
      recording: this.#live?.status ?? null,
      channels: this.#asked.channels,
      bench: this.#bench,
    });
  }

  /** Ends connecting, whatever it waits for. */
  giveUp(): void {
    if (this.#sessionStatus?.link !== "connecting") return;
    // The one who asked to connect is told by the rejection there.
    this.#session?.close().catch((error: unknown) => (this.#failure = error));
  }

  /** Rejects with the reason, and all is let go of then. */
  async connect(request: Extract<PageRequest, { type: "connect" }>): Promise<void> {
    const { facts, unconfirmed = false } = request;
    const address = parseAddress(request.address);
    const { clock, defined = [], survey = false } = this.#options;
    await this.disconnect();
    this.#failure = null;
    const letGo = await holdAdapter(address, clock);
    this.#letAdapterGo = letGo;
    this.#address = addressText(address);
    try {
      const hook = hookUp(address, this.#options);
      this.#bench = hook.bench;
      const vehicle = { ...hook.facts, ...facts.vehicle };
      const live = this.#newRecording({ ...facts, vehicle });
      live.checkFolder();
      const session = hook.session(live.sink, { ...this.#asked, defined, survey, unconfirmed });
      this.#session = session;
      session.onStatus((status) => {
        this.#sessionStatus = status;
        this.#heard.status();
      });
      await session.connect();
      session.start(live.sink);
    } catch (error) {
      await this.disconnect();
      this.#failure = error;
      this.#heard.status();
      throw error;
    }
  }

  /** Rejects with `file-unwritable` when the last events could be saved nowhere; all is let go all the same. */
  async disconnect(): Promise<void> {
    const session = this.#session;
    this.#session = null;
    try {
      await session?.close();
      await this.#endRecording();
    } finally {
      this.#sessionStatus = null;
      this.#bench?.stop();
      this.#bench = null;
      this.#address = null;
      this.#failure = null;
      this.#letAdapterGo();
      this.#letAdapterGo = () => undefined;
      this.#heard.status();
    }
  }

  /** Records, where nothing is being recorded. */
  start(facts: JobFacts): void {
    if (this.#session === null) throw new CranksideError("wrong-use", "nothing is connected to record from");
    if (this.#live !== null) return;
    this.#session.start(this.#newRecording(facts).sink);
  }

  /** The last questions are asked while all else may still be asked for. */
  askLast(): Promise<void> {
    return this.#lastQuestions.ask(this.#live === null ? null : this.#session);
  }

  async stop(): Promise<void> {
    await this.#session?.pause();
    await this.#endRecording();
  }

  setChannels(channels: readonly string[], pinned: readonly string[]): void {
    this.#asked = { channels, pinned };
    this.#session?.setChannels(channels, pinned);
    this.#heard.status();
  }

  /** Adds to the recording, at its present time. Throws `wrong-use` where nothing is being recorded. */
  add(event: (t: number) => RecordingEvent): void {
    if (this.#live === null) throw new CranksideError("wrong-use", "nothing is being recorded");
    const { sink } = this.#live;
    sink.append(event(this.#options.clock.now() - sink.zeroMs));
  }

  /** It went wrong where nobody waits for the answer. */
  failed(error: unknown): void {
    this.#failure = error;
  }

  #newRecording(facts: JobFacts): LiveRecording {
    const { clock, writer, spares = [] } = this.#options;
    const live = new LiveRecording({
      clock,
      folder: this.#folders.own,
      facts,
      header: {
        from: this.#address ?? "unknown",
        adapter: this.#sessionStatus?.adapter ?? null,
        protocol: this.#sessionStatus?.protocol ?? null,
        invented: this.#bench !== null,
        writer,
      },
      onLines: (file, from, lines) => this.#heard.lines(file, from, lines),
      onTrouble: () => this.#heard.status(),
      spare: (own) => spareFolder(own, spares),
    });
    this.#live = live;
    return live;
  }

  async #endRecording(): Promise<void> {
    const live = this.#live;
    try {
      await live?.close();
    } finally {
      if (live !== null) this.#readFrom(live.folder);
      this.#live = null;
      this.#heard.status();
      if (live !== null) this.#options.onClosed?.();
    }
  }

  /** The recording goes on in another folder. */
  move(): void {
    if (this.#live === null) throw new CranksideError("wrong-use", "nothing is being recorded");
    this.#live.move();
    this.#readFrom(this.#live.folder);
  }

  #readFrom(own: string): void {
    if (own === this.#folders.own) return;
    this.#folders = { ...this.#folders, own };
    this.#heard.moved();
  }
}
