import fc from "fast-check";
import { expect, test } from "vitest";
import { conversionOf, conversionsTo, unitChoices, unitSymbol } from "../../shared/unitNames.ts";
import { unitIds, type UnitId } from "../../shared/units.ts";

const inTable = (value: number, given: string, unit: UnitId): number => {
  const found = conversionOf(given, unit);
  if (found === null) throw new Error(`${given} is not taken for ${unit}`);
  return (value - found.offset) / found.factor;
};

// Definitions and NIST SP 811 (2008), appendix B.8: the standard atmosphere in each unit of pressure, and so on.
test.each([
  [101.325, "kPa", "kPa", 101.325],
  [1013.25, "hPa", "kPa", 101.325],
  [1013.25, "mbar", "kPa", 101.325],
  [1.01325, "bar", "kPa", 101.325],
  [14.69595, "psi", "kPa", 101.325],
  [29.9213, "inHg", "kPa", 101.325],
  [760, "mmHg", "kPa", 101.325],
  [101_325, "Pa", "kPa", 101.325],
  [0.101325, "MPa", "kPa fuel", 101.325],
  [1, "kPa", "Pa", 1000],
  [212, "°F", "°C", 100],
  [-40, "F", "°C", -40],
  [373.15, "K", "°C", 100],
  [62.137119, "mph", "km/h", 100],
  [27.777778, "m/s", "km/h", 100],
  [3.6, "kg/h", "g/s", 1],
  [0.13227736, "lb/min", "g/s", 1],
  [1, "g/s", "kg/h", 3.6],
  [1000, "mV", "V", 1],
  [1, "mi", "km", 1.609344],
  [1, "h", "min", 60],
] as const)("%f %s as %s is %f", (value, given, unit, expected) => {
  expect(inTable(value, given, unit)).toBeCloseTo(expected, 3);
});

test.each([
  ["degC", "°C"],
  ["C", "°C"],
  ["deg F", "°F"],
  ["kph", "km/h"],
  ["KPA", "kPa"],
  ["in Hg", "inHg"],
  ["lbs/min", "lb/min"],
  ["1/min", "rpm"],
  ["grams/sec", "g/s"],
  ["percent", "%"],
  ["deg", "°"],
] as const)("%s is written for %s", (text, symbol) => {
  expect(unitSymbol(text)).toBe(symbol);
});

test("a unit of another kind is not taken; every unit of the table takes itself, and there and back is the same", () => {
  expect(conversionOf("kPa", "°C")).toBeNull();
  expect(conversionOf("psi", "rpm")).toBeNull();
  expect(conversionOf("", "km/h")).toBeNull();
  for (const unit of unitIds) {
    expect(conversionsTo(unit).get(unit), unit).toEqual({ factor: 1, offset: 0 });
    expect(unitChoices(unit).length, unit).toBeGreaterThan(0);
  }
  fc.assert(
    fc.property(
      fc.double({ noNaN: true, min: -1e4, max: 1e4 }),
      fc.constantFrom(...unitIds),
      (value, unit) => {
        for (const { factor, offset } of conversionsTo(unit).values())
          expect((value * factor + offset - offset) / factor).toBeCloseTo(value, 5);
      },
    ),
  );
});
