/** Reads that one module is asked alone: the header before, the one to all behind, and nothing between them. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { attachAdapter, Bench } from "../../adapters/bench/index.ts";
import type { BenchModule } from "../../adapters/bench/vehicles.ts";
import { Dialogue } from "../../adapters/dialogue/dialogue.ts";
import { headersFor } from "../../adapters/dialogue/headers.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { memoryPair } from "../../adapters/link/memory.ts";
import { Session } from "../../adapters/polling/session.ts";
import { readFrame } from "../../adapters/framing/frames.ts";
import { readDefinedParameters, type DefinedParameter } from "../../shared/defined.ts";
import { protocols, type ProtocolId } from "../../shared/protocols.ts";
import { Reading } from "../../src/reading/index.ts";
import { crankCounter } from "../support/defined.ts";
import { engineModule, gearModule } from "../support/peer.ts";
import { closed, listening, MemorySink } from "./support.ts";

const addresses: readonly (readonly [ProtocolId, number, string, readonly [string, string] | null])[] = [
  ["can11-500", 0x7e8, "7E8", ["ATSH7E0", "ATSH7DF"]],
  ["can29-500", 0x18daf110, "10", ["ATSHDA10F1", "ATSHDB33F1"]],
  ["can11-250", 0x7e9, "7E9", ["ATSH7E1", "ATSH7DF"]],
  ["vpw", 0x10, "10", ["ATSH6C10F1", "ATSH686AF1"]],
  ["pwm", 0x10, "10", ["ATSHC410F1", "ATSH616AF1"]],
  ["kwp-fast", 0x10, "10", ["ATSH8010F1", "ATSHC033F1"]],
  ["kwp-slow", 0x10, "10", ["ATSH8010F1", "ATSHC033F1"]],
  ["iso9141", 0x10, "10", null],
];

function own(module: string): DefinedParameter {
  return { ...crankCounter, module, alone: true };
}

describe.each(addresses)("on %s", (protocol, address, module, headers) => {
  test("the engine module alone is asked, and the counter comes with its steps a second", async () => {
    const clock = new VirtualClock();
    const bench = new Bench({ vehicle: "garden-van", clock });
    const rows = bench.vehicle.modules.map((row, i): BenchModule => ({
      ...row,
      address: i === 0 ? address : address + (protocols[protocol].family === "can" ? 1 : 8),
    }));
    Object.defineProperty(bench, "vehicle", { value: { ...bench.vehicle, protocol, modules: rows } });
    bench.act({ act: "key", to: "on" });
    const sink = new MemorySink(clock.now());
    const session = new Session({
      open: () => {
        const [ours, theirs] = memoryPair("bench", "adapter");
        attachAdapter(bench, theirs, clock);
        return Promise.resolve(ours);
      },
      address: "bench:garden-van",
      ...{ clock, sink, defined: [own(module)] },
    });
    await clock.run(session.connect());
    session.start(sink);
    await clock.pass(3000);
    bench.act({ act: "key", to: "crank" });
    await clock.pass(6000);
    await clock.run(session.close());
    bench.stop();
    const asked = sink.asked();
    // The last exchanges may have been broken off by closing.
    const whole = asked.length - 4;
    const reads = asked.flatMap((ask, i) => (ask.startsWith("2211") && i < whole ? [i] : []));
    expect(reads.length).toBeGreaterThan(3);
    for (const i of reads) {
      if (headers === null) expect(asked[i + 1]).not.toMatch(/^ATSH/);
      else expect([asked[i - 1], asked[i + 1]]).toEqual(headers);
    }
    // Standard requests go to all modules, as before.
    const after = sink.exchanges.slice(reads.at(-1)).find(({ ask }) => ask.startsWith("010C"));
    expect(after?.err).toBeUndefined();
    const reading = new Reading("bench");
    for (const event of sink.events) reading.event(event);
    const rates = (reading.channels.find("crank-signal-rate")?.values ?? []).filter((v) => !Number.isNaN(v));
    expect(Math.max(...rates)).toBeGreaterThan(100);
  });
});

test("a module that is not there, or no address of this bus: nothing is made up", () => {
  expect(headersFor("can11-500", "10")).toBe(null);
  expect(headersFor("can11-500", "7E0")).toBe(null);
  expect(headersFor("vpw", "7E8")).toBe(null);
  expect(headersFor("can29-250", "18DAF128")).toEqual({ alone: "ATSHDA28F1", all: "ATSHDB33F1" });
});

test("replies to the tester alone are frames; the requests are not (headers from memory)", () => {
  // 6C F1 10 62 11 01 00 FF, checksum by hand as CRC-8/SAE-J1850 would have it, is in the bench vehicle's test above.
  expect(readFrame("vpw", "6C10F1221101B1")).toMatchObject({ problem: "a request, not a reply" });
  expect(readFrame("pwm", "C410F1221101B1")).toMatchObject({ problem: "a request, not a reply" });
});

describe("a scripted adapter", () => {
  const counting = { ...engineModule, replies: { ...engineModule.replies, "221101": "62110100FF" } };

  test("that refuses the header is asked for the read no more often than for one that does not come", async () => {
    const all = await listening(
      { modules: [counting, gearModule], refuses: ["ATSH7E0"] },
      { defined: [own("7E8")] },
    );
    await all.clock.pass(30_000);
    const { received } = all.peer;
    expect(received).toContain("ATSH7E0");
    expect(received.filter((command) => command.startsWith("22"))).toEqual([]);
    expect(all.session.status.link).toBe("listening");
    expect(all.session.status.rates.get("engine-speed")).toBeGreaterThan(0);
    await closed(all);
  });

  test("whatever happens in the middle, nothing else reaches the vehicle before all are addressed again", async () => {
    const all = await listening({ modules: [counting, gearModule] }, { defined: [own("7E8")] });
    const { clock, peer } = all;
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom("dip", "silence", "garbage", "no-prompt", "cut-reply"),
        fc.nat(900),
        async (what, ms) => {
          await clock.pass(ms);
          if (what === "dip") peer.dip(150);
          else {
            peer.faults.add(what);
            await clock.pass(400);
            peer.faults.delete(what);
          }
          await clock.pass(2500);
        },
      ),
      { numRuns: 25 },
    );
    const log = peer.received;
    let alone = false;
    for (const command of log) {
      if (command === "ATSH7E0") alone = true;
      // A restart, a warm start and the header itself put it back.
      else if (/^(ATSH7DF|ATZ|ATWS|ATE0)$/.test(command)) alone = false;
      else if (alone && !command.startsWith("AT") && command !== "TRV") expect(command).toMatch(/^2211011?$/);
    }
    expect(log.filter((command) => command === "ATSH7E0").length).toBeGreaterThan(20);
    await closed(all);
  });
});

test("on the list it stands only with its pair, for a defined read of services 21 and 22", async () => {
  const clock = new VirtualClock();
  const { Peer } = await import("../support/peer.ts");
  const peer = new Peer({ clock });
  const dialogue = new Dialogue(await peer.open(), clock, { reads: new Set(["221101"]) });
  const refused = async (read: string, alone: string, all: string): Promise<void> => {
    const outcome = dialogue.askAlone(read, { alone, all }).then(
      () => "sent",
      (error: unknown) => error,
    );
    await clock.run(outcome);
    expect(await outcome).toMatchObject({ code: "request-refused" });
  };
  await refused("221102", "ATSH7E0", "ATSH7DF");
  await refused("04", "ATSH7E0", "ATSH7DF");
  await refused("0100", "ATSH7E0", "ATSH7DF");
  await refused("221101", "ATSH123", "ATSH7DF");
  await refused("221101", "ATSH7E0", "ATSH7E0");
  await refused("221101", "ATSH7E0\r04", "ATSH7DF");
  expect(peer.received).toEqual([]);
  await dialogue.close();
});

test("a definition that cannot be asked alone is refused with its place", () => {
  const file = (row: object): string => JSON.stringify({ parameters: [row] });
  const without = { ...crankCounter, alone: true };
  expect(() => readDefinedParameters(file(without), "x")).toThrow(/parameters\.0\.alone/);
  expect(() => readDefinedParameters(file({ ...own("7E8"), request: "01E1" }), "x")).toThrow(
    /parameters\.0\.alone/,
  );
  expect(readDefinedParameters(file(own("7E8")), "x")).toHaveLength(1);
});
