import { expect, test } from "vitest";
import { bitWords, enumerations, enumWord, monitorStatus } from "../../shared/enumerations.ts";
import { troubleCode, troubleCodes } from "../../shared/codes.ts";

const bytes = (hex: string): Uint8Array => Uint8Array.from(hex.split(" ").map((b) => parseInt(b, 16)));

test("fuel system status is one bit each (J1979-DA, from memory)", () => {
  expect(enumWord("fuelSystem", 0x01)).toMatch(/open loop.*cold/);
  expect(enumWord("fuelSystem", 0x02)).toBe("closed loop");
  expect(enumWord("fuelSystem", 0x04)).toMatch(/open loop.*overrun/);
  expect(enumWord("fuelSystem", 0x08)).toMatch(/open loop.*fault/);
  expect(enumWord("fuelSystem", 0x10)).toMatch(/closed loop.*faulty/);
  expect(enumWord("fuelSystem", 0x00)).toMatch(/off/);
});

test("a code that is in no list is shown and not guessed", () => {
  expect(enumWord("fuelSystem", 0x03)).toBe("unknown (03 hex)");
  expect(enumWord("fuelType", 0xc8)).toBe("unknown (C8 hex)");
  // Names that every object has are no codes.
  for (const id of Object.keys(enumerations) as (keyof typeof enumerations)[]) {
    expect(Object.keys(enumerations[id].words).every((code) => /^\d+$/.test(code))).toBe(true);
  }
});

test("fuel type, OBD rule and secondary air (J1979-DA, from memory)", () => {
  expect([1, 4, 5, 6, 8, 17].map((code) => enumWord("fuelType", code))).toEqual([
    "petrol",
    "diesel",
    "LPG",
    "CNG",
    "electric",
    "hybrid petrol",
  ]);
  expect(enumWord("obdRule", 6)).toBe("EOBD");
  expect(enumWord("obdRule", 1)).toContain("California");
  expect(enumWord("secondaryAir", 4)).toContain("off");
});

test("monitor status 41 01 81 07 65 04 (worked example, from memory)", () => {
  const status = monitorStatus(0x81076504);
  expect(status).toMatchObject({ lamp: true, storedCodes: 1, ignition: "spark" });
  const by = new Map(status.monitors.map((m) => [m.name, m.state]));
  expect(by.get("misfire")).toBe("complete");
  expect(by.get("fuel system")).toBe("complete");
  expect(by.get("components")).toBe("complete");
  expect(by.get("catalyst")).toBe("complete");
  expect(by.get("heated catalyst")).toBe("not fitted");
  expect(by.get("evaporative system")).toBe("not complete");
  expect(by.get("secondary air")).toBe("not fitted");
  expect(by.get("oxygen sensor")).toBe("complete");
  expect(by.get("oxygen sensor heater")).toBe("complete");
  expect(by.get("EGR or valve timing")).toBe("not fitted");
  expect(bitWords("monitors", 0x81076504).slice(0, 3)).toEqual([
    "lamp on",
    "1 stored code",
    "spark ignition",
  ]);
  expect(bitWords("monitorsCycle", 0x00076504)[0]).toBe("spark ignition");
});

test("monitor status of a compression engine, with continuous monitors open", () => {
  // B: bit 3 compression; bits 0-2 fitted, bits 4-6 not complete. C, D: bit 0 NMHC, 1 NOx, 3 boost, 6 filter.
  const status = monitorStatus(0x007f4b0a);
  expect(status).toMatchObject({ lamp: false, storedCodes: 0, ignition: "compression" });
  expect(status.monitors.filter((m) => m.state === "not complete").map((m) => m.name)).toEqual([
    "misfire",
    "fuel system",
    "components",
    "NOx or SCR",
    "boost pressure",
  ]);
  expect(status.monitors.filter((m) => m.state === "complete").map((m) => m.name)).toEqual([
    "NMHC catalyst",
    "particle filter",
  ]);
  expect(monitorStatus(0xff000000)).toMatchObject({ lamp: true, storedCodes: 127 });
});

test("oxygen sensors fitted, in both forms (list OBD-II PIDs; four-bank form from memory)", () => {
  expect(bitWords("sensors2", 0x33)).toEqual(["b1s1", "b1s2", "b2s1", "b2s2"]);
  expect(bitWords("sensors2", 0x84)).toEqual(["b1s3", "b2s4"]);
  expect(bitWords("sensors4", 0x15)).toEqual(["b1s1", "b2s1", "b3s1"]);
  expect(bitWords("sensors4", 0x80)).toEqual(["b4s2"]);
  expect(bitWords("auxiliary", 0)).toEqual(["power take-off off"]);
});

test("trouble codes from two bytes (list OBD-II PIDs, service 03; examples: Stack Overflow question 36377223)", () => {
  expect(troubleCode(0x0135)).toBe("P0135");
  expect(troubleCode(0x0133)).toBe("P0133");
  expect(troubleCode(0x4307)).toBe("C0307");
  expect(troubleCode(0xd600)).toBe("U1600");
  expect(troubleCode(0xa245)).toBe("B2245");
  expect(troubleCode(0x3fff)).toBe("P3FFF");
  expect(troubleCode(0xffff)).toBe("U3FFF");
  for (const wrong of [-1, 0x10000, 1.5, Number.NaN]) expect(() => troubleCode(wrong)).toThrow(RangeError);
});

test("lists of codes: padded to six bytes off CAN, counted on CAN", () => {
  // 43 01 33 00 00 00 00 (layout of J1979, from memory).
  expect(troubleCodes(bytes("01 33 00 00 00 00"), false)).toEqual(["P0133"]);
  // 47 04 01 07 02 07 03 07 43 07; 47 02 01 02 D6 00; 47 01 A2 45 (Stack Overflow question 36377223).
  expect(troubleCodes(bytes("04 01 07 02 07 03 07 43 07"), true)).toEqual([
    "P0107",
    "P0207",
    "P0307",
    "C0307",
  ]);
  expect(troubleCodes(bytes("02 01 02 D6 00"), true)).toEqual(["P0102", "U1600"]);
  expect(troubleCodes(bytes("01 A2 45"), true)).toEqual(["B2245"]);
  expect(troubleCodes(bytes("00"), true)).toEqual([]);
  expect(troubleCodes(bytes("00 AA AA AA AA"), true)).toEqual([]);
  expect(troubleCodes(new Uint8Array(), true)).toEqual([]);
  expect(troubleCodes(bytes("01 33 04"), false)).toEqual(["P0133"]);
});
