/**
 * The reading of channels on a vehicle that is known: which command comes next, and what its reply teaches. Holds
 * no line and no timer: commands go out and exchanges come in through whoever owns the dialogue.
 */
import { parameterByPid } from "../../shared/parameters.ts";
import type { ProtocolId } from "../../shared/protocols.ts";
import { decodeParameter, socketVoltage } from "../../shared/decode.ts";
import { headersFor, type Exchange, type HeaderPair } from "../dialogue/index.ts";
import { addressesOf, type DefinedParameter } from "../../shared/defined.ts";
import { identifiedRequest } from "../../shared/identified.ts";
import { Expectations } from "./expect.ts";
import { firstFocus, foldFocus, type Focus, type FocusInput, type FocusState } from "./focus.ts";
import { firstBattery, foldBattery, isSpared, sparedEveryMs, type BatteryState } from "./battery.ts";
import { StrengthAsking } from "./strengthAsking.ts";
import { DefinedReplies } from "./definedReads.ts";
import { hear, hearIdentified, hearRead, type HeardReply } from "./heard.ts";
import {
  commandOf,
  idOfRead,
  nextRequest,
  nothingAsked,
  pidOf,
  singlesOnly,
  usualChannels,
  wantedOf,
  withCount,
  type AskId,
  type Modules,
  type Request,
  type ScheduleState,
  type Wanted,
} from "./schedule.ts";

const speedPid = 0x0c;

/** Unanswered requests in a row after which the vehicle counts as silent. */
const quietAfter = 3;

/** Times in a row that one parameter must fail, with an answer to another just before each, to be asked seldom. */
const barrenAfter = 5;

/** ... which is this often, milliseconds: its module may have been away while another one answered. */
const barrenEveryMs = 10_000;

/** A silent vehicle is asked after this many voltage readings, so that the voltage goes on. */
const quietVoltsBetween = 1;

export interface Vehicle {
  readonly protocol: ProtocolId;
  readonly modules: Modules;
  /** It speaks SAE J1979-2: parameters are asked as identifiers F4xx. With what nobody could confirm, if that was wished. */
  readonly byIdentifier?: { readonly unconfirmed: boolean };
}

export interface Asking {
  readonly command: string;
  readonly request: Request;
  readonly replies: number | null;
  /** For one module alone; null or absent: to all. */
  readonly headers?: HeaderPair | null;
}

/** What one exchange meant. */
export interface Learned {
  /** Something of the vehicle was heard. */
  readonly answered: boolean;
  /** The reply belongs to another request. */
  readonly foreign: boolean;
  /** The vehicle fell silent, or answers again, with this exchange. */
  readonly turned: "silent" | "answering" | null;
}

export class Poller {
  #vehicle: Vehicle | null = null;
  #expect = new Expectations(new Map());
  #schedule: ScheduleState = nothingAsked;
  #focus: FocusState = firstFocus;
  #battery: BatteryState = firstBattery;
  /** While the battery is spared the vehicle is not asked before this. */
  #sparedUntil = 0;
  #strength: StrengthAsking | null = null;
  #channels: readonly string[] = [];
  #pinned: ReadonlySet<string> = new Set();
  #volts = true;
  #wanted: { readonly focus: Focus; readonly list: readonly Wanted[] } | null = null;
  #unanswered = 0;
  #turnQuiet = 0;
  readonly #counts = new Map<string, number>();
  readonly #misses = new Map<AskId, number>();
  readonly #defined: DefinedReplies;

  readonly #heard: readonly string[];

  /** `defined`: the reads that the person defined; `heard`: channels that are read slowly in any case. */
  constructor(defined: readonly DefinedParameter[] = [], heard: readonly string[] = []) {
    this.#heard = heard;
    this.#defined = new DefinedReplies(defined);
  }

  get vehicle(): Vehicle | null {
    return this.#vehicle;
  }

  get focus(): Focus {
    return this.#focus.focus;
  }

  get armed(): boolean {
    return this.#focus.armed || this.strength;
  }

  /** Voltage and speed alone, until told otherwise or the engine runs. */
  get strength(): boolean {
    return this.#strength !== null;
  }

  /** The vehicle is known and does not answer at present. */
  get quiet(): boolean {
    return this.#vehicle !== null && this.#unanswered >= quietAfter;
  }

  /** Nothing of a vehicle was heard, or nothing that can be asked: what it announced may have been misheard. */
  get unheard(): boolean {
    const vehicle = this.#vehicle;
    return vehicle === null || vehicle.modules.size === 0 || this.#wantedNow(vehicle).length === 0;
  }

  /** The voltage of a battery that is low with the engine off, or null. */
  get lowVolts(): number | null {
    return this.#battery.low ? this.#battery.volts : null;
  }

  /** The vehicle is asked seldom now, for its battery's sake. */
  spares(now: number): boolean {
    return this.#volts && !this.armed && this.focus === "survey" && isSpared(this.#battery, now);
  }

  /** False when the adapter refuses counted requests. */
  get counts(): boolean {
    return this.#expect.counts;
  }

  /** Channels that are being read, by what the modules support. */
  get channels(): readonly string[] {
    if (this.#channels.length > 0) return this.#channels;
    if (this.#vehicle === null) return [socketVoltage];
    return [...usualChannels(this.#vehicle.modules), ...this.#defined.rows.map((row) => row.channel)];
  }

  setVehicle(vehicle: Vehicle): void {
    this.#vehicle = vehicle;
    this.#expect = new Expectations(vehicle.modules, vehicle.byIdentifier !== undefined);
    this.#unanswered = 0;
    this.#misses.clear();
    this.#wanted = null;
  }

  /** Empty: the usual channels. */
  setChannels(channels: readonly string[], pinned: readonly string[] = []): void {
    this.#channels = [...channels];
    this.#pinned = new Set(pinned);
    this.#wanted = null;
  }

  /** False for an adapter that does not tell the supply voltage. */
  setVolts(possible: boolean): void {
    this.#volts = possible;
    this.#wanted = null;
  }

  arm(armed: boolean, now: number, strength = false): void {
    this.#strength = armed && strength ? new StrengthAsking() : null;
    this.#see({ kind: "arm", now, armed });
  }

  /** The next command, or null when there is nothing to ask. */
  next(now: number): Asking | null {
    const vehicle = this.#vehicle;
    if (this.spares(now)) {
      if (now < this.#sparedUntil) return { command: "ATRV", request: { kind: "volts" }, replies: null };
      this.#sparedUntil = now + sparedEveryMs;
    }
    if (vehicle === null || (this.quiet && this.#turnQuiet < quietVoltsBetween && this.#volts)) {
      this.#turnQuiet += 1;
      return this.#volts ? { command: "ATRV", request: { kind: "volts" }, replies: null } : null;
    }
    this.#turnQuiet = 0;
    const means = this.quiet ? singlesOnly : this.#expect.means(vehicle.protocol);
    if (this.#strength !== null && !this.quiet) return this.#strengthNext(this.#strength, vehicle, now);
    const next = nextRequest(this.#wantedNow(vehicle), this.#schedule, { now, focus: this.focus, means });
    if (next === null) return null;
    this.#schedule = next.state;
    const { request } = next;
    if (request.kind === "volts") {
      // It was the voltage's turn: the vehicle's is still due.
      this.#sparedUntil = 0;
      return { command: "ATRV", request, replies: null };
    }
    if (request.kind === "defined") {
      const replies = this.counts ? this.#defined.repliesTo(idOfRead(request)) : null;
      const headers = request.alone === undefined ? null : headersFor(vehicle.protocol, request.alone);
      return { command: withCount(request.read, replies), request, replies, headers };
    }
    return this.#parameters(request, vehicle, now);
  }

  #parameters(request: Request & { readonly kind: "parameters" }, vehicle: Vehicle, now: number): Asking {
    const replies = this.#expect.repliesTo(request.pids, now);
    const command =
      vehicle.byIdentifier !== undefined
        ? withCount(identifiedRequest(request.pids), replies)
        : commandOf(request.pids, replies);
    return { command, request, replies };
  }

  #strengthNext(strength: StrengthAsking, vehicle: Vehicle, now: number): Asking {
    const what = strength.next(this.#expect.means(vehicle.protocol).voltsAreFree);
    const speed = pidOf("engine-speed", vehicle.modules) !== undefined;
    if ((what === "speed" && speed) || !this.#volts)
      return this.#parameters({ kind: "parameters", pids: [speedPid] }, vehicle, now);
    return { command: "ATRV", request: { kind: "volts" }, replies: null };
  }

  /** Takes the exchange that came of `next`. */
  learn(asking: Asking, exchange: Exchange, now: number): Learned {
    const { request, replies } = asking;
    if (request.kind === "volts") {
      const { volts } = exchange;
      if (volts !== undefined) {
        this.#count(socketVoltage);
        this.#see({ kind: "volts", now, volts });
      }
      return { answered: false, foreign: false, turned: null };
    }
    const vehicle = this.#vehicle;
    if (vehicle === null) return { answered: false, foreign: false, turned: null };
    if (request.kind === "defined") {
      const heard = hearRead(exchange.answer, request.read, vehicle.protocol, ownAddresses(request.alone));
      const id = idOfRead(request);
      for (const channel of this.#defined.learn(id, replies, heard)) this.#count(channel);
      return this.#learned([id], heard);
    }
    const how = vehicle.byIdentifier !== undefined ? hearIdentified : hear;
    const heard = how(exchange.answer, request.pids, vehicle.protocol);
    if (exchange.end !== null) this.#expect.learn(request.pids, replies, heard, now);
    for (const { pid, data } of heard.answers) this.#take(pid, data, now);
    if (request.pids.includes(speedPid) && !heard.answers.some(({ pid }) => pid === speedPid)) {
      this.#see({ kind: "speed", now, rpm: null });
    }
    return this.#learned(request.pids, heard);
  }

  #learned(ids: readonly AskId[], heard: HeardReply): Learned {
    return {
      answered: heard.answers.length > 0,
      foreign: heard.foreign,
      turned: this.#turn(ids, heard),
    };
  }

  /** Readings by channel since the last call. */
  takeCounts(): ReadonlyMap<string, number> {
    const counts = new Map(this.#counts);
    this.#counts.clear();
    return counts;
  }

  #turn(ids: readonly AskId[], heard: HeardReply): Learned["turned"] {
    const before = this.#unanswered;
    if (heard.answers.length > 0) {
      this.#unanswered = 0;
      const came = ids.filter((id) => typeof id === "string" || heard.answers.some(({ pid }) => pid === id));
      for (const id of came) this.#answered(id);
      return before >= quietAfter ? "answering" : null;
    }
    // A module that says no is there; to several at once it may say no because they are several.
    if (heard.refusals > 0) {
      if (ids.length === 1 && ids[0] !== undefined) this.#missed(ids[0]);
      this.#unanswered = 0;
      return before >= quietAfter ? "answering" : null;
    }
    // It may be the count that the adapter refuses, until that is settled.
    if (heard.trouble === "refused" && this.counts) return null;
    const [id] = ids;
    if (before === 0 && ids.length === 1 && id !== undefined) this.#missed(id);
    // What a map announces and nobody ever answered says nothing of whether the vehicle is there.
    if (ids.length === 1 && typeof id === "number" && this.#expect.doubts(id)) return null;
    this.#unanswered = before + 1;
    return this.#unanswered === quietAfter ? "silent" : null;
  }

  #answered(id: AskId): void {
    if ((this.#misses.get(id) ?? 0) >= barrenAfter) this.#wanted = null;
    this.#misses.delete(id);
  }

  /** A parameter that is announced and does not come, while others do, is asked seldom. */
  #missed(id: AskId): void {
    const misses = (this.#misses.get(id) ?? 0) + 1;
    this.#misses.set(id, misses);
    if (misses === barrenAfter) this.#wanted = null;
  }

  #take(pid: number, data: Uint8Array, now: number): void {
    const row = parameterByPid.get(pid);
    if (row === undefined) return;
    for (const { value, number } of decodeParameter(row, data)) {
      this.#count(value.channel);
      if (pid === speedPid) this.#see({ kind: "speed", now, rpm: number });
    }
  }

  #count(channel: string): void {
    this.#counts.set(channel, (this.#counts.get(channel) ?? 0) + 1);
  }

  #see(input: FocusInput): void {
    this.#battery = foldBattery(this.#battery, input);
    this.#focus = foldFocus(this.#focus, input);
    // It fired after all: then everything is asked again.
    if (this.#focus.focus === "running") this.#strength = null;
  }

  #wantedNow(vehicle: Vehicle): readonly Wanted[] {
    const { focus } = this;
    if (this.#wanted?.focus !== focus) {
      const list = wantedOf({
        channels: this.#channels,
        heard: this.#heard,
        pinned: this.#pinned,
        modules: vehicle.modules,
        focus,
        volts: this.#volts,
        defined: this.#defined.rows.filter((row) => canBeAsked(row, vehicle.protocol)),
      });
      const barren = (id: AskId): boolean => (this.#misses.get(id) ?? 0) >= barrenAfter;
      const seldom = { share: 0, maxAgeMs: barrenEveryMs, leads: false };
      this.#wanted = { focus, list: list.map((item) => (barren(item.pid) ? { ...item, ...seldom } : item)) };
    }
    return this.#wanted.list;
  }
}

/** Of a module that is asked by its own addresses: where it replies, and whether with an address in each frame. */
function ownAddresses(alone: string | undefined): { from: string; addressed: boolean } | undefined {
  const from = /^[0-9A-F]+>([0-9A-F]+)/.exec(alone ?? "")?.[1];
  return from === undefined ? undefined : { from, addressed: alone?.includes("/") === true };
}

/** A module by its own addresses is asked only on a bus that has such. */
function canBeAsked(row: DefinedParameter, protocol: ProtocolId): boolean {
  const own = addressesOf(row);
  return own === undefined || headersFor(protocol, own) !== null;
}
