import type { ByteEnd } from "../../shared/wire.ts";
import { memoryPair } from "./memory.ts";

/** How far two rates may differ and still be understood: half a bit in the tenth, less the edges (from memory). */
const tolerance = 0.03;

/**
 * Two ends of a line in memory, each with a baud rate of its own. What is sent at another rate than the one that is
 * listened at arrives as noise: fewer bytes when the listener is slower, none of them right. The bytes take no time
 * here; whoever sends them says when.
 */
export function ratedPair(nameA: string, nameB: string, baud: number): [ByteEnd, ByteEnd] {
  const rates: [number, number] = [baud, baud];
  const [a, b] = memoryPair(nameA, nameB);
  return [rated(a, rates, 0), rated(b, rates, 1)];
}

function rated(end: ByteEnd, rates: [number, number], own: 0 | 1): ByteEnd {
  return {
    name: end.name,
    write: (bytes) => end.write(arriving(bytes, rates[own], rates[own === 0 ? 1 : 0])),
    onBytes: (listener) => end.onBytes(listener),
    onClose: (listener) => end.onClose(listener),
    close: () => end.close(),
    setBaud: (baud) => {
      rates[own] = baud;
      return Promise.resolve();
    },
  };
}

function arriving(bytes: Uint8Array, sent: number, heard: number): Uint8Array {
  if (Math.abs(sent / heard - 1) <= tolerance) return bytes;
  const length = Math.max(1, Math.round(bytes.length * Math.min(1, heard / sent)));
  return Uint8Array.from({ length }, (_, i) => 0x80 | ((bytes[i] ?? 0) ^ 0x5a));
}
