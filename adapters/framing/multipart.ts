/**
 * Service 09 replies outside CAN come as messages of four data bytes, numbered from 1: 49, info type, number, data.
 * Source: SAE J1979 / ISO 15031-5, from memory.
 */
import type { DiscardedPiece, MessagePiece, Piece } from "./pieces.ts";
import { hex2 } from "./hex.ts";

const partLength = 7;
const partCarries = 4;

/** Parts that a whole item takes, and bytes of one item, by info type. */
const shapes: ReadonlyMap<number, { readonly parts: number; readonly itemBytes: number }> = new Map([
  [0x02, { parts: 5, itemBytes: 17 }],
  [0x04, { parts: 4, itemBytes: 16 }],
  [0x06, { parts: 1, itemBytes: 4 }],
  [0x08, { parts: 1, itemBytes: 2 }],
  [0x0a, { parts: 5, itemBytes: 20 }],
  [0x0b, { parts: 1, itemBytes: 2 }],
]);

/**
 * Joins numbered service 09 messages of one module into one in the form that CAN gives at once: 49, info type,
 * number of items, data (the leading zero bytes of a VIN are kept). Parts may come in any order; a set with a part
 * missing is discarded with the reason. Everything else passes through.
 */
export function joinMultipart(pieces: readonly Piece[]): Piece[] {
  const groups = new Map<string, MessagePiece[]>();
  const result: (Piece | { readonly group: string })[] = [];
  for (const piece of pieces) {
    if (piece.kind !== "message" || !isPart(piece.data)) {
      result.push(piece);
      continue;
    }
    const key = `${piece.module}/${hex2(piece.data[1] ?? 0)}`;
    const group = groups.get(key);
    if (group === undefined) {
      groups.set(key, [piece]);
      result.push({ group: key });
    } else group.push(piece);
  }
  return result.flatMap((entry) => ("group" in entry ? joinGroup(groups.get(entry.group) ?? []) : [entry]));
}

function isPart(data: Uint8Array): boolean {
  // Odd info types announce the number of messages; type 00 and its like are support maps.
  return data.length === partLength && data[0] === 0x49 && shapes.has(data[1] ?? 0);
}

function joinGroup(parts: readonly MessagePiece[]): Piece[] {
  const [head] = parts;
  if (head === undefined) return [];
  const type = head.data[1] ?? 0;
  const lines = parts.flatMap((part) => part.lines);
  const byNumber = new Map<number, Uint8Array>();
  for (const part of parts) {
    const number = part.data[2] ?? 0;
    const seen = byNumber.get(number);
    if (seen !== undefined && !seen.every((byte, i) => byte === part.data[i])) {
      return [discarded(`part ${number} came twice and differs`, lines)];
    }
    byNumber.set(number, part.data);
  }
  const count = Math.max(...byNumber.keys());
  for (let number = 1; number <= count; number++) {
    if (!byNumber.has(number))
      return [unfinished(`part ${number} of ${count} is missing`, lines, head.module)];
  }
  const shape = shapes.get(type) ?? { parts: 1, itemBytes: partCarries };
  if (byNumber.has(0) || count % shape.parts !== 0) {
    const reason = `${byNumber.size} parts, expected a multiple of ${shape.parts}`;
    return [unfinished(reason, lines, head.module)];
  }
  const data = new Uint8Array(3 + count * partCarries);
  data.set([0x49, type, Math.floor((count * partCarries) / shape.itemBytes)]);
  for (const [number, bytes] of byNumber) data.set(bytes.subarray(3), 3 + (number - 1) * partCarries);
  return [{ kind: "message", module: head.module, data, lines }];
}

function unfinished(reason: string, lines: readonly string[], module: string): DiscardedPiece {
  return { ...discarded(reason, lines), unfinished: true, module };
}

function discarded(reason: string, lines: readonly string[]): DiscardedPiece {
  return { kind: "discarded", reason, lines };
}
