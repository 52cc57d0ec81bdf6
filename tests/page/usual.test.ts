import { expect, test } from "vitest";
import { usualHere, type RangeHere, type Usual } from "../../src/page/lib/chart/usual.ts";

const range: RangeHere = { low: 8, high: 22, source: "a handbook" };
const at = (value: number, limits = range): Usual | null =>
  usualHere({
    readout: { value, t: 0, ageMs: 0, rate: 0, stale: false },
    ...{ regime: "idle-warm", range: limits, unit: "V", system: "metric" },
  });

test("above points up and below points down; the limits themselves lie within", () => {
  expect(at(22.01)).toMatchObject({ text: "▲ above 8 to 22", outside: true });
  expect(at(7.99)).toMatchObject({ text: "▼ below 8 to 22", outside: true });
  for (const value of [8, 15, 22])
    expect(at(value)).toMatchObject({ text: "within 8 to 22", outside: false });
  expect(at(Number.NaN)).toMatchObject({ text: "usual 8 to 22", outside: false });
});

test("a range without an end has no outside there", () => {
  expect(at(1e6, { ...range, high: null })).toMatchObject({ outside: false });
  expect(at(-1e6, { ...range, low: null })).toMatchObject({ outside: false });
  expect(at(5, { ...range, high: null })?.text).toContain("▼ below");
});
