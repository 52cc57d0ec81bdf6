/** What a VIN says by the places that a standard gives a meaning. Numbers are made up; check digits by hand. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { checkDigit, vinCheck, vinSays } from "../../shared/vin.ts";

/** The same with the check digit that it should have. */
function fitting(vin: string): string {
  return `${vin.slice(0, 8)}${checkDigit(vin) ?? ""}${vin.slice(9)}`;
}

test("the published example of the check digit", () => {
  // Seventeen ones sum to 89: 89 mod 11 is 1.
  expect(vinCheck("11111111111111111")).toBe("fits");
  expect(vinCheck("11111111211111111")).toBe("differs");
  expect(vinCheck("IOQ11111111111111")).toBe("malformed");
});

test.each([
  ["W0000000000000000", "maker's area Europe"],
  ["J0000000000000000", "maker's area Asia"],
  ["A0000000000000000", "maker's area Africa"],
  ["60000000000000000", "maker's area Oceania"],
  ["90000000000000000", "maker's area South America"],
])("%s: %s, and no year, which no standard puts there", (vin, words) => {
  expect(vinSays(fitting(vin))).toBe(words);
});

test.each([
  ["1AAAAA1A0A0000001", 1980],
  ["1AAAAA1A0Y0000001", 2000],
  ["1AAAAA1A010000001", 2001],
  ["1AAAAAAA0A0000001", 2010],
  ["1AAAAAAA0L0000001", 2020],
])("%s: a model year where North America's rule holds (49 CFR 565)", (vin, year) => {
  const whole = fitting(vin);
  expect(vinSays(whole)).toBe(`maker's area North America, model year ${year}`);
  expect(vinSays(whole.toLowerCase())).toBe(vinSays(whole));
  // With another check digit the rule does not hold, and the tenth place may mean anything.
  const other = whole[8] === "1" ? "2" : "1";
  expect(vinSays(`${whole.slice(0, 8)}${other}${whole.slice(9)}`)).toBe("maker's area North America");
});

test("whatever is typed, nothing is thrown, and what is no such number says nothing", () => {
  fc.assert(
    fc.property(fc.string({ maxLength: 20 }), (text) => {
      const says = vinSays(text);
      if (vinCheck(text.toUpperCase()) === "malformed") expect(says).toBeNull();
    }),
  );
  expect(vinSays("")).toBeNull();
  expect(vinSays("01111111111111111")).toBeNull();
});
