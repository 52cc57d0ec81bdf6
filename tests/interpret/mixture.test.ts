import { describe, expect, test } from "vitest";
import type { Findings, Sign } from "../../src/interpret/index.ts";
import { but, crank, drive, findingsOf, gaussian, idle, keyOn, signsOf, type Stretch } from "./scenes.ts";

const step = 100 / 128;
const code = (v: number): number => Math.round(v / step) * step;

/** Trims about a mean, as the closed loop swings them; `loop` is the code of parameter 03. */
function trims(
  stretch: Stretch,
  short: number,
  how: { long?: number; loop?: number; bank2?: number } = {},
): Stretch {
  const noise = gaussian(7);
  const swing = (level: number) => (): number => code(level + 2 * noise());
  return but(stretch, {
    "trim-short-b1": swing(short),
    "trim-long-b1": () => code(how.long ?? 0),
    "fuel-system-1": () => how.loop ?? 2,
    ...(how.bank2 === undefined
      ? {}
      : { "trim-short-b2": swing(how.bank2), "trim-long-b2": () => code(how.long ?? 0) }),
  });
}

const start = [keyOn(5), crank(1), idle(24)].map((s) => trims(s, 0, { loop: 1, bank2: 0 }));
const run = (stretches: readonly Stretch[], rate = 4, extra = {}): Findings =>
  findingsOf([...start, ...stretches], rate, extra);
const one = (findings: Findings, id: string): Sign | undefined => signsOf(findings, id)[0];

describe("trims in closed loop", () => {
  test.each([
    [2, "mixture.trims", "within"],
    [9, "mixture.lean", "near"],
    [16, "mixture.lean", "outside"],
    [-9, "mixture.rich", "near"],
    [-16, "mixture.rich", "outside"],
  ])("a mean of %f %% is %s, %s", (mean, id, verdict) => {
    const findings = run([trims(idle(60), mean)]);
    expect(one(findings, id)?.verdict).toBe(verdict);
    expect(one(findings, id)?.bank).toBe(1);
    expect(Math.abs((one(findings, id)?.measured?.value ?? 0) - mean)).toBeLessThan(1);
  });

  test("short and long count together", () => {
    expect(one(run([trims(idle(60), 8, { long: 8 })]), "mixture.lean")?.verdict).toBe("outside");
    expect(one(run([trims(idle(60), 12, { long: -12 })]), "mixture.trims")?.verdict).toBe("within");
  });

  test.each([1, 4, 8])("nothing is said of lean in open loop (code %i)", (loop) => {
    const findings = run([trims(idle(120), 25, { loop })]);
    expect(signsOf(findings, "mixture.lean")).toEqual([]);
    expect(one(findings, "mixture.trims")?.verdict).toBe("cannot-tell");
  });

  test("ten seconds are not enough", () => {
    const findings = run([trims(idle(8), 25)]);
    expect(signsOf(findings, "mixture.lean")).toEqual([]);
  });

  test("the closed loop of code 10 counts, and is told", () => {
    const findings = run([trims(idle(90), 16, { loop: 0x10 })]);
    expect(one(findings, "mixture.lean")?.verdict).toBe("outside");
    expect(one(findings, "mixture.loop")?.verdict).toBe("outside");
  });

  test("a warm engine that stays in open loop is a sign", () => {
    const sign = one(run([trims(idle(180), 0, { loop: 1 })]), "mixture.loop");
    expect(sign?.verdict).toBe("outside");
    expect(sign?.note).toContain("open loop, engine too cold");
  });

  test("one bank lean, the other not", () => {
    const findings = run([trims(idle(60), 16, { bank2: 0 })]);
    expect(signsOf(findings, "mixture.lean").map((s) => [s.bank, s.verdict])).toEqual([[1, "outside"]]);
    expect(one(findings, "mixture.banks")?.verdict).toBe("outside");
    expect(one(run([trims(idle(60), 3, { bank2: 1 })]), "mixture.banks")?.verdict).toBe("within");
  });

  test("a correction at its limit is told, with its side", () => {
    const flat = but(trims(idle(60), 0), { "trim-short-b1": () => code(25) });
    const sign = one(run([flat]), "mixture.clipped");
    expect(sign?.verdict).toBe("outside");
    expect(sign?.meaning).toContain("leaner");
  });

  test("on manifold-pressure metering an air leak is no explanation of lean", () => {
    const lean = one(run([trims(idle(60), 16)]), "mixture.lean");
    expect(lean?.looksLike.map((l) => l.id)).not.toContain("air-leak-small");
    const metered = one(run([but(trims(idle(60), 16), { "air-flow": () => 3 })]), "mixture.lean");
    expect(metered?.looksLike.map((l) => l.id)).toContain("air-leak-small");
  });
});

describe("the shape over air flow, on an engine with an air-flow meter", () => {
  /** Stays at several flows, twice each, with the correction that the error asks for. */
  const shaped = (correction: (flow: number) => number): Findings => {
    const noise = gaussian(3);
    const flows = [3, 3, 7, 12, 20, 32, 7, 12, 20, 32, 42];
    return run(
      flows.map((flow) => {
        const base = flow < 4 ? idle(30) : but(drive(30, 1000 + flow * 60), { load: () => 45 });
        return but(trims(base, 0), {
          "air-flow": () => flow * (1 + 0.02 * noise()),
          "trim-short-b1": () => code(Math.min(25, 100 * correction(flow) + 1.5 * noise())),
        });
      }),
    );
  };
  const verdicts = (f: Findings): (string | undefined)[] =>
    ["mixture.unmetered-air", "mixture.metering", "mixture.delivery"].map((id) => one(f, id)?.verdict);

  test("nothing wrong", () => {
    expect(verdicts(shaped(() => 0.01))).toEqual(["within", "within", "within"]);
  });

  test("unmetered air", () => {
    const f = shaped((flow) => 0.6 / flow);
    expect(verdicts(f)[0]).toBe("outside");
    expect(verdicts(f).slice(1)).not.toContain("outside");
    expect(Math.abs((one(f, "mixture.unmetered-air")?.measured?.value ?? 0) - 0.6)).toBeLessThan(0.15);
  });

  test("a meter that reads low", () => {
    const f = shaped(() => 0.14);
    expect(verdicts(f)[1]).toBe("outside");
    expect(verdicts(f)[0]).not.toBe("outside");
  });

  test("delivery that does not keep up", () => {
    const f = shaped((flow) => 0.005 * flow);
    expect(verdicts(f)[2]).toBe("outside");
    expect(verdicts(f)[0]).not.toBe("outside");
  });

  test("a clipped idle is left out of the shape", () => {
    const f = shaped((flow) => 1.5 / flow);
    // At idle 1.5 g/s of 3 would ask for 50 %: the trim stands at 25.
    expect(Math.abs((one(f, "mixture.unmetered-air")?.measured?.value ?? 0) - 1.5)).toBeLessThan(0.5);
  });
});

describe("oxygen sensors", () => {
  const swinging = (s: number): number => (Math.sin(s * 4) > 0 ? 0.8 : 0.1);
  test.each([
    ["swings", swinging, "within"],
    ["stays lean", () => 0.1, "outside"],
    ["stays rich", () => 0.85, "outside"],
    ["stands between", () => 0.45, "outside"],
  ])("one that %s", (_, volts, verdict) => {
    const findings = run([but(trims(idle(90), 2), { "oxygen-b1s1": volts })]);
    expect(one(findings, "sensor.oxygen")?.verdict).toBe(verdict);
  });

  // Inactive at 391 to 491 mV: service manual, 1998.
  test("one that never leaves its resting voltage keeps the loop open, and is told away from idle", () => {
    const open = (s: Stretch): Stretch => but(trims(s, 0, { loop: 1 }), { "oxygen-b1s1": () => 0.45 });
    const driven = one(run([open(idle(60)), open(drive(60))]), "sensor.oxygen");
    expect(driven?.verdict).toBe("outside");
    expect(driven?.meaning).toContain("its cold voltage");
    // Idle alone may not heat one without a heater, and the first minute nobody counts.
    expect(one(run([open(idle(120))]), "sensor.oxygen")?.verdict).toBe("near");
    expect(one(run([open(idle(30))]), "sensor.oxygen")?.verdict).not.toBe("outside");
    const warm = but(trims(drive(90), 0, { loop: 1 }), { "oxygen-b1s1": () => 0.82 });
    expect(one(run([open(idle(40)), warm]), "sensor.oxygen")?.verdict).not.toBe("outside");
  });

  test("while the correction stands at its limit the sensor is not condemned", () => {
    const clipped = but(trims(idle(90), 0), { "trim-short-b1": () => code(25), "oxygen-b1s1": () => 0.1 });
    expect(one(run([clipped]), "sensor.oxygen")?.verdict).toBe("near");
  });

  test.each([
    [1, "within"],
    [1.12, "outside"],
    [0.88, "outside"],
  ])("lambda %f in closed loop is %s", (lambda, verdict) => {
    const findings = run([but(trims(idle(60), 0), { "lambda-b1s1": () => lambda })]);
    expect(one(findings, "mixture.lambda")?.verdict).toBe(verdict);
  });
});

test("open loop because of a fault is the module's own word, warm or not; one reading of it is a slip", () => {
  const cold = (loop: number, seconds: number): Stretch => trims(idle(seconds, 900, 30), 0, { loop });
  expect(one(run([cold(8, 30)]), "mixture.loop")?.verdict).toBe("outside");
  expect(one(run([cold(1, 30)]), "mixture.loop")?.verdict).not.toBe("outside");
  const spell = (readings: number): Stretch =>
    but(cold(1, 30), { "fuel-system-1": (s) => (s >= 10 && s < 10 + readings / 4 ? 8 : 1) });
  expect(one(run([spell(24)]), "mixture.loop")?.verdict).toBe("outside");
  expect(one(run([spell(8)]), "mixture.loop")?.verdict).not.toBe("outside");
  const slip = but(cold(1, 30), { "fuel-system-1": (s) => (Math.floor(s * 4) === 60 ? 8 : 1) });
  expect(one(run([slip]), "mixture.loop")?.verdict).not.toBe("outside");
});

describe("lean under load on an engine without an air-flow meter", () => {
  const pull = (short: number, bank2?: number): Stretch =>
    but(trims(drive(40, 3000), short, bank2 === undefined ? {} : { bank2 }), { load: () => 85 });

  test("delivery that does not keep up", () => {
    const found = one(run([trims(idle(60), 0), pull(24)]), "mixture.delivery");
    expect(found?.verdict).toBe("outside");
    expect(Math.abs((found?.measured?.value ?? 0) - 24)).toBeLessThan(1.5);
    expect(one(run([trims(idle(60), 0), pull(4)]), "mixture.delivery")?.verdict).toBe("within");
  });

  test("lean everywhere, or less rich under load, is not delivery", () => {
    expect(one(run([trims(idle(60), 18), pull(18)]), "mixture.delivery")?.verdict).toBe("within");
    expect(one(run([trims(idle(60), -30), pull(-10)]), "mixture.delivery")?.verdict).toBe("within");
  });

  test("on one bank alone it is near at most: pump and filter feed both", () => {
    const found = signsOf(run([trims(idle(60), 0, { bank2: 0 }), pull(0, 24)]), "mixture.delivery");
    expect(found.map((s) => [s.bank, s.verdict])).toEqual([
      [2, "near"],
      [1, "within"],
    ]);
    expect(found[0]?.looksLike.map((l) => l.id)).toContain("injectors-bank");
  });

  test("without load nothing is said, and what it would take is", () => {
    const found = one(run([trims(idle(120), 0)]), "mixture.delivery");
    expect(found?.verdict).toBe("cannot-tell");
    expect(found?.note).toContain("steady pull");
  });
});

describe("surging", () => {
  const surge = (period: number, swing: number, seconds = 40): Stretch =>
    but(trims(idle(seconds, 900), 0), {
      "engine-speed": (s) => 900 + (swing / 2) * Math.sin((2 * Math.PI * s) / period),
    });

  test.each([
    ["up and down by 500 every three seconds", surge(3, 500), "outside"],
    ["by 100", surge(3, 100), "within"],
    ["slowly, as an accessory does", surge(30, 200, 120), "within"],
    [
      "with a foot on it",
      but(surge(3, 500), { throttle: (s) => 20 + 8 * Math.sin((2 * Math.PI * s) / 3) }),
      "within",
    ],
  ])("%s is %s", (_, stretch, verdict) => {
    const found = one(run([trims(idle(30), 0), stretch, trims(idle(30), 0)], 6), "mixture.hunting");
    expect(found?.verdict).toBe(verdict);
    if (verdict === "outside") expect(found?.windows[0]?.from).toBeGreaterThan(58_000);
  });

  test.each([
    // Nothing is said where nobody left it alone for long enough.
    ["the plate does not throttle it", {}, { throttled: false }, "cannot-tell"],
    ["the pedal is read and rests", { "pedal-d": () => 15 }, { throttled: false }, "outside"],
    [
      "the pedal is read and moves",
      { "pedal-d": (s: number) => 20 + 8 * Math.sin((2 * Math.PI * s) / 3) },
      { throttled: false },
      undefined,
    ],
  ] as const)("revved or surging: %s", (_, channels, vehicle, verdict) => {
    const stretches = [trims(idle(30), 0), surge(3, 500), trims(idle(30), 0)].map((s) => but(s, channels));
    const found = one(run(stretches, 6, { vehicle }), "mixture.hunting");
    expect(found?.verdict).toBe(verdict);
    if (verdict === "cannot-tell") expect(found?.note).toContain("position of the pedal");
  });

  test("read less often than it turns, it is near at most", () => {
    const found = one(run([trims(idle(30), 0), surge(3, 500, 120)], 0.9), "mixture.hunting");
    expect(found?.verdict).not.toBe("outside");
  });
});

describe("not judged", () => {
  test("a diesel, by its facts", () => {
    const findings = run([trims(idle(120), 25)], 4, { vehicle: { fuel: "diesel" } });
    expect(signsOf(findings, "mixture.lean")).toEqual([]);
    expect(one(findings, "mixture.trims")?.note).toContain("diesel");
  });

  test("a diesel, by the fuel type that it names (51: 4)", () => {
    const findings = run([but(trims(idle(120), 25), { "fuel-type": () => 4 })]);
    expect(one(findings, "mixture.trims")?.note).toContain("diesel");
  });

  test("without trims, and what it would take", () => {
    const findings = findingsOf([keyOn(5), crank(1), idle(60)], 4);
    expect(one(findings, "mixture.trims")?.verdict).toBe("cannot-tell");
    expect(one(findings, "mixture.trims")?.note).toContain("trims asked");
  });
});

test("without parameter 03 closed loop is assumed when warm, and that is said", () => {
  const silent = (s: Stretch): Stretch => ({
    ...s,
    channels: Object.fromEntries(Object.entries(s.channels).filter(([c]) => c !== "fuel-system-1")),
  });
  const findings = findingsOf([...start, trims(idle(60), 16)].map(silent), 4);
  expect(one(findings, "mixture.lean")?.verdict).toBe("outside");
  expect(one(findings, "mixture.lean")?.note).toContain("assumed");
});

describe("two banks", () => {
  const banks = (first: number, second: number): Findings => run([trims(idle(60), first, { bank2: second })]);
  const told = (f: Findings): unknown =>
    ["mixture.lean", "mixture.rich"].flatMap((id) => signsOf(f, id).map((s) => [s.id, s.bank, s.verdict]));

  test("exchanged, they give the same signs of the other bank, and a difference of the other sign", () => {
    for (const [a, b] of [
      [16, 0],
      [-16, 2],
      [16, -16],
    ] as const) {
      const [one, other] = [banks(a, b), banks(b, a)];
      const mirrored = (told(one) as [string, number, string][])
        .map(([id, bank, v]) => [id, 3 - bank, v])
        .sort();
      expect((told(other) as unknown[]).sort(), `${a} ${b}`).toEqual(mirrored);
      const [d, e] = [one, other].map((f) => signsOf(f, "mixture.banks")[0]);
      // Bank 1 less bank 2: more fuel added to bank 1 is a positive difference, on the high side.
      expect(Math.sign(d?.measured?.value ?? 0)).toBe(Math.sign(a - b));
      expect(Math.abs((d?.measured?.value ?? 0) + (e?.measured?.value ?? 0))).toBeLessThan(1.5);
    }
  });

  test("each bank is judged by its own loop", () => {
    const open = (bank: 1 | 2): Findings =>
      run([
        but(trims(idle(90), 16, { bank2: 16 }), {
          "fuel-system-1": () => (bank === 1 ? 1 : 2),
          "fuel-system-2": () => (bank === 2 ? 1 : 2),
        }),
      ]);
    expect(signsOf(open(2), "mixture.lean").map((s) => s.bank)).toEqual([1]);
    expect(signsOf(open(1), "mixture.lean").map((s) => s.bank)).toEqual([2]);
  });

  test("a front sensor is judged by the loop of its own bank", () => {
    const still = (open: 1 | 2): Findings =>
      run([
        but(trims(idle(90), 0, { bank2: 0 }), {
          "fuel-system-1": () => (open === 1 ? 1 : 2),
          "fuel-system-2": () => (open === 2 ? 1 : 2),
          "oxygen-b2s1": () => 0.1,
        }),
      ]);
    const outside = (f: Findings): number =>
      signsOf(f, "sensor.oxygen").filter((s) => s.verdict === "outside").length;
    expect([outside(still(1)), outside(still(2))]).toEqual([1, 0]);
  });
});
