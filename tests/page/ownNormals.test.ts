import { expect, test } from "vitest";
import { vehicleKey } from "../../shared/vehicle.ts";
import { readSettings } from "../../src/page/lib/app/settings.ts";

test("a vehicle is told by its VIN, else by its name, else it is the one recording", () => {
  expect(vehicleKey({ vin: " WZZ1 ", name: "Van" }, "a.ndjson")).toBe("wzz1");
  expect(vehicleKey({ vin: "", name: "Garden van" }, "a.ndjson")).toBe("garden van");
  expect(vehicleKey({}, "A.ndjson")).toBe("a.ndjson");
});

test("which own ranges are used for which vehicle is remembered, and what is no such list is not", () => {
  expect(readSettings('{"normals":{"van":"garden-van"}}').normals).toEqual({ van: "garden-van" });
  expect(readSettings('{"normals":{"van":7}}').normals).toEqual({});
});
