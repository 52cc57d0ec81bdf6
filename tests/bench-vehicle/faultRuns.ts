/** Runs that the fault tests share: a crank, an idle, each read as a tool would and watched as only the bench can. */
import type { BenchFault } from "../../shared/address.ts";
import { listening, mean, read, sample, start, trueSpeed, watch } from "./readings.ts";
import { Typist } from "./support.ts";

export function fault(name: string, severity = 1): BenchFault[] {
  return [{ name, severity }];
}

export interface Crank {
  readonly t: Typist;
  /** True mean speed, rpm; spread over it; volts at the socket; at the module; read speed. */
  readonly speed: number;
  readonly unevenness: number;
  readonly volts: number;
  readonly moduleVolts: number;
  readonly amps: number;
  readonly read: readonly number[];
}

/** Key on, cranking watched, then two of asking; the starter is still on. It may have fired. */
export async function crank(vehicle: string, faults: BenchFault[], coldStartC = 20): Promise<Crank> {
  const t = await listening(new Typist({ vehicle, faults, coldStartC }));
  t.key("crank");
  await t.wait(0.7);
  const speeds = await trueSpeed(t, 3);
  const { electrics } = t.bench.engine;
  const both: number[] = [];
  const amps: number[] = [];
  const volts = await watch(t, 1.5, () => {
    both.push(electrics.moduleVolts);
    amps.push(electrics.starterAmp);
    return electrics.volts;
  });
  const asked = await sample(t, ["rpm"], 2);
  const speed = mean(speeds);
  // Smoothed over one compression, so that only what differs between cylinders is left.
  const width = Math.max(1, Math.round(6000 / (speed * (t.bench.vehicle.firingOrder.length / 2))));
  const smooth = speeds.slice(width).map((_, i) => mean(speeds.slice(i, i + width)));
  const unevenness = Math.sqrt(mean(smooth.map((s) => (s - speed) ** 2))) / speed;
  return {
    ...{ t, speed, unevenness, volts: mean(volts), moduleVolts: mean(both) },
    ...{ amps: mean(amps), read: asked.rpm },
  };
}

/** A crank that cannot fire, so that healthy and hurt are compared turning. */
export function dryCrank(vehicle: string, faults: BenchFault[] = [], coldStartC = 20): Promise<Crank> {
  return crank(vehicle, [...faults, { name: "ignition-dead", severity: 1 }], coldStartC);
}

/** Started warm, settled for a minute and a half. */
export async function running(vehicle: string, faults: BenchFault[] = [], coldStartC = 85): Promise<Typist> {
  const t = await listening(new Typist({ vehicle, faults, coldStartC }));
  await start(t);
  await t.wait(90);
  return t;
}

/** Short and long trim of a bank added, mean over half a minute, per cent. */
export async function trim(t: Typist, bank: 1 | 2 = 1, seconds = 20): Promise<number> {
  const s = await sample(t, bank === 1 ? ["short1", "long1"] : ["short2", "long2"], seconds);
  return bank === 1 ? mean(s.short1) + mean(s.long1) : mean(s.short2) + mean(s.long2);
}

export async function heldTrim(t: Typist, rpm: number, bank: 1 | 2 = 1): Promise<number> {
  t.bench.hold(rpm);
  await t.wait(40);
  const value = await trim(t, bank);
  t.bench.hold(null);
  await t.wait(8);
  return value;
}

export async function drivenTrim(t: Typist, kmh: number, bank: 1 | 2 = 1): Promise<number> {
  t.bench.drive(kmh);
  await t.wait(60);
  return trim(t, bank);
}

/** Seconds until it runs; NaN when it does not in ten. */
export async function startTime(vehicle: string, faults: BenchFault[], coldStartC = 20): Promise<number> {
  const t = await listening(new Typist({ vehicle, faults, coldStartC }));
  return start(t, 10);
}

/** Stored and pending codes as four hexadecimal digits, decoded by hand from the CAN or the three-pair form. */
export async function codes(t: Typist, service: "03" | "07"): Promise<string[]> {
  const reply = service === "03" ? "43" : "47";
  if (!t.bench.vehicle.protocol.startsWith("can")) {
    const lines = (await t.ask(service)).filter((l) => l.startsWith(reply));
    return pairsOf(lines.flatMap((l) => l.split(" ").slice(1)));
  }
  // With headers, so that the engine's answer is told from the transmission's.
  await t.raw("ATH1");
  const lines = await t.ask(service);
  await t.raw("ATH0");
  const header = /^(?:7E8|18 DA F1 10) /;
  const frames = lines.filter((l) => header.test(l)).map((l) => l.replace(header, "").split(" "));
  // First byte of a frame: 0n single, 1n nn first, 2n following.
  const bytes = frames.flatMap((f) => f.slice(f[0]?.startsWith("1") === true ? 2 : 1));
  const count = Number.parseInt(bytes[1] ?? "0", 16);
  return pairsOf(bytes.slice(2, 2 + 2 * count));
}

function pairsOf(bytes: readonly string[]): string[] {
  const list: string[] = [];
  for (let i = 0; i + 1 < bytes.length; i += 2) list.push(`${bytes[i] ?? ""}${bytes[i + 1] ?? ""}`);
  return list.filter((code) => code !== "0000");
}

export { read };
