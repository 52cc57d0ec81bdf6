/** What the modules said, read again from the recording, is what the session told when it was asked. */
import { expect, test } from "vitest";
import { benchVehicles, attachAdapter, Bench } from "../../adapters/bench/index.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { memoryPair } from "../../adapters/link/memory.ts";
import { Session } from "../../adapters/polling/session.ts";
import { Reading, surveyOf } from "../../src/reading/index.ts";
import { listening, closed, MemorySink } from "../polling/support.ts";
import { engineModule, gearModule } from "../support/peer.ts";

function readingOf(sink: MemorySink): Reading {
  const reading = new Reading("test");
  for (const event of sink.events) reading.event(event);
  return reading;
}

test.each(benchVehicles.map(({ id }) => id))("%s: replay equals what was told live", async (id) => {
  const clock = new VirtualClock();
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
