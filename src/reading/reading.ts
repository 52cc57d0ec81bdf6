/**
 * What a recording says: its lines folded into channels, marks, gaps and facts. The live view, a file that is
 * opened, the interpreter and the command line all read through this one fold, so replay equals live.
 */
import { readReply, type MessagePiece, type Piece } from "../../adapters/framing/index.ts";
import { ChannelStore } from "../../shared/channels.ts";
import {
  decodeParameter,
  infoFor,
  socketVoltage,
  supportedPids,
  type ChannelInfo,
} from "../../shared/decode.ts";
import { narrowSensorsFourBanks, parameterByPid, type Parameter } from "../../shared/parameters.ts";
import type { ProtocolId } from "../../shared/protocols.ts";
import type {
  AdapterIdentity,
  ExchangeEvent,
  Header,
  LinkEvent,
  MarkEvent,
  RecordingEvent,
  SampleEvent,
} from "../../shared/recording/format.ts";
import { RecordingReader, type Notice, type ReaderSink } from "../../shared/recording/reader.ts";
import type { ExchangeScan } from "../../shared/recording/scan.ts";
import { currentId } from "../../shared/stored/renamed.ts";
import { isUnitId } from "../../shared/units.ts";
import type { JobFacts } from "../../shared/vehicle.ts";
import { SocketVolts } from "../../shared/volts.ts";
import { asked, type Asked } from "./asked.ts";
import { DefinedReads } from "./defined.ts";
import { adapterModule, supportMapPids } from "./modules.ts";
import { brokenIn, claimsMore, partsOf, Replies } from "./replies.ts";
import { infoIn, type ServiceAnswer, type BrokenAnswer, type Gap, type Read } from "./read.ts";
import { QuickFold } from "./quick.ts";

const fourBanksByPid = new Map(narrowSensorsFourBanks.map((p) => [p.pid, p]));

export class Reading implements Read {
  readonly channels = new ChannelStore();
  readonly gaps: Gap[] = [];
  readonly notices: Notice[] = [];
  readonly answers: ServiceAnswer[] = [];
  readonly broken: BrokenAnswer[] = [];
  readonly links: LinkEvent[] = [];
  /** Events by kind, unknown kinds included. */
  readonly counts = new Map<string, number>();
  /** Lines of replies that could not be used, by reason. */
  readonly discarded = new Map<string, number>();
  /** Latest form of each mark by its id, removed ones included. */
  readonly #marks = new Map<string, MarkEvent>();
  /** Keys of notices that are told once. */
  readonly #told = new Set<string>();
  /** Channels that stand in no table. */
  readonly #units = new Map<string, ChannelInfo>();
  readonly #support = new Map<string, Set<number>>();
  readonly #reader: RecordingReader;
  readonly #sink: ReaderSink;
  #header: Header | null = null;
  #facts: JobFacts = {};
  #protocol: ProtocolId | null = null;
  #adapter: AdapterIdentity | null = null;
  #lastTime = 0;
  #ended = false;
  readonly #defined: DefinedReads;
  readonly #volts = new SocketVolts();
  readonly #replies = new Replies();
  readonly #quick: QuickFold;

  /** `where` names the file in error messages. */
  constructor(where: string) {
    const late = (channel: string, t: number): void => this.#late(channel, t);
    const unanswered = (channel: string, t: number): void => this.#unanswered(channel, t);
    this.#defined = new DefinedReads({
      append: (channel, module, t, value) => this.#append(channel, module, t, value),
      unanswered,
    });
    this.#quick = new QuickFold(this.channels, {
      ...{ volts: this.#volts, filled: this.#replies.filled },
      rowFor: (pid, module) => this.#rowFor(pid, module),
      isDefined: (pid) => this.#defined.knows(pid),
      ...{ late, unanswered, missing: (pid, t) => this.#missing(pid, t) },
    });
    this.#sink = {
      header: (header) => {
        this.#header = header;
        this.#protocol = header.protocol;
        this.#adapter = header.adapter;
        this.#facts = { vehicle: header.vehicle };
      },
      event: (event) => this.event(event),
      scanned: (exchange) => this.#scanned(exchange),
      unknown: (event) => {
        this.#count(event.k);
        this.#ended = false;
      },
      notice: (notice) => this.notices.push(notice),
    };
    this.#reader = new RecordingReader(this.#sink, where);
  }

  /** Bytes of the recording, or their text, in any chunks. Throws only for a wrong header. */
  push(chunk: string | Uint8Array): void {
    this.#reader.push(chunk);
  }

  finish(): void {
    this.#reader.finish();
  }

  get header(): Header | null {
    return this.#header;
  }

  /** Latest form of each mark, removed ones left out, by time. */
  get marks(): readonly MarkEvent[] {
    return [...this.#marks.values()].filter((m) => m.removed !== true).sort((a, b) => a.at - b.at);
  }

  get facts(): JobFacts {
    return this.#facts;
  }

  get protocol(): ProtocolId | null {
    return this.#protocol;
  }

  get adapter(): AdapterIdentity | null {
    return this.#adapter;
  }

  /** Parameters that each module announced. */
  get modules(): ReadonlyMap<string, ReadonlySet<number>> {
    return this.#support;
  }

  /** The latest time that anything was recorded at, milliseconds since the start. */
  get lastTime(): number {
    return this.#lastTime;
  }

  /** The last event was an end line. */
  get ended(): boolean {
    return this.#ended;
  }

  get invented(): boolean {
    return this.#header?.invented ?? false;
  }

  /** What the recording itself says of its channels. */
  get named(): Map<string, ChannelInfo> {
    return new Map([...this.#units, ...this.#defined.infos]);
  }

  info(channel: string): ChannelInfo {
    const own = this.#defined.infos.get(channel);
    return own ?? infoIn(this.#units, channel);
  }

  /** For a reader of one's own, such as one that inflates a file as it reads. */
  get sink(): ReaderSink {
    return this.#sink;
  }

  /** Takes one event; `push` does this for each line. */
  event(event: RecordingEvent): void {
    this.#count(event.k);
    this.#ended = event.k === "end";
    switch (event.k) {
      case "x":
        this.#exchange(event);
        break;
      case "s":
        this.#sample(event);
        break;
      case "mark":
        this.#marks.set(event.id, event);
        break;
      case "link":
        this.#link(event);
        break;
      case "facts":
        this.#facts = event.facts;
        break;
      case "notice":
        this.notices.push({ line: 0, text: event.text, lost: false });
        break;
      case "defined":
        this.#defined.define(event.parameters);
        this.#quick.forgetRows();
        break;
      case "stray":
        this.#volts.stray();
        break;
      case "end":
        break;
    }
  }

  /** The usual exchange, where it stands in the text; false leaves it to `event`. */
  #scanned(exchange: ExchangeScan): boolean {
    if (this.#protocol === null || !this.#quick.take(exchange, this.#protocol)) return false;
    if (this.#quick.sawModule) this.#replies.headersOn = true;
    this.#count("x");
    this.#ended = false;
    const { t, first, end } = exchange;
    this.#reach(t + (Number.isNaN(end) ? (Number.isNaN(first) ? 0 : first) : end));
    return true;
  }

  #count(kind: string): void {
    this.counts.set(kind, (this.counts.get(kind) ?? 0) + 1);
  }

  /** Marks and facts may be added days later and do not lengthen the recording. */
  #reach(t: number): void {
    if (t > this.#lastTime) this.#lastTime = t;
  }

  #exchange(event: ExchangeEvent): void {
    this.#reach(event.t + (event.end ?? event.first ?? 0));
    const what = asked(event.ask);
    const t = event.t + (event.first ?? 0);
    const volts = this.#volts.take(event);
    if (what.kind === "voltage") {
      if (volts !== null) this.#append(socketVoltage, adapterModule, t, volts);
      else this.#unanswered(socketVoltage, event.t);
      return;
    }
    if (what.kind === "other") {
      this.#defined.noteCommand(event.ask);
      return;
    }
    // The answer to an earlier command.
    const isLate = event.err === "late";
    const defined = this.#defined.asked(event.ask);
    if (defined.length > 0) {
      const how = { protocol: this.#protocol, headersOn: this.#replies.headersOn };
      const pieces = isLate ? [] : this.#defined.pieces(defined, event.lines, how);
      this.#defined.take(defined, this.#messages(pieces), { asked: event.t, t });
      return;
    }
    const answeredPids = new Set<number>();
    const pieces = isLate ? [] : readReply(event.lines, this.#protocol, this.#replies.headersOn);
    const messages = this.#messages(pieces).filter(
      (piece) => piece.claims === undefined || this.#mayUse(piece, event, what),
    );
    if (what.kind === "service") this.broken.push(...brokenIn(pieces, { t, ask: event.ask }));
    for (const piece of messages) {
      if (what.kind === "service")
        this.answers.push({ t, module: piece.module, ask: event.ask, data: piece.data });
    }
    if (what.kind !== "parameters") return;
    for (const { pid, module, data } of partsOf(messages, what)) {
      answeredPids.add(pid);
      this.#parameter(pid, module, data, t);
    }
    for (const pid of what.pids) if (!answeredPids.has(pid)) this.#missing(pid, event.t);
  }

  /** A frame that announced more than it holds: told; what came of a single parameter is used. */
  #mayUse(piece: MessagePiece, { ask }: ExchangeEvent, what: Asked): boolean {
    const use = what.kind === "parameters" && what.pids.length === 1 && piece.data[1] === what.pids[0];
    const { key, text } = claimsMore(piece, ask, use);
    this.#noticeOnce(key, text);
    return use;
  }

  /** What was said in whole, in answer to this command; the rest is counted. */
  #messages(pieces: readonly Piece[]): MessagePiece[] {
    const { messages, discarded } = this.#replies.take(pieces, this.#protocol);
    for (const reason of discarded) this.discarded.set(reason, (this.discarded.get(reason) ?? 0) + 1);
    return messages;
  }

  #parameter(pid: number, module: string, data: Uint8Array, t: number): void {
    if (supportMapPids.has(pid)) {
      const pids = this.#support.get(module) ?? new Set<number>();
      for (const supported of supportedPids(pid, data)) pids.add(supported);
      this.#support.set(module, pids);
      this.#quick.forgetRows();
      return;
    }
    const parameter = this.#rowFor(pid, module);
    if (parameter === undefined) return;
    for (const { value, number } of decodeParameter(parameter, data))
      this.#append(value.channel, module, t, number);
  }

  /** 14 to 1B are numbered over four banks by a module that announces 1D and not 13. */
  #rowFor(pid: number, module: string): Parameter | undefined {
    const pids = this.#support.get(module);
    if (pids?.has(0x1d) === true && !pids.has(0x13))
      return fourBanksByPid.get(pid) ?? parameterByPid.get(pid);
    const row = parameterByPid.get(pid);
    return row?.later === true ? this.#defined.without(row) : row;
  }

  #append(channel: string, module: string, t: number, value: number): void {
    if (!this.channels.append(channel, module, t, value)) this.#late(channel, t);
  }

  #late(channel: string, t: number): void {
    this.#noticeOnce(
      `order ${channel}`,
      `readings of ${channel} from ${t} ms on lie before earlier ones and were dropped`,
    );
  }

  /** An altered file may hold the same defect a million times; it is told once. */
  #noticeOnce(key: string, text: string): void {
    if (this.#told.has(key)) return;
    this.#told.add(key);
    this.notices.push({ line: 0, text, lost: true });
  }

  /** Asked and not answered: a hole in every series of the channel that had answers before. */
  #unanswered(channel: string, t: number): void {
    for (const series of this.channels.of(channel)) if (t >= series.lastTime) series.append(t, Number.NaN);
  }

  #missing(pid: number, t: number): void {
    for (const value of parameterByPid.get(pid)?.values ?? []) this.#unanswered(value.channel, t);
  }

  #sample(event: SampleEvent): void {
    this.#reach(event.t);
    const channel = currentId("channels", event.ch);
    const known = infoFor(channel, event.u);
    if (known === undefined && !this.#units.has(channel)) {
      const unit = isUnitId(event.u) ? event.u : "ratio";
      this.#units.set(channel, { channel, name: channel, short: channel, unit });
    }
    if (known !== undefined && event.u !== known.unit) {
      this.#noticeOnce(`unit ${channel}`, `${channel} is kept in ${known.unit}, found ${event.u}: not used`);
      return;
    }
    this.#append(channel, "", event.t, event.v ?? Number.NaN);
  }

  #link(event: LinkEvent): void {
    this.#reach(event.t);
    this.links.push(event);
    if (event.adapter !== undefined) this.#adapter = event.adapter;
    this.#defined.noteLink(event.state);
    if (event.protocol !== undefined) this.#protocol = event.protocol;
    for (const [module, pids] of Object.entries(event.modules ?? {}))
      this.#support.set(module, new Set(pids));
    this.#quick.forgetRows();
    const open = this.gaps.at(-1);
    const closesGap = event.state === "back" || event.state === "opened";
    if (closesGap && open !== undefined && open.to === null) open.to = event.t;
    if (event.state !== "lost") return;
    if (open === undefined || open.to !== null)
      this.gaps.push({ from: event.t, to: null, why: event.why ?? "link lost" });
    for (const series of this.channels.all())
      if (event.t >= series.lastTime) series.append(event.t, Number.NaN);
  }
}
