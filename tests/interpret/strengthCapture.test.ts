/** The capture of relative compression: what it asks the bench adapter, what it tells while it goes on, what comes of it. */
import { expect, test } from "vitest";
import { Bench } from "../../adapters/bench/index.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { StrengthAsking } from "../../adapters/polling/strengthAsking.ts";
import { eventLine, formatName, formatVersion, headerLine } from "../../shared/recording/format.ts";
import type { RecordingEvent } from "../../shared/recording/format.ts";
import { Analyst } from "../../src/analyst/index.ts";
import { cylinderCount, strengthIntroduction, strengthTold } from "../../src/cli/strength.ts";
import { captureTold } from "../../src/interpret/crank/strengthCapture.ts";
import { Cranks } from "../../src/analyst/cranks.ts";
import { Interpreter, VehicleRanges, type Findings } from "../../src/interpret/index.ts";
import { Reading } from "../../src/reading/index.ts";
import { but, crank, eventsOf, keyOn, script, type Stretch } from "./scenes.ts";
import { benchSession } from "../support/benchSession.ts";

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
  const analyst = new Analyst("capture", { facts: () => ({ vehicle: { cylinders } }) });
  const bytes = new TextEncoder();
  const header = headerLine({
    ...{ format: formatName, version: formatVersion, started: "2024-01-01T00:00:00.000Z", from: "bench" },
    ...{ adapter: null, protocol: null, vehicle: {}, invented: true, writer: "a test" },
  });
  analyst.push(bytes.encode(header));
  const events: RecordingEvent[] = [];
  const { session, zeroMs } = await benchSession(bench, clock, (event) => {
    events.push(event);
    analyst.push(bytes.encode(eventLine(event)));
  });
  await clock.pass(3000);
  session.arm(true, true);
  const begun = clock.now() - zeroMs;
  const since = analyst.reading.lastTime;
  const told: string[] = [];
  let over = false;
  const pass = async (ms: number): Promise<void> => {
    for (let t = 0; t < ms; t += 500) {
      await clock.pass(500);
      const now = strengthTold(analyst, cylinders, since);
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
  analyst.finish();
  return { told, asked, over, findings: analyst.findings(), strength: { during, after } };
}

test("on CAN: voltage and speed alone, told as it goes, enough after three cranks, and the cylinders are alike", async () => {
  const { told, asked, findings, over, strength } = await captured({ vehicle: "garden-van", cylinders: 6 });
  expect(new Set(asked.map((ask) => ask.slice(0, 4)))).toEqual(new Set(["ATRV", "010C"]));
  expect(told[0]).toMatch(/^fuel disabled as the manual says\? Then crank 4 s$/);
  expect(told).toContain("crank on");
  expect(told.some((words) => /^rest the starter 30 s, then crank 2 of 3/.test(words))).toBe(true);
  expect(told.at(-1)).toMatch(/^enough \(\d\d(?:\.\d)? readings a second, [2-9]\.\d a firing\)$/);
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
  expect(
    captureTold({ source: reading, cranks: [], live: null, cylinders: undefined, since: 0 }),
  ).toMatchObject({
    ...{ stop: false, part: 0, words: expect.stringMatching(/the number of cylinders/) as string },
  });
});

test("with one cylinder there is nothing to hold it against", () => {
  const told = captureTold({ source: new Reading("one"), cranks: [], live: null, cylinders: 1, since: 0 });
  expect(told).toMatchObject({ stop: false, words: expect.stringMatching(/^one cylinder/) as string });
});

/** Told at `at` seconds of a recording with cranks from 10 to 14, 22 to 26, ... s, read so often each. */
function toldAt(rates: readonly number[], at: number, since: number): ReturnType<typeof captureTold> {
  const pieces = rates.map((rate) => ({ rate, stretches: [volted(keyOn(8), 12.5), volted(crank(4), 11.2)] }));
  const events: RecordingEvent[] = [];
  let zero = 2000;
  for (const { rate, stretches } of pieces) {
    const { samples, until } = script(stretches, rate);
    events.push(...eventsOf(samples.map((sample) => ({ ...sample, t: sample.t + zero }))));
    zero += until;
  }
  events.push(
    ...eventsOf(script([volted(keyOn(8), 12.5)], 20).samples.map((s) => ({ ...s, t: s.t + zero }))),
  );
  const reading = new Reading("cranks");
  for (const event of events) if (event.t <= at * 1000) reading.event(event);
  const interpreter = new Interpreter(reading, { cylinders: 4 });
  interpreter.advance();
  const ranges = new VehicleRanges({ cylinders: 4 });
  const live = new Cranks(reading, () => ranges).told(reading.lastTime)?.crank ?? null;
  const { cranks } = interpreter.findings();
  return captureTold({ source: reading, cranks, live, cylinders: 4, since: since * 1000 });
}

const volted = (stretch: Stretch, volts: number): Stretch =>
  but(stretch, { "socket-voltage": (s) => volts + 0.02 * Math.sin(40 * s) });

test("cranks from before the capture are not what it is given up by; it is given up once its own are too slow", () => {
  // Two at 5 a second, then the capture begins.
  expect(toldAt([5, 5], 27, 27)).toMatchObject({ stop: false, hopeless: false, part: 0 });
  expect(toldAt([5, 5], 27, 27).words).toMatch(/^fuel disabled/);
  const goesOn = toldAt([5, 5, 30], 37.5, 27);
  expect(goesOn).toMatchObject({ stop: false, hopeless: false });
  expect(goesOn.words).toMatch(/^crank 1 goes on \((?:29|30) readings a second/);
  expect(toldAt([5, 5, 30], 44, 27).words).toMatch(/^rest the starter 30 s, then crank 2 of 3/);
  // Its own is too slow: said while it turns, and behind it without a key to let go of.
  const slow = toldAt([5, 5, 8], 37.5, 27);
  expect(slow).toMatchObject({ stop: true, hopeless: true });
  expect(slow.words).toMatch(
    /^let go: this adapter is too slow .*\([78]\.\d readings a second, 12 needed\)$/,
  );
  const over = toldAt([5, 5, 8], 44, 27);
  expect(over).toMatchObject({ stop: true, hopeless: true });
  expect(over.words).toMatch(/^this adapter is too slow .*\([78]\.\d readings a second, 12 needed\)$/);
});

test("enough: let go of the key where it is held, and only there", () => {
  expect(toldAt([30, 30, 30, 30], 49, 0).words).toMatch(/^enough: let go \(/);
  expect(toldAt([30, 30, 30], 44, 0).words).toMatch(/^enough \(/);
});

test("the spacing of the questions is drawn, and the same each time", () => {
  const drawn = (slow: boolean): string =>
    ((asking) => Array.from({ length: 60 }, () => asking.next(slow)[0]).join(""))(new StrengthAsking());
  expect(drawn(false)).toBe(drawn(false));
  const gaps = new Set(drawn(false).split("s").slice(1, -1));
  expect(gaps).toEqual(new Set(["v", "vv"]));
  expect(new Set(drawn(true).split("s").slice(1, -1))).toEqual(new Set(["vvv", "vvvv"]));
});
