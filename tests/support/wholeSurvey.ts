/** What a survey of a bench vehicle has to hold, over whatever line it was made. */
import { expect } from "vitest";
import { benchVehicle } from "../../adapters/bench/index.ts";
import { protocols } from "../../shared/protocols.ts";
import type { Survey } from "../../shared/survey.ts";

/** `asked`: every command of the recording. */
export function expectWhole(vehicle: string, survey: Survey, asked: readonly string[]): void {
  const { modules } = survey;
  const told = modules.filter(({ stored, readiness }) => stored !== null && readiness !== null);
  expect(told.length).toBeGreaterThan(0);
  expect(modules.find(({ vin }) => vin !== null)?.vin?.checkDigit).toBe("fits");
  for (const service of ["0101", "03", "07", "0A", "020200", "0900"]) expect(asked).toContain(service);
  expect(asked.some((ask) => ask.startsWith("06"))).toBe(true);
  const perCycle = benchVehicle(vehicle).modules.some(({ pids }) => pids.includes(0x41));
  expect(asked.includes("0141")).toBe(perCycle);
  expect(modules.some(({ readinessThisCycle }) => readinessThisCycle !== null)).toBe(perCycle);
  const can = protocols[benchVehicle(vehicle).protocol].family === "can";
  const oxygen = asked.filter((ask) => /^05[0-9A-F]{4}$/.test(ask));
  const tests = modules.flatMap((module) => module.tests);
  if (can) {
    // On CAN the oxygen sensor tests are part of service 06.
    expect(oxygen).toEqual([]);
    return;
  }
  // The map of tests for each sensor, then each test; and what they said.
  expect(oxygen.some((ask) => ask.startsWith("0500"))).toBe(true);
  const singles = oxygen.filter((ask) => !ask.startsWith("0500"));
  expect(singles.length).toBeGreaterThan(5);
  expect(new Set(singles).size).toBe(singles.length);
  const results = tests.filter(({ monitor }) => monitor.startsWith("oxygen sensor bank"));
  expect(results).toHaveLength(singles.length);
  expect(results.some(({ unit, value }) => unit === "V" && value > 0)).toBe(true);
}
