/** What a page asks: whether it may, in which order it is done, and who is told what came of it. */
import { benchVehicleInfo } from "../../adapters/bench/index.ts";
import { listPorts } from "../../adapters/link/index.ts";
import { liveFrame } from "../../shared/liveFrame.ts";
import type { PageRequest, PortInfo, ServerMessage, Status } from "../../shared/messages.ts";
import { Additions, eventOf, type AdditionMaker } from "./additions.ts";
import type { Folders } from "./folders.ts";
import { JobNotes } from "./jobNotes.ts";
import { Listening, type ListeningOptions } from "./listening.ts";
import { byHand, theBench, type Apart, type ToldByHand } from "./practice.ts";
import { clearWith, surveyInto } from "./modules.ts";
import { Visitors, type LanState, type Visitor } from "./visitors.ts";

export interface DeskOptions extends ListeningOptions {
  /** The vehicle is left alone so long after the last page on the laptop went, milliseconds. Default 120 000. */
  readonly ownerGoneMs?: number;
}

/** The state is told at most this often while bytes flow. */
const statusEveryMs = 500;

/** A reload and a crashed browser are over sooner; what is recorded meanwhile is kept. */
const usualOwnerGoneMs = 120_000;

export class Desk {
  readonly #options: DeskOptions;
  readonly #listening: Listening;
  readonly #visitors: Visitors;
  readonly #additions: Additions;
  #lan: LanState | null = null;
  #statusDue: (() => void) | null = null;
  #looking: Promise<PortInfo[]> | null = null;
  /** Requests that change something run one after the other, whichever page they come from. */
  #queue: Promise<unknown> = Promise.resolve();

  constructor(options: DeskOptions) {
    this.#options = options;
    this.#listening = new Listening(options, {
      status: () => this.#tellStatus(),
      lines: (file, from, lines) => {
        this.#visitors.sendAll(liveFrame(file, from, lines));
        this.#tellStatusSoon();
      },
      moved: () => this.#visitors.tellAll(this.#hello()),
    });
    this.#additions = new Additions(() => this.folders, options.clock);
    const notes = new JobNotes(options.clock);
    this.#visitors = new Visitors({
      clock: options.clock,
      otherProgramAt: (job) => notes.other(this.folders.own, job),
      onJobs: (open) => notes.open(this.folders.own, open),
      ownerGoneMs: options.ownerGoneMs ?? usualOwnerGoneMs,
      onOwnerGone: () => this.#ownerGone(),
    });
  }

  /** Where recordings are read from now; another folder after a recording had to go on elsewhere. */
  get folders(): Folders {
    return this.#listening.folders;
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
    return this.#listening.isLive(file) ? (this.#listening.live?.bytes(from) ?? null) : null;
  }

  #hello(): ServerMessage {
    return {
      type: "hello",
      version: this.#options.writer,
      folder: this.folders.own,
      bench: benchVehicleInfo(),
    };
  }

  status(): Status {
    return this.#listening.status();
  }

  /** Does what a page asks; rejects with a coded error that the page shows. */
  async handle(request: PageRequest, visitor: Visitor): Promise<{ ports?: PortInfo[] } & ToldByHand> {
    this.#permit(request, visitor);
    const listening = this.#listening;
    if (request.type === "ports") return { ports: await this.#ports() };
    if (request.type === "measure" || request.type === "reveal")
      return byHand(request, listening.bench, () => this.#tellStatus());
    if (request.type === "job") {
      this.#visitors.openJob(visitor, request.job);
      return {};
    }
    // Marks must not wait for a vehicle that is slow to tell all it has.
    if (request.type === "survey") return surveyInto(listening.session, listening.live);
    if (request.type === "clear") return clearWith(request.typed, listening.session, listening.live);
    // Whoever gives up must not wait for the search through all protocols that is given up.
    if (request.type === "disconnect" || request.type === "connect") listening.giveUp();
    if (request.type === "stop") await listening.askLast();
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
    if (file === null || this.#listening.isLive(file)) return null;
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
    const listening = this.#listening;
    if (listening.session === null) return;
    const why = "no page has been open on the laptop for a while: the vehicle is left alone";
    if (listening.live !== null) listening.add((t) => ({ k: "notice", t, text: why }));
    listening.giveUp();
    this.#inTurn(() => listening.disconnect()).catch((error: unknown) => listening.failed(error));
  }

  /** Ends the recording and lets go of the link. */
  async close(): Promise<void> {
    this.#listening.giveUp();
    await this.#queue;
    try {
      await this.#listening.disconnect();
    } finally {
      this.#statusDue?.();
      this.#visitors.close();
    }
  }

  async #do(request: Exclude<PageRequest, { type: Apart }>): Promise<void> {
    const listening = this.#listening;
    switch (request.type) {
      case "connect":
        try {
          await listening.connect(request);
          return;
        } catch (error) {
          this.#visitors.letGo();
          throw error;
        }
      case "disconnect":
        await listening.disconnect();
        this.#visitors.letGo();
        return;
      case "stop":
        return listening.stop();
      case "start":
        listening.start(request.facts);
        return;
      case "channels":
        listening.setChannels(request.channels, request.pinned ?? []);
        return;
      case "mark":
      case "facts":
        return this.#add(request.recording, eventOf(request));
      case "bench":
        theBench(listening.bench).act(request.act);
        this.#tellStatus();
        return;
      case "move":
        listening.move();
        return;
      case "take":
        return;
      case "arm":
        return listening.session?.arm(request.on, request.strength);
      case "guests-enter":
        return this.#lan?.letEnter(request.on);
      case "close-lan": {
        const lan = this.#lan;
        this.setLan(null);
        return lan?.close();
      }
    }
  }

  /** Adds to the live recording; one that ended meanwhile is a finished one. */
  async #add(file: string | null, event: AdditionMaker): Promise<void> {
    if (file === null || this.#listening.isLive(file)) this.#listening.add(event);
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
