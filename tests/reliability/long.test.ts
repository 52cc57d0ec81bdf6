import { join } from "node:path";
import { expect, test } from "vitest";
import { longRun, type Hour } from "./long.ts";

test("eight minutes through the whole stack: nothing piles up, and a sleep of ten minutes is one gap", async () => {
  const steps: Hour[] = [];
  const result = await longRun({
    ...{
      vehicle: "garden-van",
      hours: 8 / 60,
      stepMinutes: 2,
      browser: false,
      pageFolder: join(import.meta.dirname, "no-page"),
    },
    onStep: (step) => steps.push(step),
  });
  expect(result).toMatchObject({ state: "whole", negativeTimes: 0, link: "listening" });
  expect(result.gaps).toEqual(["the machine slept for 10 min"]);
  const [first, last] = [steps[0], steps.at(-1)];
  if (first === undefined || last === undefined) throw new Error("unreachable: there were steps");
  expect(last.readings).toBeGreaterThan(8 * 60 * 50);
  expect(last.timers).toBeLessThanOrEqual(first.timers + 2);
  expect(last.handles).toBeLessThanOrEqual(first.handles + 2);
  expect(last.emitters).toBeLessThanOrEqual(first.emitters + 5);
  expect(last.serverHeapMb - first.serverHeapMb).toBeLessThan(10);
}, 120_000);
