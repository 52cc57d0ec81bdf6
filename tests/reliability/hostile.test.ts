import { describe, expect, test } from "vitest";
import { hostileFaults } from "../support/hostile.ts";
import { runHostile } from "../support/hostileRun.ts";

const forMs = 60_000;

describe("whatever stands on the line, no value is drawn that was not sent, and no request leaves that is on no list", () => {
  test.each(hostileFaults.map((fault, i) => [fault, i] as const))("%s alone", async (fault, i) => {
    const result = await runHostile({ seed: 100 + i, faults: [fault], share: 0.1, forMs });
    expect(result).toMatchObject({ wrong: [], others: [] });
    expect(result.spoilt).toBeGreaterThan(5);
    expect(result.drawn).toBeGreaterThan(200);
  });

  test.each([1, 2, 3, 4])("all at once, seed %i", async (seed) => {
    const result = await runHostile({ seed, faults: hostileFaults, share: 0.3, forMs });
    expect(result).toMatchObject({ wrong: [], others: [] });
    expect(result.spoilt).toBeGreaterThan(20);
    expect(result.drawn).toBeGreaterThan(100);
  });
});
