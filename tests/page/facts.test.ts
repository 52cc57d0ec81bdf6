import { expect, test } from "vitest";
import { vehicleFactsSchema } from "../../shared/vehicle.ts";
import {
  factExpected,
  factFields,
  factHint,
  factsLine,
  factText,
  factUnit,
  factUsual,
  factValue,
} from "../../src/page/lib/job/facts.ts";

test("a fact is a value, nothing, or something it cannot be", () => {
  expect(factValue("cylinders", " 6 ")).toBe(6);
  expect(factValue("displacementL", "1,6")).toBe(1.6);
  expect(factValue("cylinders", "")).toBeUndefined();
  expect(factValue("cylinders", "six")).toBeNull();
  expect(factValue("cylinders", "99")).toBeNull();
  expect(factValue("fuel", "petrol")).toBe("petrol");
  expect(factValue("fuel", "coal")).toBeNull();
  expect(factValue("name", "van")).toBe("van");
});

test("every choice of the form is one that can be kept", () => {
  for (const field of factFields) {
    if (field.kind !== "choice") continue;
    for (const value of Object.keys(field.choices)) {
      const kept = factValue(field.key, value);
      expect(vehicleFactsSchema.safeParse({ [field.key]: kept }).success, `${field.key} ${value}`).toBe(true);
      expect(factText(field, kept ?? undefined, "metric")).toBe(value);
    }
  }
});

test("a field that nobody filled says what is known otherwise, and one that was filled what speaks against it", () => {
  const seen = {
    of: "fuel",
    name: "Fuel",
    value: "diesel",
    from: "seen",
    sure: "likely",
    why: "so",
  } as const;
  expect(factHint("fuel", [seen])).toBe("by the readings diesel, likely: so");
  expect(factHint("induction", [seen])).toBeNull();
  expect(factHint("fuel", [{ ...seen, from: "told", sure: "sure" }])).toBeNull();
  expect(factHint("fuel", [{ ...seen, from: "told", sure: "sure", against: "trims were read" }])).toBe(
    "but trims were read",
  );
  expect(factHint("fuel", [{ ...seen, value: null, from: "unknown", sure: null }])).toBeNull();
});

test("a firing order is chosen among the usual ones of the engine, and typed as it is told", () => {
  const four = factUsual("firingOrder", { cylinders: 4, layout: "in-line" });
  expect(four.map(({ value }) => value)).toEqual(["1-3-4-2", "1-2-4-3"]);
  expect(four[0]?.words).toMatch(/in-line \(from memory.*the manual decides\)/);
  expect(factUsual("vin", {})).toEqual([]);
  expect(factValue("firingOrder", "1-3-4-2")).toBe("1-3-4-2");
  expect(factValue("firingOrder", "1-3-4")).toBeNull();
  expect(factValue("bank1", "1 3 5")).toBe("1 3 5");
});

test("the line names the engine", () => {
  expect(factsLine({ cylinders: 6, displacementL: 3, fuel: "petrol" })).toBe("6 cyl., 3 L, petrol");
  expect(factsLine({})).toBe("");
});

test("height and odometer are typed and shown in the chosen units, and kept in metres and kilometres", () => {
  // 1 ft is 0.3048 m, 1 mi is 1.609344 km: NIST SP 811 (2008), appendix B.8.
  expect(factValue("altitudeM", "5280", "us")).toBeCloseTo(1609.344, 6);
  expect(factValue("odometerKm", "100000", "us")).toBeCloseTo(160_934.4, 6);
  expect(factValue("altitudeM", "5280", "metric")).toBe(5280);
  for (const field of factFields) {
    if (field.kind !== "measure") continue;
    for (const typed of ["0", "7", "123.4", "4999.125"]) {
      const kept = factValue(field.key, typed, "us");
      expect(typeof kept).toBe("number");
      expect(Number(factText(field, kept ?? undefined, "us"))).toBe(Number(typed));
    }
    const [low = "", high = ""] = factExpected(field, "us").split(" to ");
    // The bounds that are told are within what is taken, but for the rounding of the last figure.
    expect(factValue(field.key, String(Number(high) - 1), "us")).not.toBeNull();
    expect(factValue(field.key, String(Number(high) + 1), "us")).toBeNull();
    expect(factValue(field.key, String(Number(low) - 2), "us")).toBeNull();
  }
  expect(factFields.map((field) => factUnit(field, "us"))).toEqual(expect.arrayContaining(["ft", "mi"]));
});
