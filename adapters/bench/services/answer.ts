/** What one module of the bench vehicle says to one request: services 01 to 07, 09, 0A and 22. */
import { protocols } from "../../../shared/protocols.ts";
import type { Bench } from "../bench.ts";
import type { BenchModule } from "../vehicles.ts";
import { encode, supportMap } from "./encode.ts";
import { information } from "./identity.ts";
import { answerIdentified } from "./identified.ts";
import { oxygenResults } from "./tests05.ts";
import { rawTests, testResults } from "./tests06.ts";

/**
 * Answers of one module, service byte first; several messages on buses that cannot carry a long one, none when
 * the module keeps silent (which is what the standard asks for what it does not support).
 */
export function answer(bench: Bench, module: BenchModule, request: readonly number[]): number[][] {
  const [service, ...rest] = request;
  if (bench.vehicle.standard === "J1979-2") return answerIdentified(bench, module, request);
  if (module.role === "body" && service !== 0x22) return [[0x7f, service ?? 0, 0x11]];
  const can = protocols[bench.vehicle.protocol].family === "can";
  switch (service) {
    case 0x01:
      return current(bench, module, can ? rest.slice(0, 6) : rest.slice(0, 1));
    case 0x02:
      return frozen(bench, module, rest);
    case 0x03:
      return codes(0x43, bench, module, can);
    case 0x04:
      return clear(bench, module);
    case 0x05:
      return !can && module.role === "engine" ? oxygenResults(bench, rest) : negative(bench, service);
    case 0x06:
      if (module.role !== "engine") return [];
      return can ? testResults(bench, rest[0] ?? 0) : rawTests(bench, rest[0] ?? 0);
    case 0x07:
      return codes(0x47, bench, module, can);
    case 0x0a:
      // Permanent codes came with CAN.
      return can ? codes(0x4a, bench, module, can) : [];
    case 0x09:
      return information(bench, module, rest[0] ?? 0, can);
    case 0x22:
      return module.role === "engine"
        ? identified(bench, rest)
        : module.role === "body"
          ? body(bench, rest)
          : [];
    default:
      return negative(bench, service ?? 0);
  }
}

function current(bench: Bench, module: BenchModule, pids: readonly number[]): number[][] {
  const data: number[] = [];
  for (const pid of pids) {
    const bytes = value(bench, module, pid);
    if (bytes !== null) data.push(pid, ...bytes);
  }
  return data.length === 0 ? [] : [[0x41, ...data]];
}

function value(bench: Bench, module: BenchModule, pid: number): number[] | null {
  if (pid % 32 === 0) {
    const any = pid === 0 || module.pids.some((p) => p > pid);
    return any ? supportMap(pid, module.pids) : null;
  }
  return module.pids.includes(pid) ? encode(pid, bench) : null;
}

/** Without a frame parameter 02 answers with code 0000 and the rest is silent. Frame 00 is the only one. */
function frozen(bench: Bench, module: BenchModule, [pid = 0, frame = 0]: readonly number[]): number[][] {
  if (module.role !== "engine" || frame !== 0) return [];
  const kept = bench.frozen;
  const pids = [0x02, ...(kept?.values.keys() ?? [])];
  if (pid % 32 === 0)
    return pid === 0 || pids.some((p) => p > pid) ? [[0x42, pid, 0, ...supportMap(pid, pids)]] : [];
  const code = kept?.code ?? 0;
  if (pid === 0x02) return [[0x42, 0x02, 0x00, code >> 8, code & 255]];
  const bytes = kept?.values.get(pid);
  return bytes === undefined ? [] : [[0x42, pid, 0x00, ...bytes]];
}

/** Clearing is refused with the engine running: conditions not correct (from memory). */
function clear(bench: Bench, module: BenchModule): number[][] {
  if (bench.module.running) return [[0x7f, 0x04, 0x22]];
  if (module.role === "engine") {
    bench.module.clear();
    bench.frozen = null;
  }
  return [[0x44]];
}

function codes(reply: number, bench: Bench, module: BenchModule, can: boolean): number[][] {
  const kept = bench.module.codes;
  const from = reply === 0x47 ? kept.pending : kept.stored;
  const list = module.role === "engine" ? [...from].sort((a, b) => a - b) : [];
  const bytes = list.flatMap((code) => [code >> 8, code & 255]);
  if (can) return [[reply, list.length, ...bytes]];
  const messages: number[][] = [];
  for (let i = 0; i < Math.max(1, bytes.length); i += 6) {
    messages.push([reply, ...Array.from({ length: 6 }, (_, j) => bytes[i + j] ?? 0)]);
  }
  return messages;
}

/** Two invented identifiers: 1101 counts teeth of the crankshaft in 16 bits, 1102 pulses of the camshaft in 8. */
function identified(bench: Bench, [high = 0, low = 0]: readonly number[]): number[][] {
  const { crank, cam } = bench.module.crank.counted;
  if (high === 0x11 && low === 0x01) return [[0x62, high, low, (crank >> 8) & 255, crank & 255]];
  if (high === 0x11 && low === 0x02) return [[0x62, high, low, cam & 255]];
  return negative(bench, 0x22, 0x31);
}

/**
 * One invented identifier of the body module: 4101 is the distance in metres (40 bits), its own supply in 1/64 V (16
 * bits, low byte first), and the outside temperature, 0 when its sensor says nothing.
 */
function body(bench: Bench, [high = 0, low = 0]: readonly number[]): number[][] {
  if (high !== 0x41 || low !== 0x01) return [[0x7f, 0x22, 0x31]];
  const metres = 5_000_000_000 + Math.round(bench.module.sinceClear.km * 1000);
  const distance = [4, 3, 2, 1, 0].map((i) => Math.floor(metres / 256 ** i) % 256);
  const volts = Math.round(bench.socketVolts() * 64);
  const outside = bench.state().key === "off" ? 0 : Math.round(bench.engine.heat.ambientC + 40);
  return [[0x62, high, low, ...distance, volts & 255, volts >> 8, outside & 255]];
}

/**
 * Only ISO 14230-4 modules say no aloud to a request made to all; service not supported is 11, out of range 31.
 */
function negative(bench: Bench, service: number, reason = 0x11): number[][] {
  return protocols[bench.vehicle.protocol].family === "kwp" ? [[0x7f, service, reason]] : [];
}
