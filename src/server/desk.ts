/** The one place that holds the link, the session and the live recording, and does what a page asks. */
import type { Session, SessionStatus } from "../../adapters/polling/session.ts";
import { benchVehicleInfo, type Bench } from "../../adapters/bench/index.ts";
import { listPorts } from "../../adapters/link/index.ts";
import { addressText, parseAddress } from "../../shared/address.ts";
import type { DefinedParameter } from "../../shared/defined.ts";
import { CranksideError } from "../../shared/errors.ts";
import { liveFrame } from "../../shared/liveFrame.ts";
import type { PageRequest, PortInfo, ServerMessage, Status } from "../../shared/messages.ts";
import type { JobFacts } from "../../shared/vehicle.ts";
import { Additions, eventOf, type AdditionMaker } from "./additions.ts";
import type { Folders } from "./folders.ts";
import { holdAdapter } from "./holds.ts";
import { hookUp, type Asked, type HookOptions } from "./hookup.ts";
import { JobNotes } from "./jobNotes.ts";
import { LiveRecording } from "./liveRecording.ts";
import { byHand, theBench, type Apart, type ToldByHand } from "./practice.ts";
import { spareFolder } from "./spare.ts";
import { statusOf } from "./status.ts";
import { clearWith, LastQuestions, surveyInto } from "./modules.ts";
import { Visitors, type LanState, type Visitor } from "./visitors.ts";

export interface DeskOptions extends HookOptions {
  readonly folders: Folders;
  /** Name and version, written into recordings. */
  readonly writer: string;
  /** Where a recording may go on when its own folder fails, the best first. */
  readonly spares?: readonly string[];
  /** Parameters that the person defined. */
  readonly defined?: readonly DefinedParameter[];
  /** See `SessionOptions`; before a recording ends, too. */
  readonly survey?: boolean;
  /** The vehicle is left alone so long after the last page on the laptop went, milliseconds. Default 120 000. */
  readonly ownerGoneMs?: number;
  /** A recording was closed. */
  readonly onClosed?: () => void;
}

/** The state is told at most this often while bytes flow. */
const statusEveryMs = 500;

/** A reload and a crashed browser are over sooner; what is recorded meanwhile is kept. */
const usualOwnerGoneMs = 120_000;

export class Desk {
  readonly #options: DeskOptions;
  #session: Session | null = null;
  #sessionStatus: SessionStatus | null = null;
  #bench: Bench | null = null;
  #address: string | null = null;
  #live: LiveRecording | null = null;
  #failure: unknown = null;
  #asked: Pick<Asked, "channels" | "pinned"> = { channels: [], pinned: [] };
  readonly #visitors: Visitors;
  readonly #additions: Additions;
  #folders: Folders;
  #letAdapterGo: () => void = () => undefined;
  #lan: LanState | null = null;
  #statusDue: (() => void) | null = null;
  readonly #lastQuestions = new LastQuestions();
  #looking: Promise<PortInfo[]> | null = null;
  /** Requests that change something run one after the other, whichever page they come from. */
  #queue: Promise<unknown> = Promise.resolve();

  constructor(options: DeskOptions) {
    this.#options = options;
    this.#folders = options.folders;
    this.#additions = new Additions(() => this.#folders, options.clock);
    const notes = new JobNotes(options.clock);
    this.#visitors = new Visitors({
      clock: options.clock,
      otherProgramAt: (job) => notes.other(this.#folders.own, job),
      onJobs: (open) => notes.open(this.#folders.own, open),
      ownerGoneMs: options.ownerGoneMs ?? usualOwnerGoneMs,
      onOwnerGone: () => this.#ownerGone(),
    });
  }

  /** Where recordings are read from now; another folder after a recording had to go on elsewhere. */
  get folders(): Folders {
    return this.#folders;
  }

  get guests(): number {
    return this.#visitors.guests;
  }

  /** A page came: it is told how things stand. */
  come(visitor: Visitor): void {
    visitor.tell(this.#hello());
    visitor.tell({ type: "status", status: this.status() });
    this.#visitors.come(visitor);
    if (this.#lan === null) visitor.tell({ type: "lan", lan: null });
    else this.tellLan();
  }

  go(visitor: Visitor): void {
    this.#visitors.go(visitor);
    this.tellLan();
  }

  setLan(lan: LanState | null): void {
    this.#lan = lan;
    this.tellLan();
    if (lan === null) this.#visitors.sendGuestsAway();
  }

  /** Its code or its guests changed. */
  tellLan(): void {
    const lan = this.#lan;
    this.#visitors.each((visitor) => {
      visitor.tell({ type: "lan", lan: lan === null ? null : lan.tellFor(visitor) });
    });
  }

  /** Bytes of the live recording if that is the file, from disk and memory; else null. */
  liveBytes(file: string, from: number): Iterable<Uint8Array> | null {
    return this.#live?.status?.file === file ? this.#live.bytes(from) : null;
  }

  #hello(): ServerMessage {
    return {
      type: "hello",
      version: this.#options.writer,
      folder: this.#folders.own,
      bench: benchVehicleInfo(),
    };
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

  /** Does what a page asks; rejects with a coded error that the page shows. */
  async handle(request: PageRequest, visitor: Visitor): Promise<{ ports?: PortInfo[] } & ToldByHand> {
    this.#permit(request, visitor);
    if (request.type === "ports") return { ports: await this.#ports() };
    if (request.type === "measure" || request.type === "reveal")
      return byHand(request, this.#bench, () => this.#tellStatus());
    if (request.type === "job") {
      this.#visitors.openJob(visitor, request.job);
      return {};
    }
    // Marks must not wait for a vehicle that is slow to tell all it has.
    if (request.type === "survey") return surveyInto(this.#session, this.#live);
    if (request.type === "clear") return clearWith(request.typed, this.#session, this.#live);
    // Whoever gives up must not wait for the search through all protocols that is given up.
    if (request.type === "disconnect" || request.type === "connect") this.#giveUp();
    if (request.type === "stop") await this.#lastQuestions.ask(this.#live === null ? null : this.#session);
    // What is added to a file that is not the live one waits for nothing that is live, and nothing live for it.
    const addition = this.#additionOf(request);
    if (addition !== null) await this.#additions.add(addition.file, addition.event, visitor.role);
    else await this.#inTurn(() => this.#do(request));
    return {};
  }

  /** A mark or facts for a finished recording; null for anything else. */
  #additionOf(request: PageRequest): { readonly file: string; readonly event: AdditionMaker } | null {
    if (request.type !== "mark" && request.type !== "facts") return null;
    const { recording: file } = request;
    if (file === null || file === this.#live?.status?.file) return null;
    return { file, event: eventOf(request) };
  }

  /** Looking asks the system and takes its time: whoever asks meanwhile gets the same answer. */
  #ports(): Promise<PortInfo[]> {
    this.#looking ??= listPorts().finally(() => (this.#looking = null));
    return this.#looking;
  }

  #inTurn(work: () => Promise<void>): Promise<void> {
    const done = this.#queue.then(work);
    this.#queue = done.catch(() => undefined);
    return done;
  }

  /** Throws when this page may not ask for this. */
  #permit(request: PageRequest, visitor: Visitor): void {
    switch (request.type) {
      case "mark":
      case "job":
        return;
      case "ports":
      case "facts":
      case "close-lan":
      case "guests-enter":
        return this.#visitors.mustBeFull(visitor);
      case "take":
        return this.#visitors.take(visitor);
      default:
        return this.#visitors.drive(visitor);
    }
  }

  #ownerGone(): void {
    if (this.#session === null) return;
    const live = this.#live;
    const why = "no page has been open on the laptop for a while: the vehicle is left alone";
    if (live !== null) {
      live.sink.append({ k: "notice", t: this.#options.clock.now() - live.sink.zeroMs, text: why });
    }
    this.#giveUp();
    this.#inTurn(() => this.#disconnect()).catch((error: unknown) => (this.#failure = error));
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
    try {
      await this.#disconnect();
    } finally {
      this.#statusDue?.();
      this.#visitors.close();
    }
  }

  async #do(request: Exclude<PageRequest, { type: Apart }>): Promise<void> {
    switch (request.type) {
      case "connect":
        return this.#connect(request);
      case "disconnect":
        await this.#disconnect();
        this.#visitors.letGo();
        return;
      case "stop":
        await this.#session?.pause();
        return this.#endRecording();
      case "start":
        this.#start(request.facts);
        return;
      case "channels":
        this.#asked = { channels: request.channels, pinned: request.pinned ?? [] };
        this.#session?.setChannels(this.#asked.channels, this.#asked.pinned);
        this.#tellStatus();
        return;
      case "mark":
      case "facts":
        return this.#add(request.recording, eventOf(request));
      case "bench":
        theBench(this.#bench).act(request.act);
        this.#tellStatus();
        return;
      case "move":
        this.#move();
        return;
      case "take":
        return;
      case "arm":
        return this.#session?.arm(request.on, request.strength);
      case "guests-enter":
        return this.#lan?.letEnter(request.on);
      case "close-lan": {
        const lan = this.#lan;
        this.setLan(null);
        return lan?.close();
      }
    }
  }

  async #connect(request: Extract<PageRequest, { type: "connect" }>): Promise<void> {
    const { facts, unconfirmed = false } = request;
    const address = parseAddress(request.address);
    const { clock, defined = [], survey = false } = this.#options;
    await this.#disconnect();
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
        this.#tellStatus();
      });
      await session.connect();
      session.start(live.sink);
    } catch (error) {
      await this.#disconnect();
      this.#visitors.letGo();
      this.#failure = error;
      this.#tellStatus();
      throw error;
    }
  }

  /** Rejects with `file-unwritable` when the last events could be saved nowhere; all is let go all the same. */
  async #disconnect(): Promise<void> {
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
      this.#tellStatus();
    }
  }

  #start(facts: JobFacts): void {
    if (this.#session === null) throw new CranksideError("wrong-use", "nothing is connected to record from");
    if (this.#live !== null) return;
    this.#session.start(this.#newRecording(facts).sink);
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
      onLines: (file, from, lines) => {
        this.#visitors.sendAll(liveFrame(file, from, lines));
        this.#tellStatusSoon();
      },
      onTrouble: () => this.#tellStatus(),
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
      this.#tellStatus();
      if (live !== null) this.#options.onClosed?.();
    }
  }

  #move(): void {
    if (this.#live === null) throw new CranksideError("wrong-use", "nothing is being recorded");
    this.#live.move();
    this.#readFrom(this.#live.folder);
  }

  #readFrom(own: string): void {
    if (own === this.#folders.own) return;
    this.#folders = { ...this.#folders, own };
    this.#visitors.tellAll(this.#hello());
  }

  /** Adds to the live recording; one that ended meanwhile is a finished one. */
  async #add(file: string | null, event: AdditionMaker): Promise<void> {
    const live = this.#live;
    if (live !== null && (file === null || file === live.status?.file))
      live.sink.append(event(this.#options.clock.now() - live.sink.zeroMs));
    else if (file === null) throw new CranksideError("wrong-use", "nothing is being recorded");
    else await this.#additions.add(file, event, "full");
  }

  #tellStatus(): void {
    this.#statusDue?.();
    this.#statusDue = null;
    this.#visitors.tellAll({ type: "status", status: this.status() });
  }

  #tellStatusSoon(): void {
    this.#statusDue ??= this.#options.clock.after(statusEveryMs, () => this.#tellStatus());
  }
}
