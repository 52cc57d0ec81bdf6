import { expect, test } from "vitest";
import { channelInfo } from "../../shared/decode.ts";
import type { VehicleFacts } from "../../shared/vehicle.ts";
import { interpret, type Findings } from "../../src/interpret/index.ts";
import { outcomeWords } from "../../src/interpret/report/text.ts";
import { Reading } from "../../src/reading/index.ts";
import { summaryOf } from "../../src/sheet/summary.ts";

type Values = Readonly<Record<string, number>>;

/** Samples of a log, two a second: seconds, and the values that stand meanwhile. */
function logged(pieces: readonly (readonly [seconds: number, values: Values])[]): Reading {
  const reading = new Reading("log");
  let t = 0;
  for (const [seconds, values] of pieces)
    for (let i = 0; i < seconds * 2; i++, t += 500)
      for (const [ch, v] of Object.entries(values))
        reading.event({ k: "s", t, ch, v, u: channelInfo(ch)?.unit ?? "" });
  return reading;
}

const line = (findings: Findings, of: string) => findings.profile?.find((p) => p.of === of);
const sign = (findings: Findings, id: string) => findings.signs.find((s) => s.id === id);

const rest = { "engine-speed": 0, coolant: 85, throttle: 16, "vehicle-speed": 0 };
const idle = { ...rest, "engine-speed": 750 };

test("an idle whose manifold stays at the outside air is a diesel's; one that is pulled down is throttled", () => {
  const diesel = interpret(
    logged([
      [5, { ...rest, manifold: 99, throttle: 85 }],
      [60, { ...idle, manifold: 98, throttle: 83 }],
    ]),
  );
  expect(line(diesel, "fuel")).toMatchObject({ value: "diesel", from: "seen", sure: "likely" });
  expect(line(diesel, "throttled")).toMatchObject({ value: "no", from: "seen" });
  expect(sign(diesel, "mixture.idle-manifold")).toBeUndefined();
  expect(sign(diesel, "sensor.throttle-rest")).toBeUndefined();
  const petrol = interpret(
    logged([
      [5, { ...rest, manifold: 99 }],
      [60, { ...idle, manifold: 33 }],
    ]),
  );
  expect(line(petrol, "fuel")).toMatchObject({ value: "petrol", from: "seen" });
  expect(sign(petrol, "mixture.idle-manifold")?.verdict).toBe("within");
});

test("a hose that is off an engine with spark is no diesel: what the module has goes before what is seen", () => {
  const findings = interpret(
    logged([
      [5, { ...rest, manifold: 99, "trim-short-b1": 0 }],
      [60, { ...idle, manifold: 99, "trim-short-b1": 2 }],
    ]),
  );
  expect(line(findings, "fuel")).toMatchObject({ value: "petrol", from: "module" });
  expect(line(findings, "fuel")?.against).toContain("near the outside air");
  expect(sign(findings, "mixture.idle-manifold")?.verdict).toBe("outside");
});

test("of an unknown kind no rule of petrol is held against it: it says what would decide", () => {
  const findings = interpret(
    logged([
      [8, { ...rest, throttle: 85 }],
      [60, { ...idle, throttle: 83 }],
    ]),
  );
  expect(line(findings, "fuel")).toMatchObject({ value: null, from: "unknown" });
  const throttle = sign(findings, "sensor.throttle-rest");
  expect(throttle?.verdict).toBe("cannot-tell");
  expect(throttle?.note).toContain("parameter 51");
});

test("what a person says goes first, and what speaks against it stands beside it", () => {
  const facts: VehicleFacts = {
    fuel: "petrol",
    throttled: true,
    supplyVolts: 24,
    hybrid: false,
    stopsAtStandstill: false,
  };
  const findings = interpret(logged([[60, { ...idle, manifold: 99, "module-voltage": 13.9 }]]), facts);
  expect(line(findings, "fuel")).toMatchObject({ value: "petrol", from: "told", sure: "sure" });
  expect(line(findings, "fuel")?.against).toContain("near the outside air");
  expect(line(findings, "supply")).toMatchObject({ value: "24 V", from: "told" });
  expect(line(findings, "supply")?.against).toContain("13.9 V");
  expect(line(findings, "stops")).toMatchObject({ value: "no", from: "told" });
});

test("above the outside air is charged; 24 V is told by its rest; a hybrid drives with its engine off", () => {
  const findings = interpret(
    logged([
      [5, { ...rest, manifold: 99, "module-voltage": 25.1 }],
      [10, { ...idle, manifold: 98, "module-voltage": 28 }],
      [20, { ...idle, "engine-speed": 2200, manifold: 160, "vehicle-speed": 60, "module-voltage": 28 }],
      [20, { ...rest, manifold: 99, "vehicle-speed": 30, "module-voltage": 25 }],
    ]),
  );
  expect(line(findings, "induction")).toMatchObject({ value: "charged", from: "seen" });
  expect(line(findings, "supply")).toMatchObject({ value: "24 V", from: "seen" });
  expect(line(findings, "hybrid")).toMatchObject({ value: "yes", from: "seen" });
});

test("heat about the intake sensor after a stop is no broken circuit; a value that stands still at the end is", () => {
  const stop = (temperatures: readonly number[]): Findings =>
    interpret(
      logged([
        [60, { ...idle, "intake-air": 30 }],
        ...temperatures.map((c) => [1, { ...rest, "intake-air": c }] as const),
      ]),
    );
  const heat = [95, 126, 141, 143, 142, 141, 140, 139, 138, 136, 133, 130];
  const circuit = (f: Findings) =>
    f.signs.find((s) => s.key === "sensor.temperature-circuit/intake-air")?.verdict;
  expect(circuit(stop(heat))).toBe("within");
  expect(circuit(stop(Array.from({ length: 30 }, () => 215)))).toBe("outside");
  expect(circuit(stop(Array.from({ length: 30 }, () => -40)))).toBe("outside");
  // With air flowing two readings are enough, as before.
  const running = interpret(
    logged([
      [60, { ...idle, "intake-air": 30 }],
      [2, { ...idle, "intake-air": 215 }],
      [30, { ...idle, "intake-air": 30 }],
    ]),
  );
  expect(circuit(running)).toBe("outside");
});

test("a coolant that still warms after a quarter of an hour is no thermostat; one that stays cool is", () => {
  const drive = (at: (minute: number) => number): Findings =>
    interpret(
      logged(
        Array.from(
          { length: 26 },
          (_, m) => [60, { ...idle, "engine-speed": 1800, coolant: at(m) }] as const,
        ),
      ),
    );
  const verdict = (f: Findings) => sign(f, "sensor.coolant-warm")?.verdict;
  expect(verdict(drive((m) => 10 + 2 * m))).toBe("near");
  expect(verdict(drive((m) => Math.min(52, 10 + 6 * m)))).toBe("outside");
});

test("a cranking speed is slow for the fuel that the readings show, or, of an unknown one, for either", () => {
  const turning = { ...rest, "engine-speed": 158 };
  const crank: readonly (readonly [number, Values])[] = [
    [4, { ...rest, manifold: 99, "module-voltage": 12.5 }],
    [5, { ...turning, manifold: 97, "module-voltage": 10.6 }],
    [4, { ...rest, manifold: 99, "module-voltage": 12.4 }],
  ];
  const outcomes = (idleAt: number | null, facts: VehicleFacts = {}): string[] => {
    const before: typeof crank =
      idleAt === null ? [] : [[60, { ...idle, manifold: idleAt, "module-voltage": 14.1 }]];
    const reading = logged([...before, ...crank]);
    const { happened } = summaryOf(reading);
    const found = interpret(reading, facts).cranks.map((c) => outcomeWords[c.outcome]);
    if (Object.keys(facts).length === 0) expect(happened).toContain(found[0]);
    return found;
  };
  expect(outcomes(98)).toEqual(["turned slowly"]);
  expect(outcomes(33)).toEqual(["turned, did not fire"]);
  expect(outcomes(null)).toEqual(["turned, did not fire"]);
  expect(outcomes(null, { fuel: "diesel" })).toEqual(["turned slowly"]);
});

test("the VIN says what a standard gives a place for, and has no line where it says nothing", () => {
  const of = (vin?: string) => line(interpret(logged([[5, rest]]), vin === undefined ? {} : { vin }), "vin");
  expect(of("11111111111111111")).toMatchObject({ value: "maker's area North America, model year 2001" });
  expect(of("W1111111111111111")).toMatchObject({ value: "maker's area Europe", from: "told" });
  expect(of("not one")).toBeUndefined();
  expect(of()).toBeUndefined();
});

test("the supply is that of both voltmeters, whichever of an instant is written first", () => {
  const both = (channels: readonly string[]) => {
    const reading = new Reading("log");
    const say = (t: number, ch: string, v: number) => reading.event({ k: "s", t, ch, v, u: "V" });
    for (let i = 0; i < 64; i++) {
      reading.event({ k: "s", t: i * 500, ch: "engine-speed", v: 800, u: "rpm" });
      // 32 low ones and 31 high ones before the last pair, one of which would tip the median.
      const last = i === 62;
      for (const ch of i === 0 || last ? channels : ["socket-voltage"]) {
        const high = last || i === 0 ? ch === "module-voltage" : i % 2 === 0;
        say(i * 500, ch, high ? 14.9 : last ? 14.2 : 14.1);
      }
    }
    return line(interpret(reading), "supply");
  };
  const channels = ["socket-voltage", "module-voltage"];
  expect(both(channels)).toEqual(both(channels.toReversed()));
});
