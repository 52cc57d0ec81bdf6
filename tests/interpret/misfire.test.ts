import { describe, expect, test } from "vitest";
import type { RecordingEvent } from "../../shared/recording/format.ts";
import { neighbourResiduals } from "../../src/interpret/running/roughness.ts";
import { robustScale } from "../../src/interpret/maths/stats.ts";
import type { Findings, Sign } from "../../src/interpret/index.ts";
import { but, crank, findingsOf, gaussian, idle, keyOn, signsOf, type Stretch } from "./scenes.ts";
import { misfireCount } from "./support.ts";

const rough = (percent: number, seconds = 90): Stretch => {
  const noise = gaussian(5);
  return but(idle(seconds), { "engine-speed": () => 750 * (1 + (percent / 100) * noise()) });
};
/** An accessory that cycles: speed and load step together. */
const cycling = (seconds = 120): Stretch => {
  const on = (s: number): boolean => s % 30 < 12;
  const noise = gaussian(6);
  return but(idle(seconds), {
    "engine-speed": (s) => (on(s) ? 850 : 655) + 3 * noise(),
    load: (s) => (on(s) ? 34 : 24),
    manifold: (s) => (on(s) ? 42 : 29),
  });
};
const sign = (findings: Findings): Sign | undefined => signsOf(findings, "misfire.rough")[0];
const of = (stretch: Stretch, rate: number): Sign | undefined =>
  sign(findingsOf([keyOn(5), crank(1), stretch], rate));

describe.each([0.55, 4, 20])("roughness at %f readings a second", (rate) => {
  test("an even idle is within", () => {
    expect(of(rough(0.4, 180), rate)?.verdict).toBe("within");
  });

  test("a rough idle is outside, with its measure and the number of readings", () => {
    const found = of(rough(5, 180), rate);
    expect(found?.verdict).toBe("outside");
    expect(Math.abs((found?.measured?.value ?? 0) - 5)).toBeLessThan(1.5);
    expect(found?.measured?.samples).toBeGreaterThan(14);
    expect(found?.note).toContain("The smallest roughness");
  });

  test("steps of an accessory are not roughness", () => {
    const found = of(cycling(240), rate);
    expect(["within", "cannot-tell"]).toContain(found?.verdict);
  });
});

test("at a slow rate it is said what passes between readings", () => {
  expect(of(rough(0.4, 180), 0.55)?.note).toContain("pass between readings");
  expect(of(rough(0.4, 180), 20)?.note).not.toContain("pass between readings");
});

test("ten seconds of idle are not enough, and what would be is said", () => {
  const found = of(rough(5, 10), 0.55);
  expect(found?.verdict).toBe("cannot-tell");
  expect(found?.note).toContain("Needs ");
});

test("the residual from the neighbours keeps the spread and takes away slow drift", () => {
  const noise = gaussian(8);
  for (const interval of [50, 1800]) {
    const times = Array.from({ length: 600 }, (_, i) => i * interval);
    const values = times.map((t) => 700 + 40 * Math.sin((2 * Math.PI * t) / 60_000) + 10 * noise());
    expect(Math.abs(robustScale(neighbourResiduals(times, values)) - 10)).toBeLessThan(
      interval > 1000 ? 2 : 1.2,
    );
  }
});

const protocol: RecordingEvent = { k: "link", t: 0, state: "protocol", protocol: "can11-500" };

describe("counters of service 06", () => {
  const counted = (misfires: readonly number[], seconds = 120): Findings =>
    findingsOf([keyOn(5), crank(1), rough(0.4, seconds + 20)], 5, {
      vehicle: { cylinders: misfires.length },
      events: [
        protocol,
        ...misfires.flatMap((_, i) => misfireCount(15_000 + i * 100, i + 1, 0)),
        ...misfires.flatMap((m, i) => misfireCount(15_000 + seconds * 1000 + i * 100, i + 1, m)),
      ],
    });

  test("percent of firings over the revolutions between two readings", () => {
    const findings = counted([0, 150, 2, 3]);
    const total = findings.signs.find((s) => s.key === "misfire.counts/engine");
    // 120 s at 750 rpm are 1500 revolutions, 3000 firings of four cylinders: 155 misfires are 5.2 %.
    expect(Math.abs((total?.measured?.value ?? 0) - 5.17)).toBeLessThan(0.15);
    expect(total?.verdict).toBe("outside");
    expect(total?.cylinder).toBe(2);
    const named = findings.signs.filter((s) => s.key.startsWith("misfire.counts/cylinder"));
    expect(named.map((s) => s.cylinder)).toEqual([2]);
  });

  test("several cylinders are told as several", () => {
    const total = counted([60, 0, 60, 0]).signs.find((s) => s.key === "misfire.counts/engine");
    expect(total?.note).toContain("Several cylinders: 1, 3");
  });

  test("none, and that the monitor may be off", () => {
    const total = counted([0, 0, 0, 0]).signs.find((s) => s.key === "misfire.counts/engine");
    expect(total?.verdict).toBe("within");
    expect(total?.note).toContain("monitor is off");
  });

  test("a counter that fell belongs to another driving cycle: only what came since counts", () => {
    const findings = findingsOf([idle(200)], 5, {
      vehicle: { cylinders: 2 },
      events: [
        protocol,
        ...misfireCount(20_000, 1, 900),
        ...misfireCount(20_100, 2, 900),
        ...misfireCount(100_000, 1, 0),
        ...misfireCount(100_100, 2, 0),
        ...misfireCount(190_000, 1, 120),
        ...misfireCount(190_100, 2, 1),
      ],
    });
    const total = findings.signs.find((s) => s.key === "misfire.counts/engine");
    // 90 s at 750 rpm are 1125 revolutions, 1125 firings of two cylinders: 121 are 10.8 %.
    expect(Math.abs((total?.measured?.value ?? 0) - 10.76)).toBeLessThan(0.4);
    expect(total?.cylinder).toBe(1);
    expect(total?.windows[0]?.from).toBeGreaterThan(99_000);
  });

  test("one reading of all counters names the cylinder, and says that the rate takes another", () => {
    const once = (counts: readonly number[]): Sign[] =>
      signsOf(
        findingsOf([idle(60)], 5, {
          events: [protocol, ...counts.flatMap((n, i) => misfireCount(30_000 + 100 * i, i + 1, n))],
        }),
        "misfire.counts",
      );
    const [found] = once([0, 1692, 0, 3]);
    expect([found?.verdict, found?.cylinder]).toEqual(["near", 2]);
    expect(found?.note).toContain("second reading");
    for (const counts of [
      [0, 5, 0, 0],
      [90, 100, 80, 95],
    ])
      expect(once(counts).map((s) => [s.verdict, s.cylinder])).toEqual([["cannot-tell", undefined]]);
  });

  test("a single reading with no start in the recording says nothing", () => {
    const findings = findingsOf([idle(60)], 5, { events: [protocol, ...misfireCount(30_000, 1, 500)] });
    expect(signsOf(findings, "misfire.counts").map((s) => s.verdict)).toEqual(["cannot-tell"]);
  });
});

describe("a misfire that makes the mixture read lean", () => {
  const lean = (percent: number): Stretch => {
    const noise = gaussian(2);
    return but(rough(percent, 150), {
      "fuel-system-1": () => 2,
      "trim-short-b1": () => Math.round((18 + noise()) / 0.78125) * 0.78125,
      "trim-long-b1": () => 0,
    });
  };

  test("is not called lean", () => {
    const findings = findingsOf([keyOn(5), crank(1), lean(6)], 10);
    expect(sign(findings)?.verdict).toBe("outside");
    const found = signsOf(findings, "mixture.lean");
    expect(found.map((s) => s.verdict)).toEqual(["cannot-tell"]);
    expect(found[0]?.meaning).toContain("misfire");
  });

  test("an even engine with the same trims is", () => {
    const findings = findingsOf([keyOn(5), crank(1), lean(0.4)], 10);
    expect(signsOf(findings, "mixture.lean").map((s) => s.verdict)).toEqual(["outside"]);
  });

  test("lean beyond what the counted misfires explain stays lean", () => {
    // 1500 revolutions of four cylinders, 60 misfires: 2 % of firings explain a few percent of 18.
    const findings = findingsOf([keyOn(5), crank(1), lean(0.4)], 10, {
      vehicle: { cylinders: 4 },
      events: [protocol, ...misfireCount(15_000, 1, 0), ...misfireCount(135_000, 1, 60)],
    });
    expect(findings.signs.find((s) => s.key === "misfire.counts/engine")?.verdict).toBe("outside");
    expect(signsOf(findings, "mixture.lean").map((s) => s.verdict)).toEqual(["outside"]);
  });
});
