/**
 * Service 01 data bytes as the modules of the bench vehicle send them. Written from the published scalings on
 * its own, never from the decoder's table, so that a wrong formula cannot agree with itself. Source: public list
 * "OBD-II PIDs"; SAE J1979-DA from memory.
 */
import type { Engine } from "../engine/engine.ts";
import type { ControlModule } from "../module/control.ts";
import { fittedMonitors } from "../module/diagnosis.ts";
import { seriesOf, type BenchVehicle } from "../vehicles.ts";

function byte(value: number): number {
  return Math.min(255, Math.max(0, Math.round(value)));
}

function word(value: number): number[] {
  const n = Math.min(65_535, Math.max(0, Math.round(value)));
  return [n >> 8, n & 255];
}

const percent = (share: number): number => byte(share * 255);
const trim = (share: number): number => byte(share * 128 + 128);
const celsius = (c: number): number => byte(c + 40);

/** What answers are made from; a bench vehicle is one. */
export interface Answering {
  readonly vehicle: BenchVehicle;
  readonly engine: Engine;
  readonly module: ControlModule;
  /** The code that the freeze frame belongs to; null while none is kept. */
  readonly frozen: { readonly code: number } | null;
}

type Encoder = (from: Answering) => number[];

const encoders: Readonly<Record<number, Encoder>> = {
  0x01: ({ module: m, vehicle: v }) => [
    (m.codes.lamp ? 0x80 : 0) | Math.min(127, m.codes.stored.size),
    v.fuel === "diesel" ? 0x0f : 0x07,
    fittedMonitors[v.fuel],
    m.diagnosis.open,
  ],
  0x02: (b) => {
    const code = b.frozen?.code ?? 0;
    return [code >> 8, code & 255];
  },
  0x03: ({ module: m }) => {
    const status = m.fuelling.loopStatus;
    return [status, m.fuelling.trims.length > 1 ? status : 0];
  },
  0x04: ({ module: m }) => [percent(m.load())],
  0x05: ({ module: m }) => [celsius(m.senses.coolantC)],
  0x06: ({ module: m }) => [trim(m.fuelling.trims[0]?.short ?? 0)],
  0x07: ({ module: m }) => [trim(m.fuelling.trims[0]?.longNow ?? 0)],
  0x08: ({ module: m }) => [trim(m.fuelling.trims[1]?.short ?? 0)],
  0x09: ({ module: m }) => [trim(m.fuelling.trims[1]?.longNow ?? 0)],
  0x0b: ({ module: m }) => [byte(m.senses.manifoldKpa)],
  0x0c: ({ module: m }) => word(m.crank.rpm * 4),
  0x0d: ({ engine: e }) => [byte(e.road.kmh)],
  0x0e: ({ module: m }) => [byte((m.advance + 64) * 2)],
  0x0f: ({ module: m }) => [celsius(m.senses.intakeC)],
  0x10: ({ module: m }) => word(m.senses.airFlow * 100),
  0x11: ({ module: m }) => [percent(m.senses.throttle)],
  0x13: ({ vehicle: v }) => [Math.max(...v.bankOf) > 0 ? 0x33 : 0x03],
  0x14: (b) => oxygen(b, 0, "front"),
  0x15: (b) => oxygen(b, 0, "rear"),
  0x18: (b) => oxygen(b, 1, "front"),
  0x19: (b) => oxygen(b, 1, "rear"),
  0x1c: ({ vehicle: v }) => [v.obdRule],
  0x1f: ({ module: m }) => word(m.sinceStart > 0 ? Math.floor(m.sinceStart) : 0),
  0x21: () => word(0),
  0x23: ({ module: m }) => word(m.senses.railKpa / 10),
  0x2c: ({ engine: e }) => [percent(e.orders.egr)],
  0x2e: ({ module: m }) => [percent(m.purge.duty)],
  0x2f: ({ engine: e }) => [percent(0.62 * (1 - e.damage.tankEmpty))],
  0x30: ({ module: m }) => [byte(m.sinceClear.warmUps)],
  0x31: ({ module: m }) => word(Math.floor(m.sinceClear.km)),
  0x33: ({ module: m }) => [byte(m.senses.barometricKpa)],
  0x3c: ({ engine: e }) => word((e.exhaust.catalystC + 40) * 10),
  0x3d: ({ engine: e }) => word((e.exhaust.catalystC * 0.99 + 40) * 10),
  0x41: ({ module: m, vehicle: v }) => [
    0,
    v.fuel === "diesel" ? 0x0f : 0x07,
    fittedMonitors[v.fuel],
    m.diagnosis.openThisCycle,
  ],
  0x42: ({ module: m, vehicle: v }) => word(m.senses.volts * seriesOf(v) * 1000),
  0x43: ({ module: m }) => word(m.fuelling.absoluteLoad() * 255),
  0x44: ({ module: m }) => word(m.fuelling.lambdaWanted * 32_768),
  0x45: ({ module: m }) => [percent(m.senses.throttle - m.senses.throttleClosed)],
  0x46: ({ engine: e }) => [celsius(e.heat.ambientC)],
  0x49: ({ module: m }) => [percent(0.15 + 0.7 * m.pedal)],
  0x4c: ({ module: m }) => [percent(m.throttlePlate)],
  0x4d: () => word(0),
  0x4e: ({ module: m }) => word(Math.floor(m.sinceClear.minutes)),
  0x51: ({ vehicle: v }) => [v.fuel === "diesel" ? 4 : 1],
  // Litres an hour, a twentieth a bit; diesel about 832 g/L.
  0x5e: ({ engine: e }) => word((e.mixture.drawn / 832) * 3600 * 20),
};

function oxygen({ engine, module }: Answering, bank: number, place: "front" | "rear"): number[] {
  const volts = engine.exhaust[place][bank] ?? 0.45;
  return [byte(volts * 200), place === "front" ? trim(module.fuelling.trims[bank]?.short ?? 0) : 0xff];
}

/** Data bytes of a parameter, or null when this program has no encoder for it. */
export function encode(pid: number, from: Answering): number[] | null {
  return encoders[pid]?.(from) ?? null;
}

/** The 32-bit map of the parameters above `base`; its last bit says that there are more beyond. */
export function supportMap(base: number, pids: readonly number[]): number[] {
  const map = [0, 0, 0, 0];
  const set = (pid: number): void => {
    const i = pid - base - 1;
    map[i >> 3] = (map[i >> 3] ?? 0) | (0x80 >> (i & 7));
  };
  for (const pid of pids) if (pid > base && pid <= base + 32) set(pid);
  if (pids.some((pid) => pid > base + 32)) set(base + 32);
  return map;
}
