/**
 * Service 09: identification number, calibration, its verification number, in-use counters, the module's name. On CAN
 * one answer holds a type whole, with the number of items; before it four bytes a message, and odd types tell how many
 * messages will come. Layouts: SAE J1979 / ISO 15031-5, from memory.
 */
import type { Bench } from "../bench.ts";
import type { BenchModule } from "../vehicles.ts";
import { supportMap } from "./encode.ts";
import { withCheckDigit } from "./vin.ts";

interface Item {
  /** Items that the answer counts on CAN. */
  readonly count: number;
  readonly bytes: readonly number[];
}

function ascii(text: string, length: number): number[] {
  return Array.from({ length }, (_, i) => text.charCodeAt(i) || 0);
}

/** Stands for a sum over the program: FNV-1a, 32 bits, over the calibration's name (algorithm in the public domain). */
function verification(calibration: string): number[] {
  let hash = 0x811c9dc5;
  for (const c of ascii(calibration, calibration.length)) hash = Math.imul(hash ^ c, 0x01000193) >>> 0;
  return [hash >>> 24, (hash >>> 16) & 255, (hash >>> 8) & 255, hash & 255];
}

function item(bench: Bench, type: number, can: boolean): Item | null {
  const { vehicle, module } = bench;
  switch (type) {
    case 0x02: {
      const vin = ascii(withCheckDigit(vehicle.vin), 17);
      return { count: 1, bytes: can ? vin : [0, 0, 0, ...vin] };
    }
    case 0x04:
      return { count: 1, bytes: ascii(vehicle.calibration, 16) };
    case 0x06:
      return { count: 1, bytes: verification(vehicle.calibration) };
    case 0x08:
    case 0x0b: {
      const { counters } = module.inUse;
      return { count: counters.length, bytes: counters.flatMap((n) => [(n >> 8) & 255, n & 255]) };
    }
    case 0x0a:
      // Four letters, a hyphen, up to fifteen in words.
      return { count: 1, bytes: ascii("ECM\0-EngineControl", 20) };
    default:
      return null;
  }
}

export function information(bench: Bench, module: BenchModule, type: number, can: boolean): number[][] {
  const types = module.information;
  if (type === 0x00) {
    if (types.length === 0) return [];
    const all = can ? types : types.flatMap((t) => (t === 0x0b ? [t] : [t - 1, t]));
    const map = supportMap(0, all);
    return [can ? [0x49, 0x00, ...map] : [0x49, 0x00, 0x01, ...map]];
  }
  const asked = can || type % 2 === 0 ? type : type + 1;
  const found = types.includes(asked) ? item(bench, asked, can) : null;
  if (found === null) return [];
  if (can) return [[0x49, type, found.count, ...found.bytes]];
  const messages = Math.ceil(found.bytes.length / 4);
  if (asked !== type) return [[0x49, type, messages]];
  return Array.from({ length: messages }, (_, i) => [
    ...[0x49, type, i + 1],
    ...Array.from({ length: 4 }, (_x, j) => found.bytes[4 * i + j] ?? 0),
  ]);
}
