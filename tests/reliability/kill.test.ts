import { beforeAll, expect, test } from "vitest";
import { build } from "../support/build.ts";
import { killOnce } from "./kill.ts";

beforeAll(build, 180_000);

test.each([40, 137, 420, 901])(
  "killed %i ms into a recording: what the page was told to be saved is in the file, and nothing differs",
  async (afterMs) => {
    const run = await killOnce(afterMs);
    expect(run).toMatchObject({ missing: 0, sentAndMissing: 0, differing: 0, state: "cut-short" });
    expect(run.exchanges).toBeGreaterThanOrEqual(run.acknowledged);
    expect(run.exchanges).toBeGreaterThan(10);
    // The page is told every half second.
    if (afterMs > 800) expect(run.acknowledged).toBeGreaterThan(20);
  },
  30_000,
);
