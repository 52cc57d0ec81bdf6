import { defineConfig } from "vitest/config";
import { quickModules } from "./tests/support/quickModules.js";

export default defineConfig({
  plugins: [quickModules()],
  test: {
    include: ["tests/**/*.test.ts"],
    globalSetup: ["tests/support/setup.ts"],
    testTimeout: 20_000,
    // Much of what the tests do is waiting for a browser or a line; one worker on two cores leaves one idle.
    maxWorkers: 2,
    // Of tests that wait side by side within a file.
    maxConcurrency: 2,
    // What a browser does is awaited, however busy the machine; one second is the library's own limit.
    expect: { poll: { timeout: 15_000 } },
  },
});
