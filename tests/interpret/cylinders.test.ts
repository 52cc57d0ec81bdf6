/** Relative compression and ripple of the supply: on made waves whose amplitudes are known, and on bench cranks. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { seeded } from "../../shared/seeded.ts";
import { carriesOf, strengthOf, type StrengthCrank } from "../../src/interpret/crank/cylinders.ts";
import { rippleOf, strengthFigures, strengthText } from "../../src/interpret/crank/strengthIn.ts";
import { floored } from "../../src/interpret/maths/stats.ts";
import { meterOf } from "../../src/interpret/crank/voltmeter.ts";
import { interpret } from "../../src/interpret/index.ts";
import { captureOf } from "../prove/cylinders/captures.ts";
import { crankTraces } from "../prove/cylinders/traces.ts";
import { benchRecording, readText } from "../support/benchRecording.ts";

interface Made {
  readonly cylinders: number;
  readonly rpm: number;
  /** Amplitudes in volts of the firing order, and of order 1. */
  readonly firing: number;
  readonly first: number;
  readonly rate: number;
  readonly noise?: number;
  readonly seed?: number;
}

/** Three cranks of 4 s from 12.5 V to about 11.3, with these waves. */
function made({ cylinders, rpm, firing, first, rate, noise = 0.01, seed = 1 }: Made): StrengthCrank[] {
  const random = seeded(seed);
  return [0, 1, 2].map((_, crank): StrengthCrank => {
    const volts = { times: [] as number[], values: [] as number[] };
    const speed = { times: [] as number[], values: [] as number[] };
    const phase = crank * 1.7;
    for (let t = 1000; t < 7800; t += (1000 / rate) * (0.75 + 0.5 * random())) {
      const on = t >= 2000 && t < 6000;
      const cycle = (2 * Math.PI * rpm * t) / 120_000 + phase;
      const wave = firing * Math.cos(cylinders * cycle) + first * Math.cos(cycle);
      const drift = 0.05 * ((t - 4000) / 2000) ** 2;
      volts.times.push(t);
      volts.values.push((on ? 11.3 + drift + wave : 12.5) + noise * (2 * random() - 1));
      if (on && t > 2300) {
        speed.times.push(t);
        speed.values.push(rpm * (1 + 0.01 * (random() - 0.5)));
      }
    }
    return { from: 2000, to: 6000, restVolts: 12.5, volts, speed };
  });
}

test("the amplitudes that were put in come out, in parts of the fall and times the cylinders", () => {
  fc.assert(
    fc.property(
      fc.constantFrom(3, 4, 5, 6, 8),
      fc.integer({ min: 140, max: 230 }),
      fc.double({ min: 0.1, max: 0.4, noNaN: true }),
      fc.double({ min: 0.1, max: 0.3, noNaN: true }),
      (cylinders, rpm, firing, first) => {
        const rate = Math.max(16, 3 * (rpm / 120) * cylinders);
        const s = strengthOf({ cylinders, cranks: made({ cylinders, rpm, firing, first, rate }) });
        // The fall is 1.2 V less the drift.
        expect(s.firing?.value).toBeCloseTo((cylinders * firing) / 1.19, 0);
        expect(Math.abs((s.firing?.value ?? 0) / ((cylinders * firing) / 1.19) - 1)).toBeLessThan(0.12);
        expect(Math.abs((s.uneven?.value ?? 0) / ((cylinders * first) / 1.19) - 1)).toBeLessThan(0.12);
        expect(Math.abs((s.rpm ?? 0) / rpm - 1)).toBeLessThan(0.02);
      },
    ),
    { numRuns: 12 },
  );
}, 180_000);

test("even, one weak, all weak, by the waves alone", () => {
  const rate = 32;
  const verdict = (firing: number, first: number): string =>
    strengthOf({ cylinders: 6, cranks: made({ cylinders: 6, rpm: 180, firing, first, rate }) }).verdict;
  expect(verdict(0.26, 0)).toBe("even");
  expect(verdict(0.22, 0.12)).toBe("one-weak");
  expect(verdict(0.13, 0)).toBe("all-weak");
});

test("below what it takes it cannot tell, and says what is missing", () => {
  const at = (rate: number): ReturnType<typeof strengthOf> =>
    strengthOf({ cylinders: 6, cranks: made({ cylinders: 6, rpm: 180, firing: 0.1, first: 0, rate }) });
  expect(at(5)).toMatchObject({ verdict: "cannot-tell", uneven: null, firing: null });
  expect(at(10)).toMatchObject({ verdict: "cannot-tell", uneven: null, firing: null });
  expect(at(5).why).toMatch(/readings a second, 12 needed/);
  const few = at(14);
  expect(few).toMatchObject({ verdict: "cannot-tell", firing: null });
  expect(few.why).toMatch(/1\.\d a firing, 2\.5 needed/);
  expect(strengthText(few)).toMatch(
    /^cannot tell yet\. Crank again with voltage and speed alone, or .* gauge$/,
  );
  expect(strengthFigures(few)).toContain(few.why);
  const blind = made({ cylinders: 6, rpm: 180, firing: 0.2, first: 0.2, rate: 32 }).map((crank) => ({
    ...crank,
    speed: { times: [], values: [] },
  }));
  expect(strengthOf({ cylinders: 6, cranks: blind })).toMatchObject({ verdict: "cannot-tell", rpm: null });
  expect(strengthOf({ cylinders: 6, cranks: [] }).verdict).toBe("cannot-tell");
});

test("cranks from before the capture, read too seldom, take nothing from those that are read often enough", () => {
  const dense = made({ cylinders: 6, rpm: 180, firing: 0.26, first: 0, rate: 32 });
  const old = made({ cylinders: 6, rpm: 180, firing: 0.1, first: 0.4, rate: 6, seed: 2 });
  const pooled = strengthOf({ cylinders: 6, cranks: [...old, ...old, ...old, ...dense] });
  const alone = strengthOf({ cylinders: 6, cranks: dense });
  for (const field of ["verdict", "uneven", "firing", "perSecond", "perFiring"] as const)
    expect([field, pooled[field]]).toEqual([field, alone[field]]);
  const carries = carriesOf({ cylinders: 6, cranks: [...old, ...dense] });
  expect(carries).toMatchObject({ stretches: 6, sparse: 6, perSecond: alone.perSecond });
});

test("what is short of the need never reads as if it were met", () => {
  const [one] = made({ cylinders: 4, rpm: 180, firing: 0.26, first: 0, rate: 40 });
  const thinned = (perSecond: number): StrengthCrank => {
    const volts = { times: [] as number[], values: [] as number[] };
    for (let t = 1000; t < 7800; t += 1000 / perSecond) {
      volts.times.push(t);
      volts.values.push(t >= 2000 && t < 6000 ? 11.3 : 12.5);
    }
    return { ...(one as StrengthCrank), volts };
  };
  const { why, perSecond } = strengthOf({ cylinders: 4, cranks: [thinned(11.99)] });
  expect(perSecond).toBeGreaterThan(11.5);
  expect(why).toMatch(/: 11\.\d readings a second, 12 needed$/);
  expect([floored(11.99, 1), floored(12, 1), floored(2.4999, 1), floored(0.3, 1)]).toEqual([
    ...["11.9", "12.0", "2.4", "0.3"],
  ]);
});

test("noise alone is never called weak cylinders that differ", () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 1e6 }), (seed) => {
      const cranks = made({ cylinders: 4, rpm: 200, firing: 0.3, first: 0, rate: 30, noise: 0.06, seed });
      expect(strengthOf({ cylinders: 4, cranks }).verdict).toBe("even");
    }),
    { numRuns: 15 },
  );
}, 180_000);

test("without a speed the rate is found in the ripple, and told apart from half and double of it", () => {
  const blind = (parts: Partial<Made>): ReturnType<typeof strengthOf> => {
    const all = { cylinders: 6, rpm: 187, firing: 0.26, first: 0, rate: 55, ...parts };
    const cranks = made(all).map((crank) => ({ ...crank, speed: { times: [], values: [] } }));
    return strengthOf({ cylinders: all.cylinders, cranks });
  };
  for (const rpm of [130, 160, 187, 240]) {
    const sound = blind({ rpm });
    expect([rpm, sound.verdict]).toEqual([rpm, "even"]);
    expect(Math.abs((sound.rpm ?? 0) / rpm - 1)).toBeLessThan(0.03);
  }
  const weak = blind({ firing: 0.2, first: 0.14 });
  expect(weak.verdict).toBe("one-weak");
  expect(Math.abs((weak.rpm ?? 0) / 187 - 1)).toBeLessThan(0.03);
  // Noise alone has no rate, and too few readings are said.
  expect(blind({ firing: 0, first: 0, noise: 0.2 }).verdict).toBe("cannot-tell");
  expect(blind({ rate: 20 })).toMatchObject({ verdict: "cannot-tell", rpm: null });
  expect(blind({ rate: 20 }).why).toMatch(/voltage was read too seldom to find it/);
}, 180_000);

test("every second cylinder weak at one rate, all sound at half of it: which it is is not said", () => {
  // Order 3 of six is the firing order at half the rate, and its own second wave is there too.
  const random = seeded(3);
  const cranks = made({ cylinders: 6, rpm: 250, firing: 0.05, first: 0, rate: 60 }).map(
    (crank): StrengthCrank => {
      const values = crank.volts.values.map((v, i) => {
        const t = crank.volts.times[i] ?? 0;
        const on = t >= 2000 && t < 6000;
        return v + (on ? 0.06 * Math.cos((3 * 2 * Math.PI * 250 * t) / 120_000) + 0.002 * random() : 0);
      });
      return { ...crank, volts: { times: crank.volts.times, values }, speed: { times: [], values: [] } };
    },
  );
  const told = strengthOf({ cylinders: 6, cranks });
  expect(told.verdict).not.toBe("one-weak");
  if (told.verdict === "cannot-tell") expect(told.why).toMatch(/^no RPM, and/);
});

test("one stretch that is out of step with the others calls no cylinder weak", () => {
  const cranks = made({ cylinders: 4, rpm: 180, firing: 0.35, first: 0, rate: 16 });
  const [one] = made({ cylinders: 4, rpm: 180, firing: 0.35, first: 0.9, rate: 16 });
  const odd = cranks.map((crank, i): StrengthCrank => {
    // The second half of the first crank alone has a wave of one cylinder.
    const values = crank.volts.values.map((v, j) =>
      i === 0 && (crank.volts.times[j] ?? 0) > 4300 ? (one?.volts.values[j] ?? v) : v,
    );
    return { ...crank, volts: { times: crank.volts.times, values } };
  });
  expect(strengthOf({ cylinders: 4, cranks: odd }).uneven?.value).toBeLessThan(0.2);
  expect(strengthOf({ cylinders: 4, cranks: odd }).verdict).not.toBe("one-weak");
});

test.each([
  ["sound", 1, "even"],
  ["one", 0.6, "one-weak"],
  ["all", 0.6, "all-weak"],
] as const)(
  "three cranks of the bench van, %s at %f: %s; a voltmeter that smooths cannot tell all",
  async (kind, share, verdict) => {
    const traces = await crankTraces({ vehicle: "garden-van", compression: { kind, share }, seed: 11 });
    const by = (meter: "ideal" | "smooths over 0.2 s"): ReturnType<typeof strengthOf> =>
      strengthOf({ cylinders: 6, cranks: captureOf(traces, { meter, rate: 32, speed: true, seed: 11 }) });
    expect(by("ideal").verdict).toBe(verdict);
    const smoothed = by("smooths over 0.2 s");
    expect(smoothed.meter.smoothMs).toBeGreaterThan(80);
    expect(smoothed.verdict).toBe(kind === "one" ? "one-weak" : "cannot-tell");
    if (kind !== "one") expect(smoothed.why).toMatch(/^this adapter cannot show it: its voltmeter smooths/);
  },
  180_000,
);

test("the voltmeter's step and noise are read off its own readings", async () => {
  const traces = await crankTraces({
    vehicle: "garden-van",
    compression: { kind: "sound", share: 1 },
    seed: 12,
  });
  const meter = (name: "ideal" | "steps of 0.1 V"): ReturnType<typeof meterOf> =>
    meterOf(captureOf(traces, { meter: name, rate: 32, speed: false, seed: 3 }));
  expect(meter("steps of 0.1 V").stepVolts).toBeCloseTo(0.1, 3);
  expect(meter("ideal")).toMatchObject({ stepVolts: 0.01 });
  expect(meter("ideal").noiseVolts).toBeGreaterThan(0.005);
  expect(meter("ideal").smoothMs).toBeLessThan(30);
}, 180_000);

test("a ripple is found at its rate, and none in noise or a flat drift", () => {
  const random = seeded(5);
  const times = Array.from({ length: 60 }, (_, i) => i * 55 + 20 * random());
  const wave = times.map(
    (t) => 11.2 + 0.1 * Math.sin((2 * Math.PI * 9.4 * t) / 1000) + 0.03 * (random() - 0.5),
  );
  expect(rippleOf({ times, values: wave })?.hertz).toBeCloseTo(9.4, 0);
  expect(rippleOf({ times, values: wave })?.volts).toBeCloseTo(0.1, 1);
  // One in a thousand is the limit that it sets itself; three of 200 would come by chance in 0.1 % of such tests.
  const found = Array.from({ length: 200 }, (_, i) => {
    const chance = seeded(i + 1);
    return rippleOf({ times, values: times.map((t) => 11.2 - t / 20_000 + 0.05 * (chance() - 0.5)) });
  }).filter((ripple) => ripple !== null);
  expect(found.length).toBeLessThan(3);
  expect(rippleOf({ times: [], values: [] })).toBeNull();
});

test("the module sees no speed and the supply ripples: the engine turned, and the starter is not it", async () => {
  const run = { vehicle: "garden-van", script: "crank-only" };
  const broken = [{ name: "no-crank-signal", severity: 1 }];
  const findings = interpret(readText(await benchRecording({ ...run, faults: broken })), { cylinders: 6 });
  const sign = findings.signs.find((s) => s.id === "crank.turns-unseen");
  expect(sign).toMatchObject({ verdict: "outside", measured: { unit: "V" } });
  expect(sign?.note).toMatch(/The supply ripples \d+\.\d times a second by 0\.\d\d V: the engine did turn/);
  expect(sign?.looksLike[0]?.id).toBe("crank-signal-dead");
  const ids = findings.signs.flatMap((s) => s.looksLike.map(({ id }) => id));
  expect(ids).not.toContain("starter-worn");
  // Without a speed nothing counts the turns.
  expect(findings.strength).toMatchObject({ verdict: "cannot-tell" });
}, 180_000);
