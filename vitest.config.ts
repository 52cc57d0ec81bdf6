import { defineConfig } from "vitest/config";
import { LongestFirst } from "./tests/support/order.js";
import { quickModules } from "./tests/support/quickModules.js";

/** Folders whose tests start programs, open ports and browsers: each file has a process of its own. */
const outside = ["browser", "cli", "link", "prove", "reliability", "server"];
const wide = [...outside.map((folder) => `tests/${folder}/**/*.test.ts`), "tests/*.test.ts"];

const usual = {
  testTimeout: 20_000,
  // Of tests that wait side by side within a file.
  maxConcurrency: 2,
  // What a browser does is awaited, however busy the machine; one second is the library's own limit.
  expect: { poll: { timeout: 15_000 } },
};

export default defineConfig({
  plugins: [quickModules()],
  test: {
    globalSetup: ["tests/support/setup.ts"],
    // Browsers keep two cores busy by themselves; beside them, lines and programs are waited for.
    maxWorkers: 3,
    sequence: { sequencer: LongestFirst },
    projects: [
      { plugins: [quickModules()], test: { ...usual, name: "programs", include: wide } },
      {
        plugins: [quickModules()],
        test: {
          ...usual,
          name: "rooms",
          include: ["tests/*/**/*.test.ts"],
          exclude: wide,
          // They leave nothing behind: one process after another would read the same modules and warm up anew.
          isolate: false,
        },
      },
    ],
  },
});
