import { expect, test } from "vitest";
import { format, isUnitId, shown, taken, unitIds, units, type UnitId } from "../../shared/units.ts";

/** Exact or published conversions: NIST SP 811 (2008), appendix B.8. */
const published: readonly (readonly [unit: UnitId, metric: number, symbol: string, us: number])[] = [
  ["°C", 100, "°F", 212],
  ["°C", -40, "°F", -40],
  ["kPa", 3.386389, "inHg", 1],
  ["kPa", 101.325, "inHg", 29.92126],
  ["kPa fuel", 6.894757, "psi", 1],
  ["Pa", 249.0889, "inH2O", 1],
  ["km/h", 1.609344, "mph", 1],
  ["km", 1.609344, "mi", 1],
  ["m", 0.3048, "ft", 1],
  ["L/h", 3.785411784, "gal/h", 1],
  ["kg/h", 0.45359237, "lb/h", 1],
  ["g/s", 453.59237 / 60, "lb/min", 1],
  ["N·m", 1.355818, "lbf·ft", 1],
];

test.each(published)("%s: %f is the same in %s", (unit, metric, symbol, us) => {
  expect(shown(metric, unit, "us").symbol).toBe(symbol);
  expect(shown(metric, unit, "us").value).toBeCloseTo(us, 4);
  expect(taken(us, unit, "us")).toBeCloseTo(metric, 4);
  expect(taken(metric, unit, "metric")).toBe(metric);
  expect(shown(metric, unit, "metric")).toMatchObject({ value: metric, symbol: units[unit].symbol });
});

test("every unit with a US form is checked above, and the others are the same in both", () => {
  const checked = new Set(published.map(([unit]) => unit));
  for (const unit of unitIds) {
    if ("us" in units[unit]) expect(checked).toContain(unit);
    else expect(shown(7, unit, "us")).toEqual(shown(7, unit, "metric"));
  }
});

test("a number with its unit; a missing one is a dash; nothing is minus nought", () => {
  expect(format(812.4, "rpm", "metric")).toBe("812 rpm");
  expect(format(12.434, "V", "us")).toBe("12.43 V");
  expect(format(20, "°C", "us")).toBe("68 °F");
  expect(format(3, "count", "metric")).toBe("3");
  expect(format(-0.04, "%", "metric")).toBe("0.0 %");
  expect(format(-0.4, "rpm", "metric")).toBe("0 rpm");
  expect(format(-1.2, "%", "metric")).toBe("-1.2 %");
  for (const missing of [null, undefined, Number.NaN]) expect(format(missing, "rpm", "metric")).toBe("–");
});

test("names that every object has are no units", () => {
  expect(isUnitId("rpm")).toBe(true);
  for (const name of ["toString", "__proto__", "constructor", ""]) expect(isUnitId(name)).toBe(false);
});
