/** A vehicle that speaks SAE J1979-2 alone, behind the bench vehicle's own encoding: found, polled, surveyed, cleared. */
import { describe, expect, test } from "vitest";
import { attachAdapter, Bench } from "../../adapters/bench/index.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { memoryPair } from "../../adapters/link/memory.ts";
import { Session } from "../../adapters/polling/session.ts";
import { clearSentence } from "../../shared/clearing.ts";
import { surveyRows } from "../../shared/surveyWords.ts";
import { Reading, surveyOf } from "../../src/reading/index.ts";
import { MemorySink } from "./support.ts";

async function onBench(unconfirmed: boolean, faults: readonly string[] = []) {
  const clock = new VirtualClock(undefined, 64);
  const bench = new Bench({
    vehicle: "market-estate",
    faults: faults.map((name) => ({ name, severity: 1 })),
    clock,
  });
  bench.act({ act: "key", to: "on" });
  const sink = new MemorySink(clock.now());
  const session = new Session({
    open: () => {
      const [ours, theirs] = memoryPair("bench", "adapter");
      attachAdapter(bench, theirs, clock);
      return Promise.resolve(ours);
    },
    address: "bench:market-estate",
    ...{ clock, sink, unconfirmed },
  });
  await clock.run(session.connect());
  session.start(sink);
  const reading = (): Reading => {
    const found = new Reading("bench");
    for (const event of sink.events) found.event(event);
    return found;
  };
  return { clock, bench, sink, session, reading };
}

/** Long enough for the code to be stored. */
async function crankTwice(clock: VirtualClock, bench: Bench): Promise<void> {
  for (let i = 0; i < 3; i++) {
    bench.act({ act: "key", to: "crank" });
    await clock.pass(8000);
    bench.act({ act: "key", to: "on" });
    await clock.pass(4000);
  }
}

describe.each([false, true])("requests that nobody confirmed: %s", (unconfirmed) => {
  test("silent to 0100 and told by 22 F810; its parameters are read three to a request", async () => {
    const { clock, bench, sink, session, reading } = await onBench(unconfirmed);
    expect(session.status.protocol).toBe("can11-500");
    expect([...session.status.modules.keys()]).toEqual(["7E8", "7E9"]);
    bench.act({ act: "key", to: "crank" });
    await clock.pass(2500);
    bench.act({ act: "key", to: "on" });
    await clock.pass(10_000);
    await clock.run(session.pause());
    await clock.run(session.close());
    bench.stop();
    const asked = sink.asked();
    expect(asked.some((ask) => ask.startsWith("22F400"))).toBe(unconfirmed);
    expect(asked.filter((ask) => /^22(?:F4..){3}/.test(ask)).length).toBeGreaterThan(10);
    expect(asked.filter((ask) => /^22(?:F4..){4}/.test(ask))).toEqual([]);
    const values = (channel: string): number[] =>
      [...(reading().channels.find(channel, "7E8")?.values ?? [])].filter((v) => !Number.isNaN(v));
    expect(Math.max(...values("engine-speed"))).toBeGreaterThan(500);
    expect(values("coolant").length).toBeGreaterThan(1);
    expect(values("module-voltage").every((v) => v > 6 && v < 16)).toBe(true);
    expect([...reading().discarded]).toEqual([]);
    // Nothing but service 22 went to the vehicle once it was known.
    const after = asked.slice(asked.indexOf("22F810") + 1);
    expect(after.filter((ask) => !/^(?:AT|22F4)/.test(ask))).toEqual([]);
  });

  test("a code comes with its failure type and its status, live and from the recording", async () => {
    const { clock, bench, session, reading } = await onBench(unconfirmed, ["no-crank-signal"]);
    await crankTwice(clock, bench);
    const asking = session.survey();
    await clock.run(asking);
    const survey = await asking;
    const engine = survey.modules.find(({ module }) => module === "7E8");
    expect(engine?.stored).toContain("P0335");
    expect(engine?.details?.find(({ code }) => code === "P0335")).toMatchObject({
      failureType: 0x31,
      failure: "no signal",
    });
    expect(engine?.permanent).toContain("P0335");
    expect(engine?.freezeFrame?.code).toBe("P0335");
    expect(engine?.freezeFrame?.values.length).toBeGreaterThan(5);
    expect(engine?.vin?.checkDigit).toBe("fits");
    expect(engine?.name).toBe("ECM-EngineControl");
    const line = (engine === undefined ? [] : surveyRows(engine)).find(({ name }) => name === "stored codes")
      ?.lines[0];
    expect(line).toMatch(/^P0335-31 crankshaft position sensor A circuit: no signal; .*confirmed/);
    expect(surveyOf(reading())?.survey.modules).toEqual(survey.modules);
    expect(engine?.groups === undefined).toBe(!unconfirmed);
    await clock.run(session.close());
    bench.stop();
  });

  test("clearing goes out only by the deliberate act, and only when a person turned on what is unconfirmed", async () => {
    const { clock, bench, sink, session } = await onBench(unconfirmed, ["no-crank-signal"]);
    await crankTwice(clock, bench);
    const asking = session.survey();
    await clock.run(asking);
    const survey = await asking;
    const outcome = session.clearCodes(clearSentence(survey)).then(
      (done) => [...done.cleared].sort(),
      (error: unknown) => error,
    );
    await clock.run(outcome);
    if (unconfirmed) expect(await outcome).toEqual(["7E8", "7E9"]);
    else expect(await outcome).toMatchObject({ code: "clear-refused" });
    expect(sink.asked().filter((ask) => ask.startsWith("14"))).toEqual(unconfirmed ? ["14FFFF33"] : []);
    expect(sink.asked()).not.toContain("04");
    await clock.run(session.close());
    bench.stop();
  });
});
