/** Folds the replies to reads that a person defined into channels; counters also into their steps a second. */
import type { ChannelInfo } from "../../shared/decode.ts";
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

/** What is defined and where the counters stood, as plain values. */
export interface PackedDefined {
  readonly rows: readonly DefinedParameter[];
  readonly stands: ReadonlyMap<string, Stand>;
}

export class DefinedReads {
  readonly #host: DefinedHost;
  readonly #rows = new Map<string, DefinedParameter>();
  readonly #infos = new Map<string, ChannelInfo>();
  readonly #byRequest = new Map<string, DefinedParameter[]>();
  readonly #stands = new Map<string, Stand>();

  constructor(host: DefinedHost, packed?: PackedDefined) {
    this.#host = host;
    if (packed === undefined) return;
    this.define(packed.rows);
    for (const [key, stand] of packed.stands) this.#stands.set(key, stand);
  }

  pack(): PackedDefined {
    return { rows: [...this.#rows.values()], stands: this.#stands };
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

  info(channel: string): ChannelInfo | undefined {
    return this.#infos.get(channel);
  }

  /** The rows that a command reads; it may end in a reply count. */
  asked(command: string): readonly DefinedParameter[] {
    if (this.#byRequest.size === 0) return [];
    const bare = command.length % 2 === 1 ? command.slice(0, -1) : command;
    return this.#byRequest.get(bare) ?? [];
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

  /** The link is gone: what a counter did meanwhile is not known. */
  forget(): void {
    this.#stands.clear();
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

function infoOf(row: DefinedParameter): ChannelInfo {
  const { channel, name, unit } = row;
  return { channel, name, short: row.short ?? name, unit, defined: row };
}

function rateInfo(row: DefinedParameter): ChannelInfo {
  const name = `${row.name}, steps a second`;
  return { channel: rateChannel(row.channel), name, short: `${row.short ?? row.name} steps`, unit: "1/s" };
}
