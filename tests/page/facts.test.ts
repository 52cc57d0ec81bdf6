import { expect, test } from "vitest";
import { vehicleFactsSchema } from "../../shared/vehicle.ts";
import { factFields, factsLine, factValue } from "../../src/page/lib/facts.ts";

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
      expect(vehicleFactsSchema.safeParse({ [field.key]: value }).success, `${field.key} ${value}`).toBe(
        true,
      );
    }
  }
});

test("the line names the engine", () => {
  expect(factsLine({ cylinders: 6, displacementL: 3, fuel: "petrol" })).toBe("6 cyl., 3 L, petrol");
  expect(factsLine({})).toBe("");
});
