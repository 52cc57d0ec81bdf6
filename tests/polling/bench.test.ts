/** The session on the bench vehicles: invented engines, on buses with the time of real ones. */
import { describe, expect, test } from "vitest";
import { attachAdapter, Bench, benchVehicles } from "../../adapters/bench/index.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { memoryPair } from "../../adapters/link/memory.ts";
import { Session } from "../../adapters/polling/session.ts";
import { protocols } from "../../shared/protocols.ts";
import { MemorySink } from "./support.ts";

interface OnBench {
  readonly clock: VirtualClock;
  readonly bench: Bench;
  readonly sink: MemorySink;
  readonly session: Session;
}

async function onBench(vehicle: string, faults: readonly string[] = []): Promise<OnBench> {
  const clock = new VirtualClock(undefined, 64);
  const bench = new Bench({ vehicle, faults: faults.map((name) => ({ name, severity: 1 })), clock });
  bench.act({ act: "key", to: "on" });
  const sink = new MemorySink(clock.now());
  const open = (): Promise<ReturnType<typeof memoryPair>[0]> => {
    const [ours, theirs] = memoryPair("bench", "adapter");
    attachAdapter(bench, theirs, clock);
    return Promise.resolve(ours);
  };
  const session = new Session({ open, address: `bench:${vehicle}`, clock, sink });
  await clock.run(session.connect());
  session.start(sink);
  return { clock, bench, sink, session };
}

async function done({ clock, bench, session }: OnBench): Promise<void> {
  await clock.run(session.close());
  bench.stop();
}

describe.each(benchVehicles.map((vehicle) => [vehicle.id, vehicle] as const))("%s", (id, vehicle) => {
  test("is found on its protocol with all its modules", async () => {
    const all = await onBench(id);
    expect(all.session.status.protocol).toBe(vehicle.protocol);
    expect(all.session.status.modules.size).toBe(
      vehicle.modules.filter(({ role }) => role !== "body").length,
    );
    for (const pids of all.session.status.modules.values()) expect(pids.has(0x0c)).toBe(true);
    await done(all);
  });

  test("nearly every request is answered, and each recorded exchange ends with a prompt", async () => {
    const all = await onBench(id);
    await all.clock.pass(20_000);
    const polled = all.sink.exchanges.filter(({ ask }) => ask.startsWith("01"));
    expect(polled.filter(({ err }) => err !== undefined)).toEqual([]);
    expect(all.sink.exchanges.every(({ end }) => end !== null)).toBe(true);
    expect(all.sink.notices).toEqual([]);
    await done(all);
  });

  test("the starter engages: within 300 ms the engine speed is read at least four times a second", async () => {
    const all = await onBench(id, ["tank-empty"]);
    const { clock, bench, sink, session } = all;
    await clock.pass(5000);
    bench.act({ act: "key", to: "crank" });
    const engaged = clock.now();
    await clock.pass(2300);
    expect(session.status.focus).toBe("cranking");
    const speeds = sink.exchanges
      .filter(({ ask, err, first }) => ask.startsWith("010C") && err === undefined && first !== null)
      .map(({ t, first }) => t + (first ?? 0))
      .filter((t) => t >= engaged + 300 && t < engaged + 2300);
    expect(speeds.length / 2).toBeGreaterThanOrEqual(4);
    // No hole of more than two requests either.
    const gaps = speeds.slice(1).map((t, i) => t - (speeds[i] ?? 0));
    expect(Math.max(...gaps)).toBeLessThan(protocols[vehicle.protocol].family === "can" ? 120 : 400);
    await done(all);
  });

  test("the key is turned off and on again: found again without a search", async () => {
    const all = await onBench(id);
    const { clock, bench, sink, session } = all;
    await clock.pass(3000);
    bench.act({ act: "key", to: "off" });
    await clock.pass(20_000);
    expect(sink.notices.length).toBe(1);
    bench.act({ act: "key", to: "on" });
    const on = clock.now();
    await clock.pass(10_000);
    expect(sink.notices.at(-1)).toBe("the vehicle answers again");
    expect(sink.asked(on)).not.toContain("ATSP0");
    expect(session.status.rates.get("engine-speed")).toBeGreaterThan(0);
    await done(all);
  });

  test("a survey brings codes, readiness and the VIN, with a check digit that fits", async () => {
    const all = await onBench(id);
    const running = all.session.survey();
    await all.clock.run(running);
    const survey = await running;
    expect(survey.volts).toBeGreaterThan(11);
    expect(survey.modules.some(({ stored, readiness }) => stored !== null && readiness !== null)).toBe(true);
    const vin = survey.modules.find((module) => module.vin !== null)?.vin;
    expect(vin?.text).toHaveLength(17);
    expect(vin?.checkDigit).toBe("fits");
    await done(all);
  });
});
