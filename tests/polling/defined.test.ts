/** Reads that a person defined: what leaves, what is recorded, and what can be made of it again. */
import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { attachAdapter, Bench, benchVehicles } from "../../adapters/bench/index.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { memoryPair } from "../../adapters/link/memory.ts";
import { Session } from "../../adapters/polling/session.ts";
import { readDefinedParameters } from "../../shared/defined.ts";
import { interpret } from "../../src/interpret/index.ts";
import { Reading } from "../../src/reading/index.ts";
import { crankCounter } from "../support/defined.ts";
import { engineModule, gearModule } from "../support/peer.ts";
import { closed, listening, MemorySink } from "./support.ts";

const counting = { ...engineModule, replies: { ...engineModule.replies, "221101": "62110100FF" } };

describe("with a scripted peer", () => {
  test("is asked with the others, and after two like replies with their count", async () => {
    const all = await listening({ modules: [counting, gearModule] }, { defined: [crankCounter] });
    await all.clock.pass(20_000);
    const asked = all.peer.received.filter((command) => command.startsWith("22"));
    expect(asked.slice(0, 2)).toEqual(["221101", "221101"]);
    expect(new Set(asked.slice(2))).toEqual(new Set(["2211011"]));
    expect(all.session.status.rates.get("crank-signal")).toBeGreaterThan(0.2);
    await closed(all);
  });

  test("the definition stands in the recording ahead of the first reply, in a later recording too", async () => {
    const all = await listening({ modules: [counting] }, { defined: [crankCounter] });
    await all.clock.pass(5000);
    const second = new MemorySink(all.clock.now());
    all.session.start(second);
    await all.clock.pass(5000);
    for (const { events } of [all.sink, second]) {
      const told = events.findIndex(({ k }) => k === "defined");
      const read = events.findIndex((event) => event.k === "x" && event.ask.startsWith("22"));
      expect(told).toBeGreaterThanOrEqual(0);
      expect(read).toBeGreaterThan(told);
    }
    await closed(all);
  });

  test("nobody answers it: after five times it is asked seldom, and heard again when it comes", async () => {
    const all = await listening({ modules: [engineModule] }, { defined: [crankCounter] });
    await all.clock.pass(60_000);
    const times = (): number[] =>
      all.peer.log.filter(({ command }) => command.startsWith("22")).map(({ at }) => at);
    const late = times().filter((at) => at > all.clock.now() - 40_000);
    expect(late.length).toBeGreaterThan(1);
    expect(late.length).toBeLessThan(6);
    expect(all.session.status.link).toBe("listening");
    all.peer.modules = [counting];
    await all.clock.pass(12_000);
    const before = times().length;
    await all.clock.pass(10_000);
    expect(times().length - before).toBeGreaterThan(3);
    await closed(all);
  });

  test("a module that says no does not make the vehicle silent", async () => {
    const refusing = { ...engineModule, replies: { ...engineModule.replies, "221101": "7F2231" } };
    const all = await listening({ modules: [refusing] }, { defined: [crankCounter] });
    await all.clock.pass(30_000);
    expect(all.sink.notices).toEqual([]);
    await closed(all);
  });

  test("without a definition no read by identifier leaves", async () => {
    const all = await listening({ modules: [counting] });
    await all.clock.pass(10_000);
    expect(all.peer.received.filter((command) => /^2[12]/.test(command))).toEqual([]);
    await closed(all);
  });
});

const example = new URL("../../recordings/parameters/bench-signals.json", import.meta.url);
const rows = readDefinedParameters(readFileSync(example, "utf8"), "bench-signals.json");

async function crank(vehicle: string, faults: readonly string[]): Promise<Reading> {
  const clock = new VirtualClock(undefined, 64);
  const bench = new Bench({ vehicle, faults: faults.map((name) => ({ name, severity: 1 })), clock });
  bench.act({ act: "key", to: "on" });
  const sink = new MemorySink(clock.now());
  const open = (): Promise<ReturnType<typeof memoryPair>[0]> => {
    const [ours, theirs] = memoryPair("bench", "adapter");
    attachAdapter(bench, theirs, clock);
    return Promise.resolve(ours);
  };
  const session = new Session({ open, address: `bench:${vehicle}`, clock, sink, defined: rows });
  await clock.run(session.connect());
  session.start(sink);
  await clock.pass(5000);
  bench.act({ act: "key", to: "crank" });
  await clock.pass(8000);
  bench.act({ act: "key", to: "on" });
  await clock.pass(3000);
  await clock.run(session.close());
  bench.stop();
  const reading = new Reading("bench");
  for (const event of sink.events) reading.event(event);
  return reading;
}

describe.each(benchVehicles.map(({ id }) => id))("the counters of %s", (id) => {
  test("while the starter turns a crank counter steps with the engine speed", async () => {
    const reading = await crank(id, ["tank-empty"]);
    const rates = reading.channels.find("crank-signal-rate");
    const speeds = reading.channels.find("engine-speed");
    const most = Math.max(...(rates?.values ?? []).filter((v) => !Number.isNaN(v)));
    const fastest = Math.max(...(speeds?.values ?? []).filter((v) => !Number.isNaN(v)));
    // Sixty teeth a turn: as many steps a second as turns a minute.
    expect(most).toBeGreaterThan(100);
    expect(most).toBeLessThan(fastest * 1.2);
    const cam = reading.channels.find("cam-signal");
    expect(new Set(cam?.values).size).toBeGreaterThan(3);
  });
});

test("a crankshaft signal that is not there: its counter stands still while the cam counter moves", async () => {
  const reading = await crank("garden-van", ["no-crank-signal"]);
  const signs = interpret(reading).signs.filter(({ id }) => id === "counter.still");
  expect(signs.map(({ key, verdict }) => [key, verdict]).sort()).toEqual([
    ["counter.still/cam-signal", "within"],
    ["counter.still/crank-signal", "outside"],
  ]);
});
