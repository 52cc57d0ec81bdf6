/** The sentence across the bay: what is seen, the cause where it may be named, and what was not heard. */
import * as fc from "fast-check";
import { expect, test } from "vitest";
import type { Advice, CauseAdvice } from "../../src/interpret/causes/adviceSchema.ts";
import { headlineOf } from "../../src/interpret/report/headline.ts";
import { makeSign, type SignParts } from "../../src/interpret/report/sign.ts";
import { measuredText } from "../../src/interpret/report/text.ts";
import {
  outcomes,
  verdicts,
  type Crank,
  type Outcome,
  type Sign,
} from "../../src/interpret/report/schema.ts";
import { headlineRows } from "../../src/interpret/tables/headlines.ts";
import { signRows, type SignId } from "../../src/interpret/tables/signs.ts";
import { regimes } from "../../shared/ranges.ts";

const ids = Object.keys(signRows) as SignId[];
const nothing = { cranks: [], signs: [], codes: [], regimes: [] };

function measured(value: number, unit: string): SignParts {
  return {
    verdict: "outside",
    measured: { value, unit, what: "", samples: 9, rate: null },
  };
}

function crank(outcome: Outcome, more: Partial<Crank> = {}): Crank {
  const none = null;
  return {
    ...{ number: 1, from: 0, to: 5000, unseen: false, outcome, voltsFrom: none, lengthS: 5 },
    ...{ restVolts: none, meanVolts: none, speedSpread: none, dropOuts: none, speedPerVolt: none },
    ...{ lowestVolts: { value: 10.12, samples: 9 }, speed: { value: 187.4, samples: 40 } },
    ...{ firstSpeedS: none, pullDown: none, throttle: none, loop: none, coolant: none, intakeAir: none },
    ...{ fireS: none, fireWithinS: none, ranS: none },
    ...more,
  };
}

function weighed(
  part: Partial<CauseAdvice> & { readonly word?: CauseAdvice["standing"]["word"] },
  cylinders: number[] = [],
): Pick<Advice, "causes" | "cylinders"> {
  const { word = "likely", ...more } = part;
  return {
    cylinders,
    causes: [
      {
        ...{ id: "x", name: "Coil of one cylinder", about: "", place: "", for: [], against: [] },
        standing: { share: 0.7, low: 0.6, high: 0.8, word },
        repair: { does: "", part: null, money: [0, 0], minutes: [0, 0], badGuess: "" },
        proof: { state: "suspected", words: "", wouldProve: "", notExcluded: false, rests: [] },
        ...more,
      },
    ],
  };
}

test("every sign has its words, once", () => {
  expect(headlineRows.map((row) => row.id).sort()).toEqual([...ids].sort());
});

test("how the cranks ended, with speed and volts, and how many did alike", () => {
  const cranks = [crank("turned-and-did-not-fire"), crank("turned-and-did-not-fire")];
  expect(headlineOf({ ...nothing, cranks }, null)).toEqual({
    words: "Turns at 187 rpm, does not fire, 2 cranks alike",
    figures: "2 cranks, 187 rpm, lowest 10.1 V",
  });
  const then = [...cranks, crank("started")];
  expect(headlineOf({ ...nothing, cranks: then }, null).words).toBe(
    "Did not start in 2 cranks, then started",
  );
  const slow = [crank("turned-without-signal", { speed: null })];
  expect(headlineOf({ ...nothing, cranks: slow }, null).words).toBe("Starter draws current, no RPM signal");
});

test("a bank is named with its figure; where both have it, each", () => {
  const air = (bank: number, value: number): Sign =>
    makeSign("mixture.unmetered-air", { ...measured(value, "g/s"), side: "high", bank, of: `b${bank}` });
  const one = { ...nothing, signs: [air(2, 1.12)] };
  expect(headlineOf(one, null).words).toBe("Bank 2 gets about 1.1 g/s of unmetered air");
  const both = { ...nothing, signs: [air(1, 1.5), air(2, 1.4)] };
  expect(headlineOf(both, null)).toEqual({
    words: "Each bank gets about 1.5 g/s of unmetered air",
    figures: "",
  });
  const unlike = { ...nothing, signs: [air(1, 0.5), air(2, 1.4)] };
  expect(headlineOf(unlike, null).words).toBe("Bank 2 gets about 1.4 g/s of unmetered air");
});

test("the cause is named once it is likely, shown or proved, with its cylinder; not before", () => {
  const signs = [makeSign("misfire.counts", { ...measured(3, "%"), cylinder: 4, of: "4" })];
  const seen = { ...nothing, signs };
  const said = (...args: Parameters<typeof weighed>): string => headlineOf(seen, weighed(...args)).words;
  expect(said({}, [4])).toBe("Cylinder 4 misfires; likely cause: coil of cylinder 4");
  expect(said({}, [4, 5])).toBe("Cylinder 4 misfires; likely cause: coil of one cylinder");
  expect(said({ word: "possible" }, [4])).toBe("Cylinder 4 misfires");
  const proof: CauseAdvice["proof"] = {
    state: "proved",
    words: "",
    wouldProve: "",
    notExcluded: false,
    rests: [],
  } as const;
  expect(said({ word: "possible", proof }, [4])).toBe("Cylinder 4 misfires; proved: coil of cylinder 4");
});

test("sound says what was not heard, and what stands near an edge", () => {
  const within = makeSign("power.rest-voltage", { verdict: "within" });
  const seen = { ...nothing, signs: [within], regimes: [{ from: 0, to: 9, regime: "idle-warm" as const }] };
  expect(headlineOf(seen, null).words).toBe(
    "Nothing wrong in what was heard; not heard yet: a crank, load, codes",
  );
  const near = makeSign("crank.speed", { ...measured(152, "rpm"), verdict: "near", side: "low" });
  const { words, figures } = headlineOf({ ...seen, signs: [within, near] }, null);
  expect(words).toMatch(/^Nothing is outside its range; not heard yet: /);
  expect(figures).toBe("near the edge: cranking speed is 152 rpm");
  expect(headlineOf(nothing, null).words).toBe("Nothing to judge yet");
});

test("whatever is seen, it is one sentence without a hole in it", () => {
  const sign = fc
    .record({
      id: fc.constantFrom(...ids),
      verdict: fc.constantFrom(...verdicts),
      side: fc.constantFrom("low" as const, "high" as const, undefined),
      value: fc.option(fc.double({ min: -200, max: 9000, noNaN: true })),
      unit: fc.constantFrom("V", "rpm", "g/s", "%", "kPa", "count"),
      bank: fc.constantFrom(1, 2, undefined),
      cylinder: fc.constantFrom(1, 8, undefined),
    })
    .map(({ id, verdict, side, value, unit, bank, cylinder }) =>
      makeSign(id, {
        verdict,
        ...(side === undefined ? {} : { side }),
        ...(bank === undefined ? {} : { bank }),
        ...(cylinder === undefined ? {} : { cylinder }),
        measured: { value, unit, what: "P0300 pending", samples: 3, rate: null },
      }),
    );
  const seen = fc.record({
    signs: fc.array(sign, { maxLength: 6 }),
    cranks: fc.array(
      fc.constantFrom(...outcomes).map((o) => crank(o)),
      { maxLength: 4 },
    ),
    codes: fc.array(fc.constant({ code: "P0300", module: "7E8", kind: "pending" as const, t: 1 }), {
      maxLength: 1,
    }),
    regimes: fc.array(fc.constantFrom(...regimes).map((regime) => ({ from: 0, to: 1, regime }))),
  });
  fc.assert(
    fc.property(seen, (of) => {
      const { words, figures } = headlineOf(of, null);
      expect(words).toMatch(/^[A-Z0-9−-]/);
      expect(`${words} ${figures}`).not.toMatch(/[{}]|undefined|null|NaN|^\s|\.$| {2}/);
    }),
  );
});

test("what was measured is told with its unit, from low to high, and how often it was read", () => {
  const trim = { value: 12.4, unit: "%", what: "trim", samples: 40, rate: 2.5, effective: 9 };
  const told = (more: object): string => measuredText({ ...trim, ...more }, "metric");
  expect(told({ interval: { low: 8, high: 16, level: 0.95 } })).toMatch(
    /^Measured .*12\.4.*trim, \+?8(?:\.0)? % to \+?16(?:\.0)? % at 95 % \(40 readings, 2\.5 a second, effectively 9\)\.$/,
  );
  expect(told({ value: null, samples: 1, rate: null, effective: undefined })).toBe(
    "Measured trim (1 reading).",
  );
});
