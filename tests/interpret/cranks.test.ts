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

/** What holds for engines with a throttle alone is judged where the fuel is known. */
const ofPetrol = (id: string, stretches: readonly Stretch[]): string | undefined =>
  signsOf(findingsOf(stretches, 10, { vehicle: { fuel: "petrol" } }), id)[0]?.verdict;

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
  // A vehicle that does not say what is outside: the manifold before the starter came on says it.
  const untold = (s: Stretch): Stretch => but(s, { barometric: () => Number.NaN });
  const alone = only([untold(keyOn(10)), untold(crank(4)), untold(idle(20))]);
  expect(alone.pullDown?.value).toBeCloseTo(9, 6);
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
    expect(ofPetrol("crank.no-compression", [keyOn(10), loose, keyOn(10)])).toBe("outside");
    expect(verdict("crank.no-compression", [keyOn(10), loose, keyOn(10)])).toBe("cannot-tell");
    expect(verdict("crank.no-compression", [keyOn(10), crank(5), keyOn(10)])).toBeUndefined();
  });

  test("a throttle that reads open while cranking", () => {
    const open = but(crank(5), { throttle: () => 85 });
    expect(ofPetrol("crank.throttle-open", [keyOn(10), open, keyOn(10)])).toBe("outside");
    expect(verdict("crank.throttle-open", [keyOn(10), open, keyOn(10)])).toBe("cannot-tell");
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
    expect(sign?.note).toContain("Needs ");
  });
});

describe("a crank that the data lose for a while", () => {
  const dark = (seconds: number): Stretch => ({ seconds, channels: {} });
  const weak = (seconds: number): Stretch => crank(seconds, 90, 6.5);

  test("a gap of up to five seconds with the starter on at both sides is one attempt, with the rest before it", () => {
    for (const seconds of [2, 3.5, 4.5]) {
      const one = only([keyOn(10), weak(3), dark(seconds), weak(3), keyOn(10)]);
      expect(one.restVolts?.value, `${seconds}`).toBeCloseTo(12.5, 6);
      expect(one.lengthS, `${seconds}`).toBeGreaterThan(5.5 + seconds);
    }
  });

  test("the volts come back first: the crank goes on, and they are no rest", () => {
    const back: Stretch = { seconds: 1, channels: { "module-voltage": () => 6.5 } };
    const one = only([keyOn(10), weak(3), dark(3.4), back, weak(3), keyOn(10)]);
    expect(one.restVolts?.value).toBeCloseTo(12.5, 6);
    const low = signsOf(
      findingsOf([keyOn(10), weak(3), dark(3.4), back, weak(3), keyOn(10)], 10),
      "power.rest-voltage",
    );
    expect(low.map((s) => s.verdict)).toEqual(["within"]);
  });

  test("a longer gap, and a pause between two turns of the key, end it", () => {
    const { cranks } = findingsOf([keyOn(10), weak(3), dark(7), weak(3), keyOn(10)], 10);
    expect(cranks).toHaveLength(2);
    expect(findingsOf([keyOn(10), crank(3), keyOn(3), crank(3), keyOn(10)], 10).cranks).toHaveLength(2);
  });
});

describe("a starter that stalls under load", () => {
  /** Turns and stands in turn; volts while it stands. */
  const jerks = (volts: (s: number) => number): Stretch =>
    but(crank(6, 160, 9.4), {
      "engine-speed": (s) => (s % 2 < 1 ? 160 : 0),
      "module-voltage": (s) => (s % 2 < 1 ? 9.4 + 0.3 * Math.sin(40 * s) : volts(s)),
    });

  test("flat and lower than while it turned: it stands still, and the signal is sound", () => {
    const held = findingsOf([keyOn(10), jerks(() => 8.2), keyOn(10)], 20);
    expect(signsOf(held, "crank.drop-outs")).toEqual([]);
    const sign = signsOf(held, "crank.no-turn")[0];
    expect(sign?.verdict).toBe("outside");
    expect(sign?.measured?.value).toBeCloseTo(8.2, 1);
  });

  test("the volts go on as before: the signal is lost, and nothing stands still", () => {
    const lost = findingsOf([keyOn(10), jerks((s) => 9.4 + 0.3 * Math.sin(40 * s)), keyOn(10)], 20);
    expect(signsOf(lost, "crank.drop-outs")[0]?.verdict).toBe("outside");
    expect(signsOf(lost, "crank.no-turn")).toEqual([]);
  });
});

describe("what a start is held against", () => {
  const verdict = (id: string, stretches: readonly Stretch[], rate = 10): string | undefined =>
    signsOf(findingsOf(stretches, rate), id)[0]?.verdict;

  test("time to fire: near from a second and a half, outside from two", () => {
    const fired = (s: number): string | undefined =>
      verdict("crank.time-to-fire", [keyOn(10), crank(s), idle(20)], 20);
    expect([fired(1.2), fired(1.8), fired(2.6)]).toEqual(["within", "near", "outside"]);
  });

  test("a 24 V system is held against twice the volts", () => {
    const heavy = (under: number): Stretch[] => [keyOn(10, 25), crank(5, 200, under), keyOn(10, 25)];
    expect(verdict("power.crank-voltage", heavy(21.2))).toBe("within");
    expect(verdict("power.crank-voltage", heavy(17))).toBe("outside");
    expect(verdict("power.rest-voltage", heavy(21.2))).toBe("within");
    expect(verdict("power.rest-voltage", [keyOn(10, 23.2), crank(5, 200, 21), keyOn(10, 23.2)])).toBe(
      "outside",
    );
    // Seven volts below rest is a deep sag on 12 V, and none on 24 V.
    expect(outcome([keyOn(10, 25), deadSignal(5, 20.5, 101), keyOn(10, 25)])).toBe("turned-without-signal");
  });

  test("on 24 V readings within twice the slack of rest are none of the sag", () => {
    const ripple = but(crank(5, 200), { "module-voltage": (s) => (s % 0.4 < 0.2 ? 24.5 : 18) });
    expect(only([keyOn(10, 25), ripple, keyOn(10, 25)], 20).meanVolts?.value).toBeCloseTo(18, 1);
    const twelve = but(crank(5, 200), { "module-voltage": (s) => (s % 0.4 < 0.2 ? 12 : 9) });
    expect(only([keyOn(10, 12.5), twelve, keyOn(10, 12.5)], 20).meanVolts?.value).toBeCloseTo(10.56, 1);
  });

  test("on 24 V half a volt below turning is no starter that is held", () => {
    const jerks = (standing: number): Stretch =>
      but(crank(6, 160, 18), {
        "engine-speed": (s) => (s % 2 < 1 ? 160 : 0),
        "module-voltage": (s) => (s % 2 < 1 ? 18 : standing),
      });
    const stalled = (standing: number): number | undefined =>
      only([keyOn(10, 25), jerks(standing), keyOn(10, 25)], 20).stalledVolts?.value;
    expect(stalled(17.5)).toBeUndefined();
    expect(stalled(17)).toBeCloseTo(17, 1);
  });

  test("a single reading of the throttle is no open throttle", () => {
    const once = (count: number): Stretch =>
      but(crank(2), { throttle: (s) => (s < count / 10 ? 85 : Number.NaN) });
    const seen = (count: number): string | undefined =>
      ofPetrol("crank.throttle-open", [
        but(keyOn(10), { throttle: () => Number.NaN }),
        once(count),
        keyOn(10),
      ]);
    expect([seen(1), seen(4)]).toEqual(["near", "outside"]);
  });

  test("a slow crank draws little, and that is no sign of its own", () => {
    const little = (rpm: number): Stretch[] => [
      keyOn(10),
      but(crank(5, rpm, 9.9), { manifold: () => 100 }),
      keyOn(10),
    ];
    expect(ofPetrol("crank.pull-down", little(100))).toBeUndefined();
    expect(ofPetrol("crank.pull-down", little(200))).toBe("outside");
  });

  test("died once and then started is near; died twice, or last, is outside", () => {
    const dies = [crank(1), idle(2), keyOn(8)];
    expect(verdict("crank.dies", [keyOn(10), ...dies, crank(1), idle(20)])).toBe("near");
    expect(verdict("crank.dies", [keyOn(10), ...dies, ...dies, crank(1), idle(20)])).toBe("outside");
    expect(verdict("crank.dies", [keyOn(10), crank(1), idle(20), keyOn(8), ...dies])).toBe("outside");
  });

  test("in vain is counted anew once it ran", () => {
    const vain = [crank(2), keyOn(8)];
    expect(verdict("crank.no-fire", [keyOn(10), ...vain, ...vain])).toBe("outside");
    expect(verdict("crank.no-fire", [keyOn(10), ...vain, crank(1), idle(20), keyOn(8), ...vain])).toBe(
      "near",
    );
  });

  test.each([
    [1, "within"],
    [2, "near"],
    [3, "outside"],
    [30, "outside"],
  ])("%i readings of zero between speeds are %s", (zeros, wanted) => {
    const gappy = but(crank(8), {
      "engine-speed": (s) => {
        const reading = Math.floor(s * 20);
        return reading % 4 === 2 && reading < 4 * zeros ? 0 : 210;
      },
    });
    expect(verdict("crank.drop-outs", [keyOn(10), gappy, keyOn(10)], 20)).toBe(wanted);
  });

  test("right after running the volts settle first: what the alternator left is no rest", () => {
    // Most of what was read since then is the alternator's.
    const settling = but(keyOn(8), { "module-voltage": (s) => (s < 4.5 ? 14.2 - 0.3 * s : 12.4) });
    const findings = findingsOf([keyOn(10), crank(1), idle(20), settling, crank(1), idle(20)], 20);
    expect(findings.cranks[1]?.restVolts?.value).toBeCloseTo(12.4, 6);
  });
});
