/** The capture of the cylinders' strength: what it asks the bench adapter, what it tells while it goes on, what comes of it. */
import { expect, test } from "vitest";
import { attachAdapter, Bench } from "../../adapters/bench/index.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { memoryPair } from "../../adapters/link/memory.ts";
import { Session } from "../../adapters/polling/session.ts";
import { StrengthAsking } from "../../adapters/polling/strengthAsking.ts";
import { formatName, formatVersion, headerLine } from "../../shared/recording/format.ts";
import type { RecordingEvent } from "../../shared/recording/format.ts";
import { cylinderCount, StrengthFollower, strengthIntroduction } from "../../src/cli/strength.ts";
import { captureTold } from "../../src/interpret/crank/strengthCapture.ts";
import { interpret, type Findings } from "../../src/interpret/index.ts";
import { Reading } from "../../src/reading/index.ts";

interface Captured {
  readonly told: string[];
  readonly asked: string[];
  readonly findings: Findings;
  readonly over: boolean;
  readonly strength: { readonly during: boolean; readonly after: boolean };
}

interface CaptureRun {
  readonly vehicle: string;
  readonly cylinders: number;
  /** Cylinder 1 loses so much past a valve. */
  readonly leak?: number;
  readonly crankMs?: number;
  readonly fuel?: boolean;
}

async function captured({
  vehicle,
  cylinders,
  leak = 0,
  crankMs = 4000,
  fuel = false,
}: CaptureRun): Promise<Captured> {
  const clock = new VirtualClock();
  const bench = new Bench({ vehicle, clock, seed: 5 });
  bench.act({ act: "key", to: "on" });
  if (!fuel) bench.engine.unplugged.fill(1);
  bench.engine.damage.valveLeak[0] = leak;
  const reading = new Reading("capture");
  reading.push(
    headerLine({
      ...{ format: formatName, version: formatVersion, started: "2024-01-01T00:00:00.000Z", from: "bench" },
      ...{ adapter: null, protocol: null, vehicle: {}, invented: true, writer: "a test" },
    }),
  );
  const events: RecordingEvent[] = [];
  const sink = {
    zeroMs: clock.now(),
    append: (event: RecordingEvent): void => {
      events.push(event);
      reading.event(event);
    },
  };
  const session = new Session({
    open: () => {
      const [ours, theirs] = memoryPair("us", "bench adapter");
      attachAdapter(bench, theirs, clock);
      return Promise.resolve(ours);
    },
    ...{ address: "bench", clock, sink },
  });
  await clock.run(session.connect());
  session.start(sink);
  await clock.pass(3000);
  session.arm(true, true);
  const begun = clock.now() - sink.zeroMs;
  const follower = new StrengthFollower(reading, cylinders);
  const told: string[] = [];
  let over = false;
  const pass = async (ms: number): Promise<void> => {
    for (let t = 0; t < ms; t += 500) {
      await clock.pass(500);
      const now = follower.told();
      over ||= now.over;
      if (told.at(-1) !== now.words) told.push(now.words);
    }
  };
  await pass(2000);
  for (let i = 0; i < 3; i++) {
    bench.act({ act: "key", to: "crank" });
    await pass(crankMs);
    bench.act({ act: "key", to: "on" });
    await pass(7000);
  }
  const during = session.status.strength;
  const asked = events.flatMap((e) => (e.k === "x" && e.t >= begun ? [e.ask] : []));
  session.arm(false);
  const after = session.status.strength;
  await clock.run(session.close());
  bench.stop();
  reading.finish();
  return { told, asked, over, findings: interpret(reading, { cylinders }), strength: { during, after } };
}

test("on CAN: voltage and speed alone, told as it goes, enough after three cranks, and the cylinders are alike", async () => {
  const { told, asked, findings, over, strength } = await captured({ vehicle: "garden-van", cylinders: 6 });
  expect(new Set(asked.map((ask) => ask.slice(0, 4)))).toEqual(new Set(["ATRV", "010C"]));
  expect(told[0]).toMatch(/^fuel disabled as the manual says\? Then crank 4 s$/);
  expect(told).toContain("crank on");
  expect(told.some((words) => /^rest the starter 30 s, then crank 2 of 3/.test(words))).toBe(true);
  expect(told.at(-1)).toMatch(/^enough: let go \(\d\d readings a second, [2-9]\.\d a firing\)$/);
  expect(over).toBe(true);
  expect(strength).toEqual({ during: true, after: false });
  expect(findings.strength).toMatchObject({ verdict: "even" });
  expect(findings.strength?.perSecond).toBeGreaterThan(12);
}, 180_000);

test("on a K-line the voltage is read often enough between the speeds; one weak cylinder is told", async () => {
  const { asked, findings, told } = await captured({ vehicle: "old-hatch", cylinders: 4, leak: 25 });
  const between = asked
    .join(" ")
    .split(/010C\S*/)
    .slice(1, -1)
    .map((part) => part.trim().split(" ").length);
  expect(new Set(between)).toEqual(new Set([3, 4]));
  expect(told.at(-1)).toMatch(/^enough/);
  expect(findings.strength).toMatchObject({ verdict: "one-weak" });
}, 180_000);

test("a crank that goes on and on is broken off, and an engine that fires after all is asked everything again", async () => {
  const long = await captured({ vehicle: "garden-van", cylinders: 6, crankMs: 6000 });
  expect(long.told).toContain("let go, rest the starter 30 s");
  const fired = await captured({ vehicle: "garden-van", cylinders: 6, fuel: true });
  expect(fired.strength.during).toBe(false);
  expect(new Set(fired.asked.map((ask) => ask.slice(0, 4))).size).toBeGreaterThan(4);
}, 180_000);

test("the command line tells steps and cautions, and takes a number of cylinders alone", () => {
  expect(strengthIntroduction()).toMatch(/1\. Charge the battery[^]*catalyst[^]*manual goes first/);
  expect(cylinderCount("6")).toBe(6);
  for (const text of ["1", "17", "4.5", "six", ""])
    expect(() => cylinderCount(text)).toThrow(expect.objectContaining({ code: "wrong-use" }));
});

test("without the number of cylinders it says so first", () => {
  const reading = new Reading("none");
  expect(captureTold({ source: reading, cranks: [], live: null, cylinders: undefined })).toMatchObject({
    ...{ stop: false, part: 0, words: expect.stringMatching(/how many cylinders/) as string },
  });
});

test("the spacing of the questions is drawn, and the same each time", () => {
  const drawn = (slow: boolean): string =>
    ((asking) => Array.from({ length: 60 }, () => asking.next(slow)[0]).join(""))(new StrengthAsking());
  expect(drawn(false)).toBe(drawn(false));
  const gaps = new Set(drawn(false).split("s").slice(1, -1));
  expect(gaps).toEqual(new Set(["v", "vv"]));
  expect(new Set(drawn(true).split("s").slice(1, -1))).toEqual(new Set(["vvv", "vvvv"]));
});
