/** What the modules said, read again from the recording, is what the session told when it was asked. */
import { expect, test } from "vitest";
import { benchVehicles, attachAdapter, Bench } from "../../adapters/bench/index.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { memoryPair } from "../../adapters/link/memory.ts";
import { Session } from "../../adapters/polling/session.ts";
import { surveyRows } from "../../shared/surveyWords.ts";
import { Reading, surveyOf } from "../../src/reading/index.ts";
import { listening, closed, MemorySink } from "../polling/support.ts";
import { engineModule, gearModule } from "../support/peer.ts";

function readingOf(sink: MemorySink): Reading {
  const reading = new Reading("test");
  for (const event of sink.events) reading.event(event);
  return reading;
}

test.each(benchVehicles.map(({ id }) => id))("%s: replay equals what was told live", async (id) => {
  const clock = new VirtualClock(undefined, 64);
  const faults = [{ name: "crank-signal-dropout", severity: 1 }];
  const bench = new Bench({ vehicle: id, faults, clock });
  bench.act({ act: "key", to: "on" });
  const sink = new MemorySink(clock.now());
  const open = (): Promise<ReturnType<typeof memoryPair>[0]> => {
    const [ours, theirs] = memoryPair("bench", "adapter");
    attachAdapter(bench, theirs, clock);
    return Promise.resolve(ours);
  };
  const session = new Session({ open, address: `bench:${id}`, clock, sink });
  await clock.run(session.connect());
  session.start(sink);
  bench.act({ act: "key", to: "crank" });
  await clock.pass(15_000);
  bench.act({ act: "key", to: "on" });
  const asked = session.survey();
  await clock.run(asked);
  const told = await asked;
  await clock.run(session.close());
  bench.stop();
  const recorded = surveyOf(readingOf(sink));
  expect(recorded?.survey.modules).toEqual(told.modules);
  expect(told.meanings.map(({ code }) => code)).toEqual(recorded?.survey.meanings.map(({ code }) => code));
});

test("the latest answer to a question counts: a code that is gone is gone", async () => {
  const module = (stored: string) => ({
    ...engineModule,
    replies: { ...engineModule.replies, "03": stored },
  });
  const all = await listening({ modules: [module("430103350000"), gearModule] });
  await all.clock.run(all.session.survey());
  const first = surveyOf(readingOf(all.sink));
  expect(first?.survey.modules[0]?.stored).toEqual(["P0335"]);
  expect(first?.survey.meanings).toMatchObject([{ code: "P0335", by: "standard", known: true }]);
  all.peer.modules = [module("4300"), gearModule];
  await all.clock.run(all.session.survey());
  const second = surveyOf(readingOf(all.sink));
  expect(second?.survey.modules[0]?.stored).toEqual([]);
  expect(second?.t).toBeGreaterThan(first?.t ?? 0);
  await closed(all);
});

test("a recording in which nobody asked for codes has no survey", async () => {
  const all = await listening();
  await all.clock.pass(3000);
  expect(surveyOf(readingOf(all.sink))).toBeNull();
  await closed(all);
});

const vinOnCan = [
  "7E8 10 14 49 02 01 31 47 31",
  "7E8 21 4A 43 35 34 34 34 52",
  "7E8 22 37 32 35 32 33 36 37",
];
/** Sums worked out by hand, as in the tests of numbered messages. */
const vinByParts = [
  "48 6B 10 49 02 01 00 00 00 31 40",
  "48 6B 10 49 02 02 4D 38 47 44 20",
  "48 6B 10 49 02 03 4D 39 41 58 30",
  "48 6B 10 49 02 04 4B 50 30 34 11",
  "48 6B 10 49 02 05 32 37 38 38 EC",
];
type Told = { readonly vin: string | null; readonly inPart: readonly string[] };

function toldOf(protocol: "can11-500" | "iso9141", asked: readonly (readonly string[])[]): Told {
  const reading = new Reading("test");
  reading.event({ k: "link", t: 0, state: "opened", protocol });
  asked.forEach((lines, i) =>
    reading.event({ k: "x", t: 100 + 100 * i, ask: "0902", lines: [...lines], first: 5, end: 9 }),
  );
  const survey = surveyOf(reading)?.survey;
  const [module] = survey?.modules ?? [];
  const rows = module === undefined ? [] : surveyRows(module);
  return {
    vin: module?.vin?.text ?? null,
    inPart: rows.filter(({ name }) => name === "came in part").flatMap(({ lines }) => lines),
  };
}

test("a VIN of which a frame is missing is no VIN, and that is said of the module", () => {
  expect(toldOf("can11-500", [vinOnCan])).toEqual({ vin: "1G1JC5444R7252367", inPart: [] });
  expect(toldOf("can11-500", [vinOnCan.slice(0, 2)])).toEqual({
    vin: null,
    inPart: ["VIN: unfinished: 13 of 20 bytes came"],
  });
  expect(toldOf("can11-500", [[vinOnCan[0] ?? "", vinOnCan[2] ?? ""]])).toEqual({
    vin: null,
    inPart: ["VIN: consecutive frame 2, expected 1"],
  });
  expect(toldOf("iso9141", [vinByParts])).toEqual({ vin: "1M8GDM9AXKP042788", inPart: [] });
  expect(toldOf("iso9141", [vinByParts.filter((_, i) => i !== 2)])).toEqual({
    vin: null,
    inPart: ["VIN: part 3 of 5 is missing"],
  });
});

test("what came whole at another time is not told as missing", () => {
  const [first = ""] = vinOnCan;
  expect(toldOf("can11-500", [[first], vinOnCan])).toEqual({ vin: "1G1JC5444R7252367", inPart: [] });
  expect(toldOf("can11-500", [vinOnCan, [first]])).toEqual({ vin: "1G1JC5444R7252367", inPart: [] });
});

test("asked live outside CAN, a VIN of four parts is told as in the recording of it", async () => {
  const parts = ["49020231474331", "490203434A3534", "49020434345237", "49020532353233"];
  const module = { ...engineModule, address: "10", replies: { ...engineModule.replies, "0902": parts } };
  const all = await listening({ modules: [module], protocol: 3 });
  const asked = all.session.survey();
  await all.clock.run(asked);
  const live = (await asked).modules;
  expect(live[0]).toMatchObject({ vin: null, incomplete: [{ of: "VIN", why: "part 1 of 5 is missing" }] });
  expect(surveyOf(readingOf(all.sink))?.survey.modules).toEqual(live);
  await closed(all);
});
