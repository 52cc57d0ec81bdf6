/** Signs of the cylinders' strength and of an engine that turns unseen, on made-up waves of the supply. */
import { expect, test } from "vitest";
import type { Findings, Sign } from "../../src/interpret/index.ts";
import { crank, findingsOf, gaussian, keyOn, signsOf, type Stretch } from "./scenes.ts";

interface Waves {
  /** Amplitudes, volts: of the compressions, and of the order of one cylinder. */
  readonly firing: number;
  readonly first: number;
  /** null: the module sees no speed. */
  readonly rpm?: number | null;
  readonly kpa?: number;
}

/** Six cylinders at 187 rpm on a battery at 12.5 V. */
function cranked({ firing, first, rpm = 187, kpa = 92 }: Waves, seed = 3): Stretch[] {
  const noise = gaussian(seed);
  const wave = (s: number): number => {
    const cycle = (2 * Math.PI * 187 * s) / 120;
    return 11.3 + firing * Math.cos(6 * cycle) + first * Math.cos(cycle + 1) + 0.01 * noise();
  };
  const rest = (seconds: number): Stretch => {
    const still = keyOn(seconds);
    return { seconds, channels: { ...still.channels, "socket-voltage": () => 12.5 + 0.005 * noise() } };
  };
  const on = crank(4, rpm ?? 0);
  const turning: Stretch = {
    seconds: 4,
    channels: { ...on.channels, manifold: () => kpa, "socket-voltage": wave },
  };
  return [rest(10), turning, rest(8), turning, rest(8), turning, rest(8)];
}

const facts = { vehicle: { cylinders: 6 } };
const told = (waves: Waves, rate: number, extra: Parameters<typeof findingsOf>[2] = facts): Findings =>
  findingsOf(cranked(waves), rate, extra);
const only = (findings: Findings, id: string): Sign => {
  const [sign, ...others] = signsOf(findings, id);
  expect(others).toEqual([]);
  if (sign === undefined) throw new Error(`${id} is missing`);
  return sign;
};

test("sound cylinders: both signs within, and they lead nowhere", () => {
  const findings = told({ firing: 0.26, first: 0.01 }, 32);
  for (const id of ["crank.cylinder-weak", "crank.all-weak"]) {
    expect(only(findings, id)).toMatchObject({ verdict: "within", looksLike: [], checks: [] });
  }
  expect(only(findings, "crank.all-weak").measured?.value).toBeGreaterThan(1);
});

test("one weak: outside, with the compression gauge behind the capture, and what they all have is not judged", () => {
  const findings = told({ firing: 0.18, first: 0.16 }, 32);
  const sign = only(findings, "crank.cylinder-weak");
  expect(sign).toMatchObject({ verdict: "outside", range: { high: 0.4 } });
  expect(sign.checks.map(({ id }) => id)).toEqual(["cylinder-strength", "compression", "leak-down"]);
  expect(sign.checks[0]?.caution).toMatch(/vehicle's manual/);
  expect(sign.looksLike.map(({ id }) => id)).toEqual(
    expect.arrayContaining(["valve-one", "rings-one", "head-gasket", "fires-now-and-then"]),
  );
  expect(sign.note).toMatch(/limit is that of bench vehicles.* It turned 18\d rpm/);
  expect(only(findings, "crank.all-weak").verdict).toBe("cannot-tell");
});

test("a little unlike is near the edge only", () => {
  expect(only(told({ firing: 0.24, first: 0.062 }, 32), "crank.cylinder-weak").verdict).toBe("near");
});

test("all weak: little ripple; near where it is not much less", () => {
  const little = told({ firing: 0.14, first: 0 }, 32);
  const sign = only(little, "crank.all-weak");
  expect(sign).toMatchObject({ verdict: "outside", range: { low: 0.85 } });
  expect(sign.looksLike.map(({ id }) => id)).toEqual(
    expect.arrayContaining(["compression-all", "timing-slipped"]),
  );
  expect(only(little, "crank.cylinder-weak").verdict).toBe("within");
  expect(only(told({ firing: 0.178, first: 0 }, 32), "crank.all-weak").verdict).toBe("near");
});

test("below the need, or without the number of cylinders, neither is told, and it says what is missing", () => {
  const seldom = told({ firing: 0.14, first: 0.2 }, 5);
  expect(only(seldom, "crank.cylinder-weak")).toMatchObject({ verdict: "cannot-tell" });
  expect(only(seldom, "crank.cylinder-weak").note).toMatch(/5\.0 readings a second, 12 needed\./);
  expect(only(seldom, "crank.all-weak").verdict).toBe("cannot-tell");
  const unknown = told({ firing: 0.14, first: 0.2 }, 32, {});
  expect(only(unknown, "crank.all-weak").note).toMatch(/number of cylinders in the vehicle's facts/);
  const single = told({ firing: 0.14, first: 0 }, 20, { vehicle: { cylinders: 1 } });
  expect(only(single, "crank.cylinder-weak").note).toMatch(/^One cylinder: there is no other/);
});

test("a recording without a crank, and one that fires at once, have neither sign", () => {
  const none = findingsOf([keyOn(20)], 20, facts);
  expect(signsOf(none, "crank.cylinder-weak")).toEqual([]);
  expect(signsOf(none, "crank.turns-unseen")).toEqual([]);
});

test("no speed, and the supply ripples or the manifold is drawn down: it turns, and the starter is not it", () => {
  const unseen = { rpm: null } as const;
  const rippling = told({ ...unseen, firing: 0.2, first: 0, kpa: 101 }, 20);
  const sign = only(rippling, "crank.turns-unseen");
  expect(sign).toMatchObject({ verdict: "outside", measured: { unit: "V" } });
  expect(sign.note).toMatch(/ripples 9\.[234] times a second by 0\.(19|20|21) V: the engine did turn/);
  expect(sign.checks[0]?.id).toBe("crank-sensor");
  const ids = (s: Sign): string[] => s.looksLike.map(({ id }) => id);
  expect(ids(only(rippling, "crank.no-speed"))).not.toContain("starter-worn");
  const drawn = told({ ...unseen, firing: 0, first: 0, kpa: 93 }, 20);
  expect(only(drawn, "crank.turns-unseen").note).toMatch(/fell by \d kPa: the engine did turn/);
  const still = told({ ...unseen, firing: 0, first: 0, kpa: 101 }, 20);
  expect(only(still, "crank.turns-unseen").verdict).toBe("cannot-tell");
  expect(ids(only(still, "crank.no-speed"))).toContain("starter-worn");
});
