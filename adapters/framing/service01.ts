import { parameterByPid } from "../../shared/parameters.ts";
import { hex2 } from "./hex.ts";

export interface Service01Part {
  readonly pid: number;
  readonly data: Uint8Array;
}

export interface Service01Parts {
  readonly parts: readonly Service01Part[];
  /** Bytes that could not be given to a parameter; empty when all is well. */
  readonly leftover: Uint8Array;
  /** Why there are leftovers; null when there are none. */
  readonly problem: string | null;
}

/**
 * Other lengths that modules are known to send, beside the table's: fuel trims with a second byte for banks 3 and
 * 4, secondary trims without it, and older layouts. From memory.
 */
const otherLengths: ReadonlyMap<number, number> = new Map([
  ...[0x06, 0x07, 0x08, 0x09].map((pid) => [pid, 2] as const),
  ...[0x55, 0x56, 0x57, 0x58].map((pid) => [pid, 1] as const),
  [0x68, 3],
  [0x70, 9],
  [0x83, 5],
]);

/**
 * Where the parameter ends that begins at `at`, by the table's length; a single one that was asked owns all bytes up to
 * `end`. -1: it was not asked, has no known length, or does not end by then.
 */
export function partEnd(bytes: Uint8Array, at: number, end: number, asked?: readonly number[]): number {
  const pid = bytes[at] ?? -1;
  if (asked !== undefined && !asked.includes(pid)) return -1;
  if (asked?.length === 1) return end;
  const next = at + 1 + (parameterByPid.get(pid)?.bytes ?? Infinity);
  return next > end ? -1 : next;
}

/**
 * Cuts a 41 reply into its parameters by the lengths of the table. `asked`, when given, says which parameters can
 * be in it; a single one then owns all bytes, whatever the table thinks of its length. What does not come
 * out even is reported, with the parameters before it.
 */
export function splitService01(data: Uint8Array, asked?: readonly number[]): Service01Parts {
  const body = data.subarray(1);
  if (data[0] !== 0x41) {
    return {
      parts: [],
      leftover: data.slice(),
      problem: data.length === 0 ? "empty" : `service ${hex2(data[0] ?? 0)}, expected 41`,
    };
  }
  const even = fit(body, asked);
  if (even !== null) return { parts: even, leftover: new Uint8Array(0), problem: null };
  return greedy(body, asked);
}

/** A way to give every byte to a parameter, the table's lengths preferred; null when there is none. */
function fit(body: Uint8Array, asked: readonly number[] | undefined): Service01Part[] | null {
  const [pid] = body;
  if (pid === undefined) return [];
  const other = otherLengths.get(pid);
  const ends = [partEnd(body, 0, body.length, asked)];
  if (other !== undefined && other < body.length && asked?.includes(pid) !== false) ends.push(1 + other);
  for (const end of ends) {
    const rest = end < 0 ? null : fit(body.subarray(end), asked);
    if (rest !== null) return [{ pid, data: body.slice(1, end) }, ...rest];
  }
  return null;
}

function greedy(body: Uint8Array, asked: readonly number[] | undefined): Service01Parts {
  const parts: Service01Part[] = [];
  let rest = body;
  for (;;) {
    const [pid] = rest;
    if (pid === undefined) return { parts, leftover: rest.slice(), problem: null };
    const length = parameterByPid.get(pid)?.bytes;
    const stop = (problem: string): Service01Parts => ({ parts, leftover: rest.slice(), problem });
    if (asked !== undefined && !asked.includes(pid)) return stop(`parameter ${hex2(pid)} was not asked`);
    if (length === undefined) return stop(`parameter ${hex2(pid)} has no known length`);
    if (rest.length < 1 + length)
      return stop(`parameter ${hex2(pid)} has ${rest.length - 1} data bytes, expected ${length}`);
    parts.push({ pid, data: rest.slice(1, 1 + length) });
    rest = rest.subarray(1 + length);
  }
}
