import { parameterByPid, type Parameter } from "../../shared/parameters.ts";
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
 * Cuts a 41 reply into its parameters by the lengths of the table. `asked`, when given, says which parameters can
 * be in it; a single one then owns all bytes, whatever the table thinks of its length. What does not come
 * out even is reported, with the parameters before it.
 */
export function splitService01(
  data: Uint8Array,
  table: ReadonlyMap<number, Parameter> = parameterByPid,
  asked?: readonly number[],
): Service01Parts {
  const body = data.subarray(1);
  if (data[0] !== 0x41) {
    return {
      parts: [],
      leftover: data.slice(),
      problem: data.length === 0 ? "empty" : `service ${hex2(data[0] ?? 0)}, expected 41`,
    };
  }
  const [only] = body;
  if (asked?.length === 1 && only === asked[0] && only !== undefined) {
    return { parts: [{ pid: only, data: body.slice(1) }], leftover: new Uint8Array(0), problem: null };
  }
  const even = fit(body, table, asked);
  if (even !== null) return { parts: even, leftover: new Uint8Array(0), problem: null };
  return greedy(body, table, asked);
}

/** A way to give every byte to a parameter, the table's lengths preferred; null when there is none. */
function fit(
  body: Uint8Array,
  table: ReadonlyMap<number, Parameter>,
  asked: readonly number[] | undefined,
): Service01Part[] | null {
  const [pid] = body;
  if (pid === undefined) return [];
  const row = table.get(pid);
  if (row === undefined || (asked !== undefined && !asked.includes(pid))) return null;
  for (const length of [row.bytes, otherLengths.get(pid)]) {
    if (length === undefined || body.length < 1 + length) continue;
    const rest = fit(body.subarray(1 + length), table, asked);
    if (rest !== null) return [{ pid, data: body.slice(1, 1 + length) }, ...rest];
  }
  return null;
}

function greedy(
  body: Uint8Array,
  table: ReadonlyMap<number, Parameter>,
  asked: readonly number[] | undefined,
): Service01Parts {
  const parts: Service01Part[] = [];
  let rest = body;
  for (;;) {
    const [pid] = rest;
    if (pid === undefined) return { parts, leftover: rest.slice(), problem: null };
    const length = table.get(pid)?.bytes;
    const stop = (problem: string): Service01Parts => ({ parts, leftover: rest.slice(), problem });
    if (asked !== undefined && !asked.includes(pid)) return stop(`parameter ${hex2(pid)} was not asked`);
    if (length === undefined) return stop(`parameter ${hex2(pid)} has no known length`);
    if (rest.length < 1 + length)
      return stop(`parameter ${hex2(pid)} has ${rest.length - 1} data bytes, expected ${length}`);
    parts.push({ pid, data: rest.slice(1, 1 + length) });
    rest = rest.subarray(1 + length);
  }
}
