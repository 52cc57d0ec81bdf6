/** The tests of one room, for `npm run mutate`: which, its run tells. */
import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    include: (process.env["CRANKSIDE_MUTATE"] ?? "tests/shared/**/*.test.ts").split(" "),
    testTimeout: 60_000,
    env: { TZ: "America/St_Johns" },
  },
});
