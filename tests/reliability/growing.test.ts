import { beforeAll, expect, test } from "vitest";
import { build } from "../support/build.ts";
import { bundlesWhileGrowing } from "./growing.ts";

beforeAll(build, 180_000);

test("bundles of a recording that grows meanwhile open elsewhere and hold what their sums say", async () => {
  const by = ["page", "page", "command", "page", "page", "command"] as const;
  const { bundles } = await bundlesWhileGrowing(by);
  expect(bundles.map(({ problem }) => problem)).toEqual(by.map(() => ""));
  // It did grow between the first and the last.
  expect(bundles.at(-1)?.bytes).toBeGreaterThan(bundles[0]?.bytes ?? 0);
}, 120_000);
