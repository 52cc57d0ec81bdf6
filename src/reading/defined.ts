/** Folds the replies to reads that a person defined into channels; counters also into their steps a second. */
import type { ChannelInfo } from "../../shared/decode.ts";
import { readReply, type MessagePiece, type Others, type Piece } from "../../adapters/framing/index.ts";
import type { LinkState } from "../../shared/recording/format.ts";
import type { Parameter } from "../../shared/parameters.ts";
import type { ProtocolId } from "../../shared/protocols.ts";
import {
  counterSteps,
  definedChannels,
  definedValue,
  isFrom,
  rateChannel,
  replyBody,
  type DefinedParameter,
} from "../../shared/defined.ts";

export interface DefinedHost {
  append(channel: string, module: string, t: number, value: number): void;
  /** Asked and not answered. */
  unanswered(channel: string, t: number): void;
}

/** Where a counter of one module stood. */
interface Stand {
  readonly t: number;
  readonly value: number;
}

export class DefinedReads {
  readonly #host: DefinedHost;
  readonly #rows = new Map<string, DefinedParameter>();
  readonly #infos = new Map<string, ChannelInfo>();
  readonly #byRequest = new Map<string, DefinedParameter[]>();
  readonly #stands = new Map<string, Stand>();
  /** The request header that was set last; null: the one to all modules. */
  #header: string | null = null;

  constructor(host: DefinedHost) {
    this.#host = host;
  }

  define(rows: readonly DefinedParameter[]): void {
    for (const row of rows) {
      this.#rows.set(row.channel, row);
      this.#infos.set(row.channel, infoOf(row));
      if (row.kind === "counter") this.#infos.set(rateChannel(row.channel), rateInfo(row));
    }
    this.#byRequest.clear();
    for (const row of this.#rows.values()) {
      const rowsOf = this.#byRequest.get(row.request) ?? [];
      this.#byRequest.set(row.request, [...rowsOf, row]);
    }
  }

  /** What a person defined, by channel. */
  get infos(): ReadonlyMap<string, ChannelInfo> {
    return this.#infos;
  }

  /** The rows that a command reads; it may end in a reply count. Only of the module that is addressed, if one is. */
  asked(command: string): readonly DefinedParameter[] {
    if (this.#byRequest.size === 0) return [];
    const bare = command.length % 2 === 1 ? command.slice(0, -1) : command;
    const rows = this.#byRequest.get(bare) ?? [];
    if (!rows.some(({ to }) => to !== undefined)) return rows;
    const own = rows.filter(({ to }) => to !== undefined && headerOf(to) === this.#header);
    return own.length > 0 ? own : rows.filter(({ to }) => to === undefined);
  }

  /** A command to the adapter itself: it may have said whom the next request goes to. */
  noteCommand(command: string): void {
    const text = command.replace(/\s+/g, "").toUpperCase();
    const header = /^ATSH([0-9A-F]{3,8})$/.exec(text)?.[1];
    if (header !== undefined) this.#header = header;
    else if (/^AT(?:Z|WS|D)$/.test(text)) this.#header = null;
  }

  /** The reply to these rows, taken apart with the addresses that they name. */
  pieces(
    rows: readonly DefinedParameter[],
    lines: readonly string[],
    { protocol, headersOn }: { readonly protocol: ProtocolId | null; readonly headersOn: true | undefined },
  ): Piece[] {
    const ids = new Set(rows.flatMap(({ from }) => (from === undefined ? [] : [from])));
    if (ids.size === 0) return readReply(lines, protocol, headersOn);
    const said = rows.some(({ extension }) => extension !== undefined);
    const plain = readReply(lines, protocol, headersOn, { ids });
    if (!said && answers(rows, plain)) return plain;
    const behind = readReply(lines, protocol, headersOn, { ids, addressed: true } satisfies Others);
    // Some modules put an address byte before each frame's contents; a person may not know that of his.
    return said || answers(rows, behind) ? behind : plain;
  }

  /** A row of the table less the channels that a person gave a meaning of his own: that one goes first. */
  without(row: Parameter): Parameter {
    if (!row.values.some(({ channel }) => this.#infos.has(channel))) return row;
    return { ...row, values: row.values.filter(({ channel }) => !this.#infos.has(channel)) };
  }

  /** A service 01 number of which a definition tells the meaning. */
  knows(pid: number): boolean {
    return this.#byRequest.has(`01${pid.toString(16).toUpperCase().padStart(2, "0")}`);
  }

  /** The whole messages that came for these rows. `asked` and `t`: when it was asked, and when answered. */
  take(
    rows: readonly DefinedParameter[],
    messages: readonly { readonly module: string; readonly data: Uint8Array }[],
    { asked, t }: { readonly asked: number; readonly t: number },
  ): void {
    for (const row of rows) {
      let answered = false;
      for (const { module, data } of messages) {
        const body = replyBody(row.request, data);
        if (body === null || !isFrom(row, module)) continue;
        const value = definedValue(row, body);
        if (Number.isNaN(value)) continue;
        answered = true;
        this.#host.append(row.channel, module, t, value);
        if (row.kind === "counter") this.#step(row, module, { t, value });
      }
      if (answered) continue;
      for (const channel of definedChannels(row)) this.#host.unanswered(channel, asked);
    }
  }

  /** An adapter that began anew asks all modules again. What a counter did while the link was gone is not known. */
  noteLink(state: LinkState): void {
    if (state === "reset" || state === "low-voltage" || state === "opened") this.#header = null;
    if (state === "lost") this.#stands.clear();
  }

  #step(row: DefinedParameter, module: string, now: Stand): void {
    const key = `${row.channel} ${module}`;
    const before = this.#stands.get(key);
    this.#stands.set(key, now);
    if (before === undefined || now.t <= before.t) return;
    const steps = counterSteps(before.value, now.value, row.length);
    const rate = steps === null ? Number.NaN : (steps * 1000) / (now.t - before.t);
    this.#host.append(rateChannel(row.channel), module, now.t, rate);
  }
}

/** The header as the adapter is given it: of 29 bits the last three bytes. */
function headerOf(to: string): string {
  return to.length === 8 ? to.slice(2) : to;
}

function answers(rows: readonly DefinedParameter[], pieces: readonly Piece[]): boolean {
  return pieces.some(
    (piece): piece is MessagePiece =>
      piece.kind === "message" &&
      rows.some((row) => isFrom(row, piece.module) && replyBody(row.request, piece.data) !== null),
  );
}

function infoOf(row: DefinedParameter): ChannelInfo {
  const { channel, name, unit } = row;
  return { channel, name, short: row.short ?? name, unit, defined: row };
}

function rateInfo(row: DefinedParameter): ChannelInfo {
  const name = `${row.name}, steps a second`;
  return { channel: rateChannel(row.channel), name, short: `${row.short ?? row.name} steps`, unit: "1/s" };
}
