/** The interpreter's arithmetic against published figures; the source is named at each. */
import {
  deviation,
  mean as d3Mean,
  median as d3Median,
  quantile as d3Quantile,
  variance as d3Variance,
} from "d3-array";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { leakShare, fitZones, type Zone } from "../../src/interpret/mixture/mixtureFit.ts";
import { monitorResults, percentOfFirings, whichCylinder } from "../../src/interpret/running/misfire.ts";
import { leastCrankVolts, standardPressure } from "../../src/interpret/report/ranges.ts";
import { seeded } from "../../shared/seeded.ts";
import { leastSquares, mean, median, quantile, Tally, variance } from "../../src/interpret/maths/stats.ts";
import { referenceSets } from "./interpretStrd.fixture.ts";

/** Digits that agree: -log10 of the relative error (the measure NIST uses), absolute where the value is 0. */
function digits(value: number, certified: number): number {
  const error = Math.abs(value - certified) / (certified === 0 ? 1 : Math.abs(certified));
  return error === 0 ? 15 : Math.min(15, -Math.log10(error));
}

describe.each(referenceSets.map((s) => [s.name, s] as const))("NIST StRD %s", (_, set) => {
  const fit = leastSquares(set.x, set.y);

  test("coefficients", () => {
    set.coefficients.forEach((c, i) => {
      expect(digits(fit?.coefficients[i] ?? Number.NaN, c)).toBeGreaterThan(set.digits);
    });
  });

  test("standard errors and residual", () => {
    const scale = set.residual === 0 ? 6 : set.digits;
    set.errors.forEach((e, i) => {
      expect(digits(fit?.errors[i] ?? Number.NaN, e)).toBeGreaterThan(scale);
    });
    expect(digits(fit?.residual ?? Number.NaN, set.residual)).toBeGreaterThan(scale);
  });

  test("a weight of two is the row twice", () => {
    const twice = set.x.flatMap((row, i) => (i % 3 === 0 ? [row, row] : [row]));
    const y = set.y.flatMap((v, i) => (i % 3 === 0 ? [v, v] : [v]));
    const weighted = leastSquares(
      set.x,
      set.y,
      set.x.map((__, i) => (i % 3 === 0 ? 2 : 1)),
    );
    const repeated = leastSquares(twice, y);
    weighted?.coefficients.forEach((c, i) => {
      expect(digits(repeated?.coefficients[i] ?? Number.NaN, c)).toBeGreaterThan(5);
    });
  });
});

test("a fit of dependent columns, or of too few rows, is none", () => {
  expect(
    leastSquares(
      [
        [1, 2],
        [2, 4],
        [3, 6],
      ],
      [1, 2, 3],
    ),
  ).toBeNull();
  expect(leastSquares([[1, 2]], [1])).toBeNull();
});

test("order statistics agree with a general library (d3-array)", () => {
  const numbers = fc.array(fc.double({ min: -1e6, max: 1e6, noNaN: true }), { minLength: 2, maxLength: 60 });
  fc.assert(
    fc.property(numbers, fc.double({ min: 0, max: 1, noNaN: true }), (values, p) => {
      const close = (a: number, b: number): void => {
        expect(Math.abs(a - b)).toBeLessThanOrEqual(1e-9 * Math.max(1, Math.abs(b)));
      };
      close(quantile(values, p), d3Quantile(values, p) ?? Number.NaN);
      close(median(values), d3Median(values) ?? Number.NaN);
      close(mean(values), d3Mean(values) ?? Number.NaN);
      const theirs = d3Variance(values) ?? Number.NaN;
      expect(Math.abs(variance(values) - theirs)).toBeLessThanOrEqual(1e-6 * Math.max(1, theirs));
      expect(Math.sqrt(variance(values))).toBeCloseTo(deviation(values) ?? Number.NaN, 3);
    }),
  );
});

test("a tally's quantile is one of the values, with that share at or below it", () => {
  fc.assert(
    fc.property(
      fc.array(fc.integer({ min: 0, max: 20 }), { minLength: 1 }),
      fc.double({ min: 0.01, max: 1, noNaN: true }),
      (values, p) => {
        const tally = new Tally();
        for (const v of values) tally.add(v);
        const q = tally.quantile(p);
        const sorted = [...values].sort((a, b) => a - b);
        expect(q).toBe(sorted[Math.max(0, Math.ceil(p * values.length - 1e-9) - 1)]);
      },
    ),
  );
});

// ISA (formula from memory; values worked out by hand in a table of heights).
test.each([
  [0, 101.3],
  [500, 95.5],
  [1000, 89.9],
  [1500, 84.6],
  [2000, 79.5],
  [3000, 70.1],
])("air pressure at %i m is %f kPa", (height, pressure) => {
  expect(standardPressure(height)).toBeCloseTo(pressure, 1);
});

// Load-test table by temperature (service manual, 2004).
test.each([
  [25, 9.6],
  [20, 9.6],
  [18, 9.5],
  [10, 9.4],
  [4, 9.3],
  [-1, 9.1],
  [-7, 8.9],
  [-12, 8.7],
  [-18, 8.5],
])("least volts under a starter at %i °C are %f", (celsius, volts) => {
  expect(leastCrankVolts(celsius)).toBeCloseTo(volts, 6);
});

test("between two rows of the load-test table the volts lie between", () => {
  expect(leastCrankVolts(7)).toBeCloseTo(9.35, 6);
  expect(leastCrankVolts(-40)).toBeCloseTo(8.5, 6);
});

// Firings in 200 and 1000 revolutions, by cylinders (13 CCR 1968.2 windows; arithmetic by hand).
test.each([
  [3, 300, 1500],
  [4, 400, 2000],
  [6, 600, 3000],
  [8, 800, 4000],
])("%i cylinders fire %i times in 200 revolutions and %i in 1000", (cylinders, in200, in1000) => {
  expect(percentOfFirings(in200, 200, cylinders)).toBeCloseTo(100, 9);
  expect(percentOfFirings(in1000, 1000, cylinders)).toBeCloseTo(100, 9);
});

test("one dead cylinder of four is a quarter; 20 in 1000 revolutions of a V6 are 0.67 %", () => {
  expect(percentOfFirings(500, 1000, 4)).toBeCloseTo(25, 9);
  expect(percentOfFirings(20, 1000, 6)).toBeCloseTo(0.67, 2);
});

// 13 CCR 1968.2(e)(3.1.3): more than 90 % in one cylinder, or two cylinders above 10 % each.
test("which cylinder may be named", () => {
  const shares = (...misfires: number[]) => misfires.map((m, i) => ({ cylinder: i + 1, misfires: m }));
  expect(whichCylinder(shares(0, 91, 5, 4))).toEqual({ single: 2, several: [] });
  expect(whichCylinder(shares(50, 0, 50, 0))).toEqual({ single: null, several: [1, 3] });
  expect(whichCylinder(shares(90, 10, 0, 0))).toEqual({ single: null, several: [1] });
  expect(whichCylinder(shares(0, 0, 0, 0))).toEqual({ single: null, several: [] });
});

// Bytes of one CAN reply to service 06, monitor 3D, from course notes on mode 06 (raw trace): value 0069, -32768, 0D8A.
test("one result of service 06", () => {
  const data = Uint8Array.from([0x46, 0x3d, 0x98, 0xfe, 0x00, 0x69, 0x80, 0x00, 0x0d, 0x8a]);
  expect(monitorResults(data)).toEqual([{ monitor: 0x3d, test: 0x98, value: 0x69 }]);
});

// Saint-Venant and Wantzel, gamma 1.4: the critical ratio is 0.528; shares worked out for the open data set's notes.
test.each([
  [0.3, 1],
  [0.528, 1],
  [0.7, 0.93],
  [0.8, 0.82],
  [0.9, 0.62],
  [1, 0],
])("a leak at a pressure ratio of %f flows %f of the choked flow", (ratio, share) => {
  expect(leakShare(ratio)).toBeCloseTo(share, 2);
});

describe("the shape of a lean condition, on simulated zones with 2 % noise and steps of the trim code", () => {
  const step = 100 / 128;
  const random = seeded(11);
  const gauss = (): number => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
  /** Correction (percent) is the error's share of the flow that the meter sees. */
  const zone = (flow: number, share: (flow: number) => number): Zone => {
    const visits = Array.from({ length: 10 }, () => {
      const c = 100 * share(flow) + 2 * gauss();
      return Math.round(c / step) * step;
    });
    const m = mean(visits);
    return {
      flow,
      correction: m,
      choked: 1,
      visits: 10,
      squares: visits.reduce((s, v) => s + (v - m) ** 2, 0),
      readings: 10,
    };
  };
  const flows = [2.4, 8.1, 20];

  test("1.5 g/s of unmetered air is told from a 12 % metering error", () => {
    const air = fitZones(
      1,
      flows.map((f) => zone(f, (x) => 1.5 / x)),
    );
    const meter = fitZones(
      1,
      flows.map((f) => zone(f, () => 0.12)),
    );
    expect(Math.abs((air?.a.value ?? 0) - 1.5)).toBeLessThan(0.1);
    expect(Math.abs(air?.b.value ?? 1)).toBeLessThan(0.03);
    expect(Math.abs(meter?.a.value ?? 1)).toBeLessThan(0.1);
    expect(Math.abs((meter?.b.value ?? 0) - 0.12)).toBeLessThan(0.03);
  });

  test("delivery that falls off behind half of the flow is found with a zone near 40 g/s, not looked for without", () => {
    const growing = (x: number): number => 0.02 + 0.18 * (Math.max(0, x / 40 - 0.5) / 0.5) ** 2;
    const wide = [...flows, 26, 33, 40];
    const fit = fitZones(
      1,
      wide.map((f) => zone(f, growing)),
    );
    expect(fit?.d?.sure).toBe(true);
    expect(Math.abs((fit?.d?.value ?? 0) - 0.18)).toBeLessThan(0.04);
    expect(Math.abs((fit?.b.value ?? 1) - 0.02)).toBeLessThan(0.02);
    expect(
      fitZones(
        1,
        flows.map((f) => zone(f, growing)),
      )?.d,
    ).toBeUndefined();
  });

  test("a leak and a weak pump at once are both told, and neither is called rich", () => {
    const both = (x: number): number => 0.5 / x + 0.2 * (Math.max(0, x / 40 - 0.3) / 0.7) ** 2;
    const fit = fitZones(
      1,
      [2.4, 4, 8.1, 14, 20, 26, 33, 40].map((f) => zone(f, both)),
    );
    expect(Math.abs((fit?.a.value ?? 0) - 0.5)).toBeLessThan(0.12);
    expect(Math.abs((fit?.d?.value ?? 0) - 0.2)).toBeLessThan(0.05);
    expect(Math.abs(fit?.b.value ?? 1)).toBeLessThan(0.03);
  });

  test("less correction at great flow is no delivery, not even a negative one", () => {
    const fit = fitZones(
      1,
      [...flows, 30, 40].map((f) => zone(f, (x) => 0.06 - 0.0015 * x)),
    );
    expect(fit?.d?.value).toBe(0);
    expect(fit?.d?.sure).toBe(false);
  });

  test("the true values lie inside the stated interval in at least nine of ten repetitions", () => {
    let inside = 0;
    for (let i = 0; i < 200; i++) {
      const fit = fitZones(
        1,
        [...flows, 30, 40].map((f) => zone(f, (x) => 0.8 / x + 0.05)),
      );
      if (fit === null) continue;
      const a = Math.abs(fit.a.value - 0.8) <= 1.96 * fit.a.error;
      const b = Math.abs(fit.b.value - 0.05) <= 1.96 * fit.b.error;
      if (a && b) inside += 1;
    }
    expect(inside).toBeGreaterThanOrEqual(180);
  });
});
