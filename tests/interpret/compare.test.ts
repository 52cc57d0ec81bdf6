import { describe, expect, test } from "vitest";
import { blockLength, bootstrapDifference, effectiveNumber } from "../../src/interpret/maths/bootstrap.ts";
import { Correlated } from "../../src/interpret/maths/correlated.ts";
import { judgedBalance } from "../../src/interpret/running/balance.ts";
import { unpluggedCylinder } from "../../src/interpret/running/unplugged.ts";
import { mean } from "../../src/interpret/maths/stats.ts";
import { Interpreter, type Balance, type Comparison, type Findings } from "../../src/interpret/index.ts";
import { but, findingsOf, gaussian, idle, readingOf, signsOf, type Stretch } from "./scenes.ts";

/** A first-order process with autocorrelation r and standard deviation 1. */
function process(n: number, r: number, noise: () => number): Float64Array {
  const out = new Float64Array(n);
  let x = noise();
  for (let i = 0; i < n; i++) {
    out[i] = x;
    x = r * x + Math.sqrt(1 - r * r) * noise();
  }
  return out;
}

describe("correlated readings", () => {
  // For a first-order process n (1 - r) / (1 + r) readings are independent (Bayley and Hammersley 1946).
  test.each([0, 0.5, 0.8])("effective number at autocorrelation %f", (r) => {
    const noise = gaussian(4);
    const n = 4000;
    const values = process(n, r, noise);
    const wanted = (n * (1 - r)) / (1 + r);
    expect(Math.abs(effectiveNumber(values) / wanted - 1)).toBeLessThan(0.25);
    const sums = new Correlated();
    values.forEach((v, i) => sums.add(v, i > 0));
    expect(Math.abs(sums.effective / wanted - 1)).toBeLessThan(0.25);
    expect(sums.mean).toBeCloseTo(mean(values), 9);
    expect(Math.abs(sums.autocorrelation - r)).toBeLessThan(0.06);
  });

  test("blocks are longer where readings are more alike", () => {
    const noise = gaussian(4);
    expect(blockLength(process(200, 0.9, noise))).toBeGreaterThan(blockLength(process(200, 0, noise)));
  });

  test.each([0, 0.6])("the interval holds the truth about as often as it says, autocorrelation %f", (r) => {
    const noise = gaussian(9);
    let inside = 0;
    const repetitions = 300;
    for (let i = 0; i < repetitions; i++) {
      const during = process(60, r, noise).map((v) => v + 1);
      const found = bootstrapDifference(during, process(120, r, noise), mean, {
        resamples: 300,
        seed: i,
        level: 0.95,
      });
      if (found.low <= 1 && found.high >= 1) inside += 1;
    }
    // Percentile intervals of short correlated stretches run narrow: nine of ten is what can be asked.
    expect(inside / repetitions).toBeGreaterThan(r === 0 ? 0.91 : 0.85);
    expect(inside / repetitions).toBeLessThan(0.995);
  });

  test("for independent readings the interval is that of the textbook", () => {
    const noise = gaussian(10);
    const a = process(400, 0, noise);
    const b = process(400, 0, noise);
    const found = bootstrapDifference(a, b, mean, { resamples: 4000, seed: 1, level: 0.95 });
    // Half width 1.96 sqrt(1/400 + 1/400).
    expect(Math.abs((found.high - found.low) / 2 / (1.96 * Math.sqrt(2 / 400)) - 1)).toBeLessThan(0.15);
  });

  test("the same readings give the same interval", () => {
    const values = process(50, 0.3, gaussian(1));
    const again = (): unknown => bootstrapDifference(values, values.slice(10), mean);
    expect(again()).toEqual(again());
  });
});

const noisy = (seconds: number, rpm: (s: number) => number, spread: (s: number) => number): Stretch => {
  const noise = gaussian(3);
  return but(idle(seconds), { "engine-speed": (s) => rpm(s) + spread(s) * noise() });
};
const comparison = (f: Findings, channel: string, of: string): Comparison | undefined =>
  f.comparisons.find((c) => c.channel === channel && c.of === of);

describe("a marked interval against the time around it", () => {
  const inside = (s: number): boolean => s >= 40 && s < 55;

  test("smooth while fuel was added", () => {
    const findings = findingsOf(
      [
        noisy(
          90,
          () => 700,
          (s) => (inside(s) ? 3 : 25),
        ),
      ],
      10,
      {
        marks: [{ at: 40_000, until: 55_000, label: "fuel added at the intake" }],
      },
    );
    const found = comparison(findings, "engine-speed", "roughness");
    expect(found?.says).toBe("lower");
    expect(found?.words).toContain("95 %");
    expect(found?.mean.samples).toBeGreaterThan(100);
  });

  test("nothing changed", () => {
    const findings = findingsOf(
      [
        noisy(
          90,
          () => 700,
          () => 6,
        ),
      ],
      10,
      {
        marks: [{ at: 40_000, until: 55_000, label: "wiggled the plug" }],
      },
    );
    expect(comparison(findings, "engine-speed", "level")?.says).toBe("no-change-seen");
    expect(comparison(findings, "manifold", "level")?.says).toBe("no-change-seen");
  });

  test("two readings are not enough", () => {
    const findings = findingsOf(
      [
        noisy(
          90,
          () => 700,
          () => 6,
        ),
      ],
      0.5,
      {
        marks: [{ at: 40_000, until: 44_000, label: "wiggled the plug" }],
      },
    );
    expect(comparison(findings, "engine-speed", "level")?.says).toBe("cannot-tell");
  });

  test("a neighbouring mark is not part of what is around", () => {
    const findings = findingsOf(
      [
        noisy(
          90,
          (s) => (s >= 30 && s < 40 ? 500 : 700),
          () => 3,
        ),
      ],
      10,
      {
        marks: [
          { at: 30_000, until: 40_000, label: "one" },
          { at: 40_000, until: 50_000, label: "two" },
        ],
      },
    );
    const two = findings.comparisons.find(
      (c) => c.label === "two" && c.of === "level" && c.channel === "engine-speed",
    );
    expect(two?.around.every((w) => w.from >= 50_000 || w.to <= 30_000)).toBe(true);
    expect(two?.says).toBe("no-change-seen");
  });

  test("an instant without an end is not compared", () => {
    const findings = findingsOf(
      [
        noisy(
          60,
          () => 700,
          () => 3,
        ),
      ],
      10,
      {
        events: [{ k: "mark", t: 50_000, id: "i", at: 30_000, label: "a noise" }],
      },
    );
    expect(findings.comparisons).toEqual([]);
  });
});

describe("cylinder balance", () => {
  test.each([
    ["cylinder 3 unplugged", 3],
    ["Cyl. 12 off", 12],
    ["cylinder no. 2 disconnected", 2],
    ["cylinder 4", null],
    ["fuel added", null],
    ["unplugged the fan", null],
  ])("%s", (label, cylinder) => {
    expect(unpluggedCylinder(label)).toBe(cylinder);
  });

  const marks = [1, 2, 3, 4].map((c) => ({
    at: c * 20_000,
    until: c * 20_000 + 6000,
    label: `cylinder ${c} unplugged`,
  }));
  const balance = (drops: readonly number[], spread = 6): Findings => {
    const drop = (s: number): number =>
      marks.reduce((d, m, i) => (s * 1000 >= m.at && s * 1000 < m.until ? (drops[i] ?? 0) : d), 0);
    return findingsOf(
      [
        noisy(
          110,
          (s) => 700 - drop(s),
          () => spread,
        ),
      ],
      10,
      { marks },
    );
  };

  test("the dead one is named", () => {
    const findings = balance([60, 55, 2, 58]);
    expect(findings.balance?.dead).toBe(3);
    const sign = signsOf(findings, "misfire.cylinder")[0];
    expect(sign?.verdict).toBe("outside");
    expect(sign?.cylinder).toBe(3);
  });

  test("all pull", () => {
    const findings = balance([60, 55, 50, 58]);
    expect(findings.balance?.dead).toBeNull();
    expect(signsOf(findings, "misfire.cylinder")[0]?.verdict).toBe("within");
  });

  /** The idle control holds the speed behind a dip of a second; it runs rougher meanwhile, and takes more air. */
  const held = (dead: number | null): Findings => {
    const at = (s: number): { readonly n: number; readonly into: number } | null => {
      const i = marks.findIndex((m) => s * 1000 >= m.at && s * 1000 < m.until);
      return i < 0 || i + 1 === dead ? null : { n: i + 1, into: s - (marks[i]?.at ?? 0) / 1000 };
    };
    const dip = (s: number): number => {
      const lost = at(s);
      return lost === null ? 0 : lost.into < 1.5 ? 24 : 0;
    };
    const idles = noisy(
      110,
      (s) => 700 - dip(s),
      (s) => (at(s) === null ? 4 : 20),
    );
    const air = (s: number): number => (at(s) === null ? 3.0 : 3.6) + 0.02 * Math.sin(9 * s);
    return findingsOf([{ ...idles, channels: { ...idles.channels, "air-flow": air } }], 10, { marks });
  };

  test("a speed that is held says little: dip, roughness and air say that each pulls", () => {
    const findings = held(null);
    // The mean over the whole interval is not what tells it.
    expect(findings.balance?.cylinders.every((c) => c.drop < 15)).toBe(true);
    expect(findings.balance).toMatchObject({ dead: null, words: "Every cylinder that was unplugged pulls." });
    const also = findings.balance?.cylinders[0]?.also ?? [];
    expect(also.map(({ of }) => of)).toEqual(["dip", "roughness", "air"]);
    expect(also.every(({ interval }) => interval.low > 0)).toBe(true);
    expect(signsOf(findings, "misfire.cylinder")[0]?.verdict).toBe("within");
  });

  test("the dead one is the one that changes nothing, though the speed was held for all", () => {
    const findings = held(2);
    expect(findings.balance).toMatchObject({ dead: 2 });
    expect(findings.balance?.cylinders.map(({ pulls }) => pulls)).toEqual([true, false, true, true]);
  });

  test("measures that accuse different cylinders accuse none", () => {
    const cylinder = (n: number, drop: number, rough: number): Balance["cylinders"][number] => ({
      ...{ cylinder: n, drop, samples: 40 },
      interval: { low: drop - 5, high: drop + 5, level: 0.95 },
      also: [
        {
          ...{ of: "roughness", change: rough, unit: "%" },
          interval: { low: rough - 0.2, high: rough + 0.2, level: 0.95 },
        },
      ],
    });
    const quarrel = judgedBalance([cylinder(1, 60, 0), cylinder(2, 0, 3), cylinder(3, 60, 3)]);
    expect(quarrel.dead).toBeNull();
    expect(quarrel.words).toMatch(/do not agree/);
    // A little is not much: the dead one fell by a tenth of what the others did.
    expect(judgedBalance([cylinder(1, 60, 3), cylinder(2, 6, 0), cylinder(3, 60, 3)]).dead).toBe(2);
    expect(judgedBalance([cylinder(1, 60, 3), cylinder(2, 0, 0), cylinder(3, 60, 3)]).dead).toBe(2);
    expect(judgedBalance([cylinder(1, 0, 3), cylinder(2, 0, 3), cylinder(3, 0, 3)]).words).toMatch(/^Every/);
  });

  test("a mark is worked out once, and what is read later elsewhere changes nothing of it", () => {
    const at = (s: number): boolean => marks.some((m) => s * 1000 >= m.at && s * 1000 < m.until);
    const base = but(idle(110), {
      "engine-speed": (s) => 700 - (at(s) ? 50 : 0) + 3 * Math.sin(11 * s),
      manifold: (s) => 33 + (at(s) ? 4 : 0) + 0.2 * Math.sin(9 * s),
    });
    // The air is read only long after the last of them.
    const later = but(idle(60), { "air-flow": (s) => 3 + 0.01 * Math.sin(s) });
    const source = readingOf([base, later], 10, { marks });
    const interpreter = new Interpreter(source);
    interpreter.finish();
    const [first, again] = [interpreter.findings().balance, interpreter.findings().balance];
    expect(first?.cylinders[0]?.also).toBe(again?.cylinders[0]?.also);
    expect(first).toEqual(findingsOf([base], 10, { marks }).balance);
    expect(first?.cylinders[0]?.also?.map(({ of }) => of)).toContain("air");
  });

  test("too noisy to tell", () => {
    expect(signsOf(balance([20, 18, 2, 19], 120), "misfire.cylinder")[0]?.verdict).toBe("cannot-tell");
  });

  test("two cylinders are not enough", () => {
    const findings = findingsOf(
      [
        noisy(
          110,
          () => 700,
          () => 5,
        ),
      ],
      10,
      { marks: marks.slice(0, 2) },
    );
    expect(findings.balance?.words).toContain("Cannot tell");
  });
});
