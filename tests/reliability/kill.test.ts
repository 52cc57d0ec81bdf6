import { beforeAll, expect, test } from "vitest";
import { build } from "../support/build.ts";
import { killOnce } from "./kill.ts";

beforeAll(build, 180_000);

test.each([
  [40, 0],
  [137, 0],
  [420, 1],
  [901, 100],
])(
  "killed %i ms into a recording, %i exchanges told to be saved: those are in the file, and nothing differs",
  async (afterMs, acknowledged) => {
    const run = await killOnce(afterMs, acknowledged);
    expect(run).toMatchObject({ missing: 0, sentAndMissing: 0, differing: 0, state: "cut-short" });
    expect(run.acknowledged).toBeGreaterThanOrEqual(acknowledged);
    expect(run.exchanges).toBeGreaterThanOrEqual(run.acknowledged);
    expect(run.exchanges).toBeGreaterThan(0);
  },
  120_000,
);
