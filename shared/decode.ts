import { bitWords, enumWord } from "./enumerations.ts";
import {
  narrowSensorsFourBanks,
  parameterByPid,
  parameters,
  type Parameter,
  type Value,
} from "./parameters.ts";
import { troubleCode } from "./codes.ts";
import type { DefinedParameter } from "./definedForm.ts";
import { format, type UnitSystem } from "./units.ts";

export interface Decoded {
  readonly value: Value;
  readonly number: number;
}

/**
 * The values inside the data bytes of one parameter (the bytes after service and parameter number). Values
 * whose presence bit is clear, whose raw code means "absent", or whose bytes are missing are left out.
 */
export function decodeParameter(parameter: Parameter, data: Uint8Array, at = 0): Decoded[] {
  const decoded: Decoded[] = [];
  for (const value of parameter.values) {
    const number = valueAt(value, data, at, data.length);
    if (!Number.isNaN(number)) decoded.push({ value, number });
  }
  return decoded;
}

/** One value of the data bytes that stand from `at` up to, not including, `stop`; NaN where it is not there. */
export function valueAt(value: Value, data: Uint8Array, at: number, stop: number): number {
  if (at + value.at + value.len > stop) return Number.NaN;
  const { when } = value;
  if (when !== undefined) {
    const bits = (1 << when.bit) | (when.or === undefined ? 0 : 1 << when.or);
    if (at + when.at >= stop || ((data[at + when.at] ?? 0) & bits) === 0) return Number.NaN;
  }
  const raw = rawOf(value, data, at);
  return value.absent === raw ? Number.NaN : scale(value, raw);
}

function rawOf(value: Value, data: Uint8Array, at: number): number {
  let raw = 0;
  for (let i = 0; i < value.len; i++) raw = raw * 256 + (data[at + value.at + i] ?? 0);
  if (value.part !== undefined) return (raw >> value.part.shift) & value.part.mask;
  if (value.signed === true && raw >= 2 ** (8 * value.len - 1)) raw -= 2 ** (8 * value.len);
  return raw;
}

/** The table's scaling of a raw code: raw * mul / div + add. */
export function scale(value: Value, raw: number): number {
  return (raw * (value.mul ?? 1)) / (value.div ?? 1) + (value.add ?? 0);
}

/** The raw code that scales to this number; not rounded, so that "is it an exact code" can be asked. */
export function unscale(value: Value, number: number): number {
  return ((number - (value.add ?? 0)) * (value.div ?? 1)) / (value.mul ?? 1);
}

/** Which parameters a support map announces: bit 7 of the first byte stands for base + 1. */
export function supportedPids(base: number, data: Uint8Array): number[] {
  const pids: number[] = [];
  for (let bit = 0; bit < 32; bit++) {
    if (((data[bit >> 3] ?? 0) & (0x80 >> (bit & 7))) !== 0) pids.push(base + bit + 1);
  }
  return pids;
}

export interface ChannelInfo {
  readonly channel: string;
  readonly name: string;
  readonly short: string;
  readonly unit: Value["unit"];
  /** The parameter that carries it; undefined for what does not come from service 01. */
  readonly pid?: number;
  readonly value?: Value;
  /** The definition, where a person gave it. */
  readonly defined?: DefinedParameter;
}

/** Supply voltage at the diagnostic socket, measured by the adapter itself. */
export const socketVoltage = "socket-voltage";

const channelTable: ReadonlyMap<string, ChannelInfo> = new Map([
  [
    socketVoltage,
    { channel: socketVoltage, name: "Supply voltage at the socket", short: "volts (socket)", unit: "V" },
  ],
  ...[...narrowSensorsFourBanks, ...parameters].flatMap((p) =>
    p.values.map((v): [string, ChannelInfo] => [
      v.channel,
      { channel: v.channel, name: v.name, short: v.short, unit: v.unit, pid: p.pid, value: v },
    ]),
  ),
]);

export const channels: readonly ChannelInfo[] = [...channelTable.values()];

export function channelInfo(channel: string): ChannelInfo | undefined {
  return channelTable.get(channel);
}

export function parameterOf(channel: string): Parameter | undefined {
  const pid = channelTable.get(channel)?.pid;
  return pid === undefined ? undefined : parameterByPid.get(pid);
}

/** True for a channel that came into the table after the first release. */
export function isLater({ pid }: ChannelInfo): boolean {
  return pid !== undefined && parameterByPid.get(pid)?.later === true;
}

/**
 * A channel of the table as a sample in this unit means it: undefined for one that came into the table after the first
 * release and has another unit there, since a file from before may mean something else by its name.
 */
export function infoFor(channel: string, unit: string): ChannelInfo | undefined {
  const info = channelTable.get(channel);
  return info !== undefined && isLater(info) && info.unit !== unit ? undefined : info;
}

/** A number of a channel in words: with its unit, or the word of an enumeration, the bits, the code. */
export function inWords(info: ChannelInfo, number: number, system: UnitSystem): string {
  if (Number.isNaN(number)) return "no answer";
  if (info.value?.enumeration !== undefined) return enumWord(info.value.enumeration, number);
  if (info.value?.bits !== undefined) return bitWords(info.value.bits, number).join(", ");
  if (info.unit === "code") return number === 0 ? "none" : troubleCode(number);
  if (info.unit === "bits") return number.toString(16).toUpperCase().padStart(8, "0");
  return format(number, info.unit, system);
}
