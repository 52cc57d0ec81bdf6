/** Key-on, supply, temperatures, course, counters, codes, link: what each says, and when it holds its tongue. */
import { describe, expect, test } from "vitest";
import type { RecordingEvent } from "../../shared/recording/format.ts";
import type { Findings } from "../../src/interpret/index.ts";
import {
  but,
  crank,
  drive,
  findingsOf,
  idle,
  keyOn,
  script,
  signsOf,
  type Extra,
  type Stretch,
} from "./scenes.ts";

const verdict = (
  stretches: readonly Stretch[],
  id: string,
  extra: Extra = {},
  rate = 5,
): string | undefined => signsOf(findingsOf(stretches, rate, extra), id)[0]?.verdict;

test("a manifold that stays at the outside tells a dead sensor behind a closed throttle alone", () => {
  const still = (throttle: number): string | undefined =>
    verdict(
      [keyOn(10), crank(1), but(idle(30), { manifold: () => 100, throttle: () => throttle })],
      "sensor.manifold-still",
      { vehicle: { fuel: "petrol" } },
    );
  expect(still(16)).toBe("outside");
  expect(still(45)).toBeUndefined();
});

describe("key on, engine off", () => {
  const off = (channels: Stretch["channels"]): Stretch[] => [but(keyOn(10), channels), crank(1), idle(20)];

  test.each([
    [101, "within"],
    [96, "near"],
    [94, "outside"],
    [108, "outside"],
  ])("manifold at %i kPa with barometric 101 is %s", (kPa, wanted) => {
    expect(verdict(off({ manifold: () => kPa }), "sensor.key-on-manifold")).toBe(wanted);
  });

  test("the last readings before a start do not count: they already belong to it", () => {
    const falling = but(keyOn(10), { manifold: (s) => (s > 9 ? 60 : 101) });
    expect(verdict([falling, crank(1), idle(20)], "sensor.key-on-manifold", {}, 1)).toBe("within");
  });

  test("the height of the place sets what both must read, and the sign says so", () => {
    const high = { vehicle: { altitudeM: 2000 } };
    const findings = findingsOf(off({}), 5, high);
    const sign = signsOf(findings, "sensor.altitude")[0];
    // ISA at 2000 m: 79.5 kPa.
    expect(sign?.verdict).toBe("outside");
    expect(sign?.measured?.what).toContain("79.5 kPa");
    expect(sign?.range?.replaced).toBe(true);
    expect(findings.replaced.map((r) => r.of)).toContain("altitude-pressure");
    expect(verdict(off({ barometric: () => 79, manifold: () => 79 }), "sensor.altitude", high)).toBe(
      "within",
    );
  });

  test.each([
    [20, 20, "within"],
    [2, 22, "outside"],
    [42, 20, "near"],
    [85, 25, "cannot-tell"],
  ])("coolant %i, intake %i before the start is %s", (coolant, intake, wanted) => {
    const stretches = off({ coolant: () => coolant, "intake-air": () => intake });
    expect(verdict(stretches, "sensor.coolant-intake")).toBe(wanted);
  });

  test.each([
    [16, "within"],
    [85, "outside"],
  ])("throttle at rest %i %% is %s", (percent, wanted) => {
    expect(verdict(off({ throttle: () => percent }), "sensor.throttle-rest")).toBe(wanted);
  });

  test("an open and a shorted temperature sensor; one odd reading is neither", () => {
    const of = (at: (s: number) => number): string | undefined => {
      const findings = findingsOf(off({ coolant: at }), 5);
      const sign = findings.signs.find((s) => s.key === "sensor.temperature-circuit/coolant");
      return sign?.verdict === "outside" ? sign.side : sign?.verdict;
    };
    expect(of(() => -40)).toBe("low");
    expect(of(() => 215)).toBe("high");
    expect(of((s) => (s > 4 && s <= 4.2 ? -40 : 20))).toBe("within");
  });
});

describe("supply", () => {
  test.each([
    [12.6, "within"],
    [12.05, "near"],
    [11.6, "outside"],
  ])("%f V at rest is %s", (volts, wanted) => {
    expect(verdict([keyOn(10, volts), crank(2, 200, volts - 2), idle(20)], "power.rest-voltage")).toBe(
      wanted,
    );
  });

  test.each([
    [14.1, "within"],
    [12.3, "outside"],
    [15.6, "outside"],
  ])("%f V while running is %s", (volts, wanted) => {
    const running = but(idle(90), { "module-voltage": () => volts });
    expect(verdict([keyOn(10), crank(1), running], "power.charging")).toBe(wanted);
  });

  test.each([
    [12.6, "within"],
    [13.6, "outside"],
  ])("socket at %f V while the module reads 12.5 is %s", (socket, wanted) => {
    expect(verdict([but(keyOn(20), { "socket-voltage": () => socket })], "power.feed-drop")).toBe(wanted);
  });

  test("a 24 V system is measured against twice the volts", () => {
    const twice = (s: Stretch): Stretch => {
      const volts = s.channels["module-voltage"];
      return but(s, { "module-voltage": (t) => 2 * (volts?.(t) ?? 0) });
    };
    const findings = findingsOf([keyOn(10), crank(4), idle(90)].map(twice), 5);
    for (const id of ["power.rest-voltage", "power.crank-voltage", "power.charging"])
      expect([id, signsOf(findings, id)[0]?.verdict]).toEqual([id, "within"]);
  });
});

describe("temperature over a run", () => {
  const coolant = (at: (s: number) => number, seconds: number): Stretch[] =>
    [keyOn(5), crank(1), but(idle(seconds), { coolant: at })].map((s, i) =>
      i < 2 ? but(s, { coolant: () => at(0) }) : s,
    );

  test("one that stands still while the engine runs cold", () => {
    expect(
      verdict(
        coolant(() => 20, 400),
        "sensor.coolant-still",
        {},
        1,
      ),
    ).toBe("outside");
    expect(
      verdict(
        coolant((s) => 20 + s / 10, 400),
        "sensor.coolant-still",
        {},
        1,
      ),
    ).toBe("within");
  });

  test("still cool after a quarter of an hour", () => {
    expect(
      verdict(
        coolant((s) => Math.min(55, 20 + s / 10), 1200),
        "sensor.coolant-warm",
        {},
        1,
      ),
    ).toBe("outside");
    expect(
      verdict(
        coolant((s) => Math.min(88, 20 + s / 10), 1200),
        "sensor.coolant-warm",
        {},
        1,
      ),
    ).toBe("within");
  });
});

describe("what happened in between", () => {
  test("a stall is told; a key turned off is not called one", () => {
    expect(verdict([keyOn(5), crank(1), idle(30), keyOn(20)], "crank.stall")).toBe("outside");
    expect(verdict([keyOn(5), crank(1), idle(30), keyOn(3)], "crank.stall")).toBe("near");
    expect(verdict([keyOn(5), crank(1), idle(30)], "crank.stall")).toBe("within");
  });

  test("harmless dips of one reading while moving off are no stall and no lost signal", () => {
    const dipping = but(drive(60), { "engine-speed": (s) => (s % 7 < 0.2 ? 430 : 900) });
    const findings = findingsOf([keyOn(5), crank(1), dipping], 5);
    expect(signsOf(findings, "crank.stall")[0]?.verdict).toBe("within");
    expect(signsOf(findings, "crank.lost-signal")[0]?.verdict).toBe("within");
  });

  test("zeros between readings of a running engine are a lost signal", () => {
    const broken = but(idle(60), { "engine-speed": (s) => (s % 10 < 0.4 ? 0 : 750) });
    expect(verdict([keyOn(5), crank(1), broken], "crank.lost-signal")).toBe("outside");
  });

  test("the adapter starting anew while cranking is a collapse of the supply", () => {
    const reset: RecordingEvent = { k: "link", t: 11_000, state: "low-voltage" };
    expect(verdict([keyOn(10), crank(3), idle(10)], "power.collapse", { events: [reset] })).toBe("outside");
    expect(verdict([keyOn(10), crank(3), idle(10)], "power.collapse")).toBeUndefined();
  });

  test("a gap in the link is told with its length", () => {
    const events: RecordingEvent[] = [
      { k: "link", t: 20_000, state: "lost", why: "unplugged" },
      { k: "link", t: 24_000, state: "back" },
    ];
    const sign = signsOf(findingsOf([idle(20)], 5, { events }), "link.gaps")[0];
    expect(sign?.measured?.value).toBe(4);
    expect(sign?.measured?.what).toContain("unplugged");
  });

  test("a module that falls silent under the starter while the socket has volts", () => {
    const mute = but(crank(4), {
      "engine-speed": () => Number.NaN,
      "module-voltage": () => Number.NaN,
      manifold: () => Number.NaN,
      barometric: () => Number.NaN,
      coolant: () => Number.NaN,
      throttle: () => Number.NaN,
      "vehicle-speed": () => Number.NaN,
    });
    const stretches = [keyOn(10), mute, keyOn(10)].map((s, i) =>
      but(s, { "socket-voltage": () => (i === 1 ? 9.8 : 12.5) }),
    );
    const findings = findingsOf(stretches, 5);
    expect(findings.cranks.map((c) => c.outcome)).toEqual(["turned-without-signal"]);
    expect(signsOf(findings, "link.silent-module")[0]?.verdict).toBe("outside");
  });
});

describe("counters that a person defined", () => {
  const counting = (perTurn: number, at: (s: number) => boolean = () => true): Stretch[] => {
    const rpm = 210;
    let last = 0;
    let total = 0;
    const counter = (s: number): number => {
      if (at(s)) total += ((s - last) * rpm * perTurn) / 60;
      last = s;
      return Math.floor(total) % 256;
    };
    return [but(keyOn(5), { "crank-pulses": () => 0 }), but(crank(12, rpm), { "crank-pulses": counter })];
  };
  const of = (findings: Findings, id: string): string | undefined => signsOf(findings, id)[0]?.verdict;

  test("one that counts is within, one that stands still is outside", () => {
    expect(of(findingsOf(counting(24), 5), "counter.still")).toBe("within");
    expect(of(findingsOf(counting(24), 5), "counter.steps")).toBe("within");
    expect(of(findingsOf(counting(0), 5), "counter.still")).toBe("outside");
  });

  test("one that loses steps does not fit the speed", () => {
    const lossy = counting(24, (s) => s % 2 < 1.4);
    expect(of(findingsOf(lossy, 5), "counter.steps")).toBe("outside");
  });

  test("with the engine off it may stand", () => {
    const findings = findingsOf([but(keyOn(30), { "crank-pulses": () => 7 })], 5);
    expect(of(findings, "counter.still")).toBe("cannot-tell");
  });
});

describe("codes and the age of the evidence", () => {
  const asked = (ask: string, ...lines: string[]): RecordingEvent => ({
    k: "x",
    t: 8000,
    ask,
    lines,
    first: 5,
    end: 9,
  });
  const protocol: RecordingEvent = { k: "link", t: 0, state: "protocol", protocol: "can11-500" };
  const events: RecordingEvent[] = [
    protocol,
    // Two stored codes, P0335 and P0302, and one pending, P0171 (layout: J2012 and J1979, from memory).
    asked("03", "7E80643020335030200"),
    asked("07", "7E80447010171000000"),
  ];

  test("each family is told its own", () => {
    const findings = findingsOf([keyOn(10)], 5, { events });
    expect(findings.codes.map((c) => [c.code, c.kind])).toEqual([
      ["P0335", "stored"],
      ["P0302", "stored"],
      ["P0171", "pending"],
    ]);
    expect(signsOf(findings, "crank.codes")[0]?.verdict).toBe("outside");
    expect(signsOf(findings, "misfire.codes")[0]?.cylinder).toBe(2);
    expect(signsOf(findings, "mixture.codes")[0]?.verdict).toBe("near");
  });

  test("no code is no proof", () => {
    const clean = findingsOf([keyOn(10)], 5, { events: [protocol, asked("03", "7E80243000000000000")] });
    expect(signsOf(clean, "crank.codes")[0]?.meaning).toContain("no proof");
  });

  test("few warm-ups since clearing make the evidence young", () => {
    expect(verdict([but(keyOn(10), { "warm-ups": () => 1 })], "power.memory-cleared")).toBe("near");
    expect(verdict([but(keyOn(10), { "warm-ups": () => 90 })], "power.memory-cleared")).toBe("within");
  });
});

test("a vehicle's own range replaces the general one and shows on the sign", () => {
  const own = {
    vehicle: { ranges: [{ of: "charging-voltage", low: 12, high: 13, source: "manual, page 7" }] },
  };
  const running = but(idle(90), { "module-voltage": () => 12.4 });
  const sign = signsOf(findingsOf([keyOn(10), crank(1), running], 5, own), "power.charging")[0];
  expect(sign?.verdict).toBe("within");
  expect(sign?.range).toMatchObject({ low: 12, high: 13, source: "manual, page 7", replaced: true });
});

test("the idle speed of the vehicle sets the range of the idle", () => {
  const stretches = [keyOn(5), crank(1), idle(60, 560)];
  expect(verdict(stretches, "mixture.idle-speed")).toBe("outside");
  expect(verdict(stretches, "mixture.idle-speed", { vehicle: { idleRpm: 550 } })).toBe("within");
});

test("scripts take turns, so that every channel of every stretch is asked", () => {
  const { samples } = script([keyOn(1), idle(1)], 2);
  expect(new Set(samples.map((s) => s.channel)).has("load")).toBe(true);
});
