/**
 * A bus with a start sequence, behind a supply dip and behind a module's own restart: the first reading comes after the
 * adapter's restart, the start sequence and a quarter of a second, told of the start or not.
 */
import { afterEach, describe, expect, test } from "vitest";
import { BusStart } from "../../adapters/polling/busStart.ts";
import { RateMemory } from "../../adapters/polling/rateMemory.ts";
import { engineModule, type PeerFault } from "../support/peer.ts";
import { closed, listening, rig, type MemorySink, type Rig } from "./support.ts";

let open: Rig[] = [];
afterEach(async () => {
  for (const all of open) await closed(all);
  open = [];
});

/** The first request behind a restart starts the bus; what the scripted adapter takes for it, milliseconds. */
const startSequences = [
  { bus: "ISO 9141-2, five baud", protocol: 3, startsMs: 2400 },
  { bus: "ISO 14230-4, five baud", protocol: 4, startsMs: 2400 },
  { bus: "ISO 14230-4, fast", protocol: 5, startsMs: 200 },
] as const;
const fiveBaud = startSequences[0];
const adapters: readonly (readonly [string, readonly PeerFault[]])[] = [
  ["tells of the start as it begins", []],
  ["is silent until it is over", ["mute-start"]],
];
const cases = startSequences.flatMap((start) =>
  adapters.map(([adapter, faults]) => ({ ...start, adapter, faults })),
);

const engine = {
  ...engineModule,
  address: "10",
  replies: { ...engineModule.replies, "0100": "4100BE3FE812" },
};

async function onBus(protocol: number, faults: readonly PeerFault[]): Promise<Rig> {
  const all = await listening({ modules: [engine], protocol, faults });
  open.push(all);
  await all.clock.pass(2005);
  return all;
}

function firstGood(sink: MemorySink, from: number): number {
  const good = sink.exchanges.find(
    (x) => x.t >= from && x.ask.startsWith("01") && x.err === undefined && x.end !== null,
  );
  return (good?.t ?? Number.POSITIVE_INFINITY) + (good?.end ?? 0);
}

describe.each(cases)("$bus, and an adapter that $adapter", ({ protocol, startsMs, faults }) => {
  test("is connected to, with all that the module announces", async () => {
    const { session } = await onBus(protocol, faults);
    expect(session.status.link).toBe("listening");
    expect([...(session.status.modules.get("10") ?? [])]).toContain(0x1f);
    expect(session.status.rates.get("engine-speed")).toBeGreaterThan(0);
  });

  test.each(["identity", "LV RESET"] as const)("a dip that ends in %s", async (word) => {
    const { clock, peer, sink } = await onBus(protocol, faults);
    for (const restartMs of [30, 300, 800, 3000]) {
      for (const apartMs of [513, 1007]) {
        await clock.pass(apartMs);
        const at = clock.now();
        peer.dip(restartMs, word);
        await clock.pass(restartMs + startsMs + 700);
        const sent = peer.log.filter((entry) => entry.at >= at).map(({ command }) => command);
        expect(sent.filter((command) => command.startsWith("ATSP"))).toEqual([`ATSP${protocol}`]);
        const asked = sink.exchanges.filter((x) => x.t >= at && x.ask.startsWith("01"));
        const said = (words: string): number =>
          asked.filter(({ lines }) => lines.some((line) => line.startsWith(words))).length;
        expect(said("BUS INIT")).toBe(1);
        expect(said("SEARCHING")).toBe(0);
        const first = firstGood(sink, at);
        expect(first).toBeGreaterThan(at + restartMs + startsMs);
        expect(first).toBeLessThan(at + restartMs + startsMs + 250);
      }
    }
  });

  test("another dip while the bus is being started", async () => {
    const { clock, peer, sink } = await onBus(protocol, faults);
    peer.dip(400);
    await clock.pass(400 + startsMs / 2);
    const at = clock.now();
    peer.dip(600);
    await clock.pass(startsMs + 2000);
    expect(firstGood(sink, at)).toBeLessThan(at + 600 + startsMs + 250);
    expect(sink.states).not.toContain("lost");
  });

  test("the module restarts, the adapter does not: the bus is started once, the voltage goes on before", async () => {
    const { clock, peer, sink } = await onBus(protocol, faults);
    const gone = clock.now();
    peer.modules = [];
    await clock.pass(1500);
    // The session of the bus ends with the module.
    peer.set.active = 0;
    peer.modules = [engine];
    const back = clock.now();
    await clock.pass(startsMs + 2000);
    expect(sink.asked(gone, back)).toContain("ATRV");
    expect(firstGood(sink, back)).toBeLessThan(back + startsMs + 350);
    expect(sink.states).not.toContain("lost");
  });
});

test("on the faster line too a silent start is waited for, and not taken for an adapter that began anew", async () => {
  const made: Rig = rig(
    { modules: [engine], protocol: fiveBaud.protocol, faults: ["mute-start"], baud: 38_400 },
    {
      open: (baud) => made.peer.open("serial:x", baud),
      ...{ baud: 38_400, rates: new RateMemory() },
    },
  );
  open.push(made);
  const { clock, peer, session, sink } = made;
  await clock.run(session.connect());
  session.start(sink);
  await clock.pass(2005);
  expect(session.status.adapter?.baud).toBe(500_000);
  peer.modules = [];
  await clock.pass(1500);
  peer.set.active = 0;
  peer.modules = [engine];
  const back = clock.now();
  await clock.pass(5000);
  expect(firstGood(sink, back)).toBeLessThan(back + fiveBaud.startsMs + 350);
  const at = clock.now();
  peer.dip(400);
  await clock.pass(5000);
  expect(firstGood(sink, at)).toBeLessThan(at + 400 + fiveBaud.startsMs + 250);
  expect(sink.states).not.toContain("lost");
});

test("patience ends: an adapter that dies while the bus is being started is missed, and the line opened anew", async () => {
  const { clock, peer, sink, session } = await onBus(fiveBaud.protocol, ["mute-start"]);
  peer.dip(300);
  await clock.pass(1000);
  peer.faults.add("silence");
  await clock.pass(12_000);
  expect(session.status.link).toBe("lost");
  peer.faults.delete("silence");
  await clock.pass(15_000);
  expect(sink.states.at(-1)).toBe("back");
  expect(session.status.link).toBe("listening");
});

test("patience is for what may start the bus, and for nothing else", () => {
  const start = new BusStart();
  const see = (ask: string, answer: readonly string[], err?: string): Partial<{ silenceMs: number }> => {
    start.see({ ask, answer, ...(err === undefined ? {} : { err }) });
    return start.waits;
  };
  const patient = { silenceMs: 7000 };
  expect(see("ATSP6", ["OK"])).toEqual({});
  expect(see("010C1", [], "silent")).toEqual({});
  expect(see("ATSP3", ["OK"])).toEqual(patient);
  expect(see("ATRV", ["12.4V"])).toEqual(patient);
  expect(see("010C1", ["BUS INIT: ...ERROR"], "BUS INIT: ...ERROR")).toEqual(patient);
  expect(see("010C1", ["BUS INIT: ...OK", "486B10410C0000D4"])).toEqual({});
  expect(see("ATRV", ["12.4V"])).toEqual({});
  expect(see("010C1", ["48 6B 10 41 0C 00 00 D4"])).toEqual({});
  expect(see("ATRV", [], "reset")).toEqual(patient);
});
