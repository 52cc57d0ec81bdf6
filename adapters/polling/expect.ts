/**
 * How many replies a request will bring, and which modules take several parameters at once: announced first, then
 * learned from what comes. The count lets the adapter return with the last reply instead of waiting on.
 */
import { parameterByPid } from "../../shared/parameters.ts";
import { isOnKLine, protocols, type ProtocolId } from "../../shared/protocols.ts";
import type { HeardReply } from "./heard.ts";
import type { Means, Modules } from "./schedule.ts";

/** Times in a row that a module must fail to answer, while another does, before it is no longer waited for. */
const missesUntilDead = 3;
/** A module that fell silent is listened for again this often, by a request without count; milliseconds. */
const deadAskedAgainMs = 5000;
/** Failed tries until sharing a request is given up for a module. */
const failuresUntilSingle = 2;
/** Refusals of a counted request until counts are given up: one may be noise. */
const refusalsUntilUncounted = 2;
/** Most parameters in one request on CAN (SAE J1979, from memory). */
const mostShared = 6;
/** By identifier: service and three times two bytes fill one frame (ISO 14229-1, ISO 15765-2). */
const mostIdentified = 3;

/** What the count counts when a reply has several frames: adapters differ. */
type CountOf = "messages" | "frames" | "nothing";

interface ModuleState {
  misses: number;
  dead: boolean;
  sharingFailures: number;
  /** Most parameters that it takes in one request, as far as is known. */
  most: number;
  /** What it ever answered. */
  readonly came: Set<number>;
  /** Announced, never answered, and left out of a shared reply: asked alone until it comes. */
  readonly doubted: Set<number>;
}

export class Expectations {
  readonly #modules: Modules;
  readonly #byIdentifier: boolean;
  readonly #states = new Map<string, ModuleState>();
  readonly #uncountedPids = new Set<number>();
  #countOf: CountOf = "messages";
  #refusals = 0;
  #unfinished = 0;
  #lastUncountedMs = Number.NEGATIVE_INFINITY;
  #noneAnswers = false;

  /** `byIdentifier`: parameters are asked as F4xx, of two bytes each. */
  constructor(modules: Modules, byIdentifier = false) {
    this.#modules = modules;
    this.#byIdentifier = byIdentifier;
    for (const address of modules.keys())
      this.#states.set(address, {
        ...{ misses: 0, dead: false, sharingFailures: 0, most: byIdentifier ? mostIdentified : mostShared },
        ...{ came: new Set(), doubted: new Set() },
      });
  }

  /** False once the adapter has refused counted requests for good. */
  get counts(): boolean {
    return this.#refusals < refusalsUntilUncounted;
  }

  /** Modules that have stopped answering while others go on. */
  get deadModules(): string[] {
    return [...this.#states].filter(([, state]) => state.dead).map(([address]) => address);
  }

  /** Every module that announced it left it out of a reply that held others, and none ever answered it. */
  doubts(pid: number): boolean {
    const states = this.#supporting([pid]).map((address) => this.#states.get(address));
    return states.length > 0 && states.every((state) => state?.doubted.has(pid) === true);
  }

  /** How many replies to wait for; null to let the adapter wait out its own time. */
  repliesTo(pids: readonly number[], now: number): number | null {
    if (!this.counts || pids.some((pid) => this.#uncountedPids.has(pid))) return null;
    const asked = this.#supporting(pids);
    const living = asked.filter((address) => this.#states.get(address)?.dead !== true);
    if (living.length === 0) return null;
    if (living.length < asked.length && now - this.#lastUncountedMs > deadAskedAgainMs) return null;
    if (pids.length === 1 || this.#countOf === "messages") return living.length;
    if (this.#countOf === "nothing") return null;
    return living.reduce((sum, address) => sum + this.#framesOf(address, pids), 0);
  }

  means(protocol: ProtocolId): Means {
    const { family } = protocols[protocol];
    return {
      // When a shared request brought nothing, a single one tells whether sharing or the vehicle is at fault.
      mostPids: family === "can" && !this.#noneAnswers ? this.#most : 1,
      mayShare: (pid) => family === "can" && this.#mayShare(pid),
      // The K line needs 55 ms of rest after each reply (P3, ISO 14230-2, from memory).
      voltsAreFree: isOnKLine(protocols[protocol]),
    };
  }

  /** What every module takes that may share at all. */
  get #most(): number {
    const sharing = [...this.#states.values()].filter((state) => state.sharingFailures < failuresUntilSingle);
    const most = this.#byIdentifier ? mostIdentified : mostShared;
    return Math.min(most, ...sharing.map((state) => state.most));
  }

  /** `replies`: the count that was sent. */
  learn(pids: readonly number[], replies: number | null, heard: HeardReply, now: number): void {
    if (replies === null) this.#lastUncountedMs = now;
    if (heard.trouble === "refused" && replies !== null) {
      this.#refusals += 1;
      return;
    }
    if (replies !== null && heard.modules.size > 0) this.#refusals = 0;
    if (heard.pending) for (const pid of pids) this.#uncountedPids.add(pid);
    if (pids.length > 1) this.#learnSharing(pids, replies, heard);
    for (const { module, pid } of heard.answers) {
      const state = this.#states.get(module);
      state?.came.add(pid);
      state?.doubted.delete(pid);
    }
    // Half a message is a sign of life, though not of which module.
    if (!heard.unfinished) this.#learnLiving(pids, heard);
  }

  #supporting(pids: readonly number[]): string[] {
    const found: string[] = [];
    for (const [address, supported] of this.#modules)
      if (pids.some((pid) => supported.has(pid))) found.push(address);
    return found;
  }

  /** ISO 15765-2: seven bytes in one frame, else six in the first and seven in each that follows. */
  #framesOf(address: string, pids: readonly number[]): number {
    const supported = pids.filter((pid) => this.#modules.get(address)?.has(pid) === true);
    const bytes = supported.reduce(
      (sum, pid) => sum + (this.#byIdentifier ? 2 : 1) + (parameterByPid.get(pid)?.bytes ?? 0),
      1,
    );
    return bytes <= 7 ? 1 : 1 + Math.ceil((bytes - 6) / 7);
  }

  #mayShare(pid: number): boolean {
    const row = parameterByPid.get(pid);
    if (row === undefined || row.note !== undefined) return false;
    return this.#supporting([pid]).every((address) => {
      const state = this.#states.get(address);
      return state === undefined || (state.sharingFailures < failuresUntilSingle && !state.doubted.has(pid));
    });
  }

  #learnSharing(pids: readonly number[], replies: number | null, heard: HeardReply): void {
    if (heard.unfinished) {
      // Either the count stopped a long reply, or a frame was lost: the second time in a row it was the count.
      this.#unfinished += replies === null ? 0 : 1;
      if (this.#unfinished >= 2) {
        this.#unfinished = 0;
        this.#countOf = this.#countOf === "messages" ? "frames" : "nothing";
      }
      return;
    }
    if (heard.modules.size > 0) this.#unfinished = 0;
    if (this.#learnRefusal(pids, heard)) return;
    // A vehicle that says nothing at all proves nothing about sharing, unless it answers single requests.
    if (heard.modules.size === 0 && heard.trouble !== "no-answer" && heard.trouble !== "refused") return;
    if (heard.modules.size === 0 && this.#noneAnswers) return;
    for (const address of this.#supporting(pids)) {
      const state = this.#states.get(address);
      if (state === undefined || state.dead) continue;
      const wanted = pids.filter((pid) => this.#modules.get(address)?.has(pid) === true);
      const got = heard.answers.filter((answer) => answer.module === address);
      if (wanted.length < 2) continue;
      const missing = wanted.filter((pid) => !got.some((answer) => answer.pid === pid));
      if (missing.length === 0) state.sharingFailures = 0;
      else if (got.length > 1 && missing.every((pid) => !state.came.has(pid)))
        // It takes several, and leaves out what it may not have at all.
        for (const pid of missing) state.doubted.add(pid);
      else if (got.length > 0 || heard.modules.size === 0) {
        state.sharingFailures += 1;
        if (state.sharingFailures >= failuresUntilSingle && got.length > 1) {
          // It answers the first few of them: so many it takes.
          state.most = Math.min(state.most, got.length);
          state.sharingFailures = 0;
        }
      }
    }
  }

  /** A module that refuses the request as it was and gives nothing: half as many from now on. True where one did. */
  #learnRefusal(pids: readonly number[], heard: HeardReply): boolean {
    let shrunk = false;
    for (const address of heard.refusedForm) {
      const state = this.#states.get(address);
      if (state === undefined || heard.modules.has(address)) continue;
      state.most = Math.min(state.most, Math.ceil(pids.length / 2));
      if (state.most === 1) state.sharingFailures = failuresUntilSingle;
      shrunk = true;
    }
    return shrunk;
  }

  #learnLiving(pids: readonly number[], heard: HeardReply): void {
    this.#noneAnswers = heard.modules.size === 0 && heard.refusals === 0;
    for (const address of this.#supporting(pids)) {
      const state = this.#states.get(address);
      if (state === undefined) continue;
      if (heard.modules.has(address) || heard.refusedForm.has(address)) {
        state.misses = 0;
        state.dead = false;
      } else if (heard.modules.size > 0) {
        state.misses += 1;
        if (state.misses >= missesUntilDead) state.dead = true;
      }
    }
  }
}
