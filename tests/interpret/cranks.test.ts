import { describe, expect, test } from "vitest";
import type { Crank } from "../../src/interpret/index.ts";
import { but, crank, findingsOf, idle, keyOn, signsOf, type Stretch } from "./scenes.ts";

function only(stretches: readonly Stretch[], rate = 10): Crank {
  const { cranks } = findingsOf(stretches, rate);
  expect(cranks).toHaveLength(1);
  const first = cranks[0];
  if (first === undefined) throw new Error("no crank");
  return first;
}

const outcome = (stretches: readonly Stretch[], rate = 10): string => only(stretches, rate).outcome;
const deadSignal = (seconds: number, volts: number, manifold: number): Stretch =>
  but(crank(seconds, 0, volts), { manifold: () => manifold });

describe("how an attempt ended", () => {
  test.each([
    ["started", [keyOn(10), crank(2), idle(20)]],
    ["fired-and-died", [keyOn(10), crank(2), idle(2), keyOn(10)]],
    ["turned-and-did-not-fire", [keyOn(10), crank(6), keyOn(10)]],
    ["turned-slowly", [keyOn(10), crank(6, 90, 8.6), keyOn(10)]],
    ["turned-without-signal", [keyOn(10), deadSignal(5, 10.8, 92), keyOn(10)]],
    ["turned-without-signal", [keyOn(10), deadSignal(5, 11.6, 101), keyOn(10)]],
    ["no-turn", [keyOn(10), deadSignal(5, 7.5, 101), keyOn(10)]],
    ["open", [keyOn(10), crank(3)]],
  ])("%s", (wanted, stretches) => {
    expect(outcome(stretches)).toBe(wanted);
  });

  test("a deep sag with the manifold pulled down did turn, unseen", () => {
    expect(outcome([keyOn(10), deadSignal(5, 7.5, 92), keyOn(10)])).toBe("turned-without-signal");
  });

  test("a stretch that was marked as a crank, with neither sag nor speed", () => {
    const findings = findingsOf([keyOn(30)], 10, {
      marks: [{ at: 10_000, until: 14_000, label: "cranking" }],
    });
    expect(findings.cranks.map((c) => c.outcome)).toEqual(["nothing-happened"]);
    expect(signsOf(findings, "crank.nothing").map((s) => s.verdict)).toEqual(["outside"]);
  });
});

test("figures of one attempt, each with its number of readings", () => {
  const one = only([keyOn(10, 12.6), crank(4, 200, 10), idle(20)]);
  expect(one.restVolts?.value).toBeCloseTo(12.6, 6);
  expect(one.lowestVolts?.value).toBeCloseTo(10, 6);
  expect(one.meanVolts?.value).toBeCloseTo(10, 6);
  expect(one.speed).toEqual({ value: 200, samples: expect.any(Number) as number });
  expect(Math.abs((one.speed?.samples ?? 0) - 40)).toBeLessThanOrEqual(2);
  expect(one.speedPerVolt?.value).toBeCloseTo(20, 1);
  expect(one.pullDown?.value).toBeCloseTo(9, 6);
  expect(one.throttle?.value).toBe(16);
  expect(one.coolant?.value).toBe(20);
  expect(Math.abs((one.fireS?.value ?? 0) - 4)).toBeLessThan(0.3);
  expect(one.fireWithinS).toBeLessThan(0.2);
  expect(one.dropOuts?.value).toBe(0);
});

test("a voltage that reads nothing gives no speed a volt", () => {
  expect(only([keyOn(10), crank(4, 200, 5e-324), idle(20)]).speedPerVolt).toBeNull();
});

test("the speed comes late after the sag", () => {
  const late: Stretch = but(crank(4), { "engine-speed": (s) => (s < 1.2 ? 0 : 210) });
  const one = only([keyOn(10), late, idle(20)], 20);
  expect(Math.abs((one.firstSpeedS?.value ?? 0) - 1.2)).toBeLessThan(0.2);
  expect(one.outcome).toBe("started");
});

test("two attempts are numbered and lie on zeros of their own", () => {
  const { cranks } = findingsOf([keyOn(10), crank(4), keyOn(10), crank(3), idle(20)], 10);
  expect(cranks.map((c) => [c.number, c.outcome])).toEqual([
    [1, "turned-and-did-not-fire"],
    [2, "started"],
  ]);
  expect(Math.abs((cranks[0]?.from ?? 0) - 10_000)).toBeLessThan(200);
  expect(Math.abs((cranks[1]?.from ?? 0) - 24_000)).toBeLessThan(200);
});

describe("signs of the start", () => {
  const verdict = (id: string, stretches: readonly Stretch[], rate = 10): string | undefined =>
    signsOf(findingsOf(stretches, rate), id)[0]?.verdict;

  test("slow at low volts is the supply, slow at good volts is drag", () => {
    const weak = [keyOn(10), crank(5, 100, 8.5), keyOn(10)];
    expect(verdict("crank.speed", weak)).toBe("outside");
    expect(verdict("power.crank-voltage", weak)).toBe("outside");
    expect(verdict("crank.drag", weak)).toBeUndefined();
    const drag = [keyOn(10), crank(5, 100, 11), keyOn(10)];
    expect(verdict("crank.drag", drag)).toBe("outside");
    expect(verdict("crank.speed", drag)).toBeUndefined();
    expect(verdict("power.crank-voltage", drag)).toBe("within");
  });

  test("cold lowers what the supply may fall to", () => {
    const cold = (c: number): Stretch[] =>
      [keyOn(10), crank(5, 200, 9.2), keyOn(10)].map((s) =>
        but(s, { "intake-air": () => c, coolant: () => c }),
      );
    expect(verdict("power.crank-voltage", cold(20))).toBe("outside");
    expect(verdict("power.crank-voltage", cold(-7))).toBe("near");
    expect(verdict("power.crank-voltage", cold(-18))).toBe("within");
  });

  test("faster than usual with little pull-down", () => {
    const loose = but(crank(5, 285, 11.4), { manifold: () => 99 });
    expect(verdict("crank.no-compression", [keyOn(10), loose, keyOn(10)])).toBe("outside");
    expect(verdict("crank.no-compression", [keyOn(10), crank(5), keyOn(10)])).toBeUndefined();
  });

  test("a throttle that reads open while cranking", () => {
    const open = but(crank(5), { throttle: () => 85 });
    expect(verdict("crank.throttle-open", [keyOn(10), open, keyOn(10)])).toBe("outside");
  });

  test("speed that comes and goes while the sag stays", () => {
    const broken = but(crank(6), { "engine-speed": (s) => (s % 1 < 0.6 ? 200 : 0) });
    expect(verdict("crank.drop-outs", [keyOn(10), broken, keyOn(10)], 20)).toBe("outside");
    expect(verdict("crank.drop-outs", [keyOn(10), crank(6), keyOn(10)], 20)).toBe("within");
  });

  test("one reading of a crank is never outside", () => {
    for (const volts of [8, 9.3]) {
      const signs = findingsOf([keyOn(9), crank(1.5, 90, volts), idle(60)], 0.55).signs;
      expect(signs.filter((s) => s.verdict === "outside").map((s) => s.id)).toEqual([]);
    }
  });

  test("not firing counts over the attempts since it last fired, against the longest time to fire", () => {
    const rest = keyOn(8);
    expect(verdict("crank.no-fire", [keyOn(10), crank(5), rest])).toBe("outside");
    expect(verdict("crank.no-fire", [keyOn(10), crank(2.4), rest])).toBe("near");
    expect(verdict("crank.no-fire", [keyOn(10), crank(1), rest])).toBeUndefined();
    expect(verdict("crank.no-fire", [keyOn(10), crank(2.4), rest, crank(2.4), rest])).toBe("outside");
    expect(verdict("crank.no-fire", [keyOn(10), crank(1), idle(30), rest, crank(2.4), rest])).toBe("near");
  });

  test("nothing to say without a crank, and what it would take", () => {
    const sign = signsOf(findingsOf([keyOn(30)], 5), "crank.attempts")[0];
    expect(sign?.verdict).toBe("cannot-tell");
    expect(sign?.note).toContain("It would take");
  });
});
