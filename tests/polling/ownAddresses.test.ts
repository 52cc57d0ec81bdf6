/** A module by its own addresses: what the adapter is told, what the bench vehicle answers, and what is never sent. */
import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { attachAdapter, Bench } from "../../adapters/bench/index.ts";
import { headersFor, isHeaderPair } from "../../adapters/dialogue/headers.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { memoryPair } from "../../adapters/link/memory.ts";
import { Session } from "../../adapters/polling/session.ts";
import { readDefinedParameters } from "../../shared/defined.ts";
import { Reading } from "../../src/reading/index.ts";
import { MemorySink } from "./support.ts";

const path = new URL("../../recordings/parameters/bench-body.json", import.meta.url);
const defined = readDefinedParameters(readFileSync(path, "utf8"), "bench-body.json");

test("the bench vehicle's body module is asked under 726, heard under 72E, and all are asked again behind it", async () => {
  const clock = new VirtualClock();
  const bench = new Bench({ vehicle: "garden-van", clock });
  bench.act({ act: "key", to: "on" });
  const sink = new MemorySink(clock.now());
  const session = new Session({
    open: () => {
      const [ours, theirs] = memoryPair("bench", "adapter");
      attachAdapter(bench, theirs, clock);
      return Promise.resolve(ours);
    },
    address: "bench:garden-van",
    ...{ clock, sink, defined },
  });
  await clock.run(session.connect());
  session.start(sink);
  await clock.pass(8000);
  await clock.run(session.close());
  bench.stop();
  const asked = sink.asked();
  const at = asked.indexOf("224101");
  expect(asked.slice(at - 5, at + 4)).toEqual([
    ...["ATSH726", "ATCRA72E", "ATFCSH726", "ATFCSD300000", "ATFCSM1"],
    ...["224101", "ATFCSM0", "ATCRA", "ATSH7DF"],
  ]);
  const reading = new Reading("bench");
  for (const event of sink.events) reading.event(event);
  const first = (channel: string): number => reading.channels.find(channel, "72E")?.values[0] ?? Number.NaN;
  expect(first("body-distance")).toBeGreaterThan(5_000_000);
  expect(first("body-volts")).toBeCloseTo(reading.channels.find("socket-voltage")?.values[0] ?? 0, 0);
  expect(first("body-outside")).toBeGreaterThan(-30);
  // The standard requests go on beside it.
  expect(reading.channels.find("engine-speed", "7E8")?.values.length).toBeGreaterThan(5);
  expect(reading.discarded.size).toBe(0);
});

test("what the adapter is told, by bus; on another bus the module is not asked", () => {
  expect(headersFor("can11-500", "750>758/2A")).toEqual({
    alone: "ATSH750",
    before: ["ATCRA758", "ATFCSH750", "ATFCSD300000", "ATFCSM1", "ATCEA2A"],
    behind: ["ATCEA", "ATFCSM0", "ATCRA"],
    all: "ATSH7DF",
  });
  expect(headersFor("can29-500", "18DA60F1>18DAF160")).toEqual({ alone: "ATSHDA60F1", all: "ATSHDB33F1" });
  expect(headersFor("can29-500", "726>72E")).toBeNull();
  expect(headersFor("vpw", "726>72E")).toBeNull();
});

test("settings pass only with what takes them back, and flow control only to the module that is asked", () => {
  const good = headersFor("can11-500", "750>758/2A");
  if (good === null) throw new Error("no headers");
  expect(isHeaderPair(good)).toBe(true);
  expect(isHeaderPair({ ...good, alone: "ATSH0C9" })).toBe(false);
  expect(isHeaderPair({ ...good, alone: "ATSH7DF" })).toBe(false);
  expect(isHeaderPair({ ...good, alone: "ATSH751" })).toBe(false);
  expect(isHeaderPair({ ...good, behind: ["ATFCSM0", "ATCRA"] })).toBe(false);
  expect(isHeaderPair({ ...good, behind: [...(good.behind ?? []), "ATMA"] })).toBe(false);
  expect(isHeaderPair({ ...good, before: [...(good.before ?? []), "ATFCSD310000"] })).toBe(false);
});
