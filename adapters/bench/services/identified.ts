/**
 * What a module says that speaks SAE J1979-2 alone: services 22, 19 and 14 of UDS; to 01 to 0A it is silent. Its own
 * encoding, written from ISO 14229-1's forms and never from the decoder. Where nobody could confirm a form, this vehicle
 * is invented to speak it as it is remembered.
 */
import type { Bench } from "../bench.ts";
import type { BenchModule } from "../vehicles.ts";
import { encode, supportMap } from "./encode.ts";
import { withCheckDigit } from "./vin.ts";

const emissions = 0x33;
/** Status of a code that failed, is confirmed and asks for the lamp; and of one that is pending. */
const confirmed = 0x08;
const pending = 0x04;
const failed = 0x03;
const lamp = 0x80;

export function answerIdentified(bench: Bench, module: BenchModule, request: readonly number[]): number[][] {
  const [service, ...rest] = request;
  switch (service) {
    case 0x22:
      return identifiers(bench, module, rest);
    case 0x19:
      return trouble(bench, module, rest);
    case 0x14:
      return clear(bench, module, rest);
    default:
      return [];
  }
}

/** Those that it has; silent when it has none, as it should be to a request to all. */
function identifiers(bench: Bench, module: BenchModule, ids: readonly number[]): number[][] {
  const data: number[] = [];
  for (let i = 0; i + 1 < ids.length; i += 2) {
    const [high = 0, low = 0] = ids.slice(i, i + 2);
    const bytes =
      high === 0xf4 ? current(bench, module, low) : high === 0xf8 ? about(bench, module, low) : null;
    if (bytes !== null) data.push(high, low, ...bytes);
  }
  return data.length === 0 ? [] : [[0x62, ...data]];
}

function current(bench: Bench, module: BenchModule, pid: number): number[] | null {
  if (pid % 32 === 0)
    return pid === 0 || module.pids.some((p) => p > pid) ? supportMap(pid, module.pids) : null;
  return module.pids.includes(pid) ? encode(pid, bench) : null;
}

function about(bench: Bench, module: BenchModule, low: number): number[] | null {
  const text = (words: string): number[] => Array.from(words, (c) => c.charCodeAt(0));
  if (low === 0x10) return [0x01];
  if (low === 0x02 && module.role === "engine") return text(withCheckDigit(bench.vehicle.vin));
  if (low === 0x0a) return text(module.role === "engine" ? "ECM-EngineControl" : "TCM-TransmisControl");
  return null;
}

/** Third byte: what kind of failure. Chosen for this vehicle. */
function failureType(code: number): number {
  if (code === 0x0335 || code === 0x0340) return 0x31;
  if (code >= 0x0201 && code <= 0x0208) return 0x13;
  if (code === 0x0562 || code === 0x0107 || code === 0x0192) return 0x16;
  return 0x00;
}

interface Kept {
  readonly code: number;
  readonly status: number;
}

/** The engine module's codes; another module has none. */
function kept(bench: Bench, module: BenchModule): Kept[] {
  if (module.role !== "engine") return [];
  const { stored, pending: maybe } = bench.module.codes;
  const codes = [...new Set([...stored, ...maybe])].sort((a, b) => a - b);
  return codes.map((code) => ({
    code,
    status: (stored.has(code) ? confirmed | lamp : 0) | (maybe.has(code) ? pending : 0) | failed,
  }));
}

const three = (code: number): number[] => [code >> 8, code & 255, failureType(code)];

function trouble(bench: Bench, module: BenchModule, [kind = 0, ...rest]: readonly number[]): number[][] {
  const all = kept(bench, module);
  switch (kind) {
    case 0x02: {
      const mask = rest[0] ?? 0;
      const those = all.filter(({ status }) => (status & mask) !== 0);
      return [[0x59, kind, 0xff, ...those.flatMap(({ code, status }) => [...three(code), status])]];
    }
    case 0x42: {
      const [group = 0, mask = 0] = rest;
      if (group !== emissions) return [[0x7f, 0x19, 0x31]];
      const those = all.filter(({ status }) => (status & mask) !== 0);
      // Severity 02: of class A. The format is that of J2012-DA.
      const bytes = those.flatMap(({ code, status }) => [0x02, ...three(code), status]);
      return [[0x59, kind, emissions, 0xff, 0x1e, 0x04, ...bytes]];
    }
    case 0x55: {
      const bytes = all
        .filter(({ status }) => (status & confirmed) !== 0)
        .flatMap(({ code, status }) => [...three(code), status]);
      return [[0x59, kind, emissions, 0xff, 0x04, ...bytes]];
    }
    case 0x56:
      return readiness(bench, module, rest);
    case 0x04:
      return frame(bench, module, rest);
    case 0x06: {
      const found = all.find(({ code }) => three(code).join() === rest.slice(0, 3).join());
      // Record 10, invented: how often it came.
      return found === undefined ? [] : [[0x59, kind, ...rest.slice(0, 3), found.status, 0x10, 0x01]];
    }
    default:
      return [[0x7f, 0x19, 0x12]];
  }
}

/** One group, invented: three codes of which the catalyst's is not tested yet. */
function readiness(
  bench: Bench,
  module: BenchModule,
  [functional = 0, group = 0]: readonly number[],
): number[][] {
  if (module.role !== "engine" || functional !== emissions || group !== 1) return [[0x7f, 0x19, 0x31]];
  const open = bench.module.diagnosis.open === 0 ? 0x00 : 0x50;
  return [
    [0x59, 0x56, emissions, group, 0xff, 0x04, ...[0x04, 0x20, 0x00, open], ...[0x01, 0x33, 0x00, 0x00]],
  ];
}

/** One record: parameters as they stood. */
function frame(bench: Bench, module: BenchModule, rest: readonly number[]): number[][] {
  const code = rest.slice(0, 3);
  const found = kept(bench, module).find((one) => three(one.code).join() === code.join());
  if (found === undefined) return [];
  const { frozen } = bench;
  if (frozen === null || frozen.code !== found.code) return [[0x59, 0x04, ...code, found.status]];
  const values = [...frozen.values].filter(([pid]) => pid % 32 !== 0);
  const bytes = values.flatMap(([pid, data]) => [0xf4, pid, ...data]);
  return [[0x59, 0x04, ...code, found.status, 0x00, values.length, ...bytes]];
}

/** Only all codes of the emissions group, and not with the engine running. */
function clear(bench: Bench, module: BenchModule, group: readonly number[]): number[][] {
  if (group.join() !== [0xff, 0xff, emissions].join()) return [[0x7f, 0x14, 0x31]];
  if (bench.module.running) return [[0x7f, 0x14, 0x22]];
  if (module.role === "engine") {
    bench.module.clear();
    bench.frozen = null;
  }
  return [[0x54]];
}
