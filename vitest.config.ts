import { join } from "node:path";
import { defineConfig } from "vitest/config";
import { LongestFirst } from "./tests/support/order.js";
import { quickModules } from "./tests/support/quickModules.js";
import { runes } from "./tests/support/runes.js";

/** Folders whose tests start programs and open ports. */
const programs = ["cli", "link", "prove", "reliability", "server"].map(
  (folder) => `tests/${folder}/**/*.test.ts`,
);
const own = ["tests/browser/**/*.test.ts", ...programs, "tests/*.test.ts"];

/** None of them is the zone of a test machine: a sign or half an hour that is wrong shows. */
const zone = (name: string) => ({ env: { TZ: process.env["TZ"] ?? name } });

const usual = {
  // They leave nothing behind: one process after another would read the same modules and warm up anew.
  isolate: false,
  // What takes five seconds alone has taken more than sixty beside others.
  testTimeout: 180_000,
  // Of tests that wait side by side within a file.
  maxConcurrency: 2,
  // What a browser does is awaited, however busy the machine; one second is the library's own limit.
  expect: { poll: { timeout: 40_000 } },
};

/** After the browsers. Lines and programs are waited for, while a third has the core. */
const beside = { maxWorkers: 3, sequence: { groupOrder: 1 } };

/** What property tests draw is seeded. */
const resolve = {
  alias: [{ find: /^fast-check$/, replacement: join(import.meta.dirname, "tests/support/fastCheck.ts") }],
};

export default defineConfig({
  plugins: [quickModules()],
  test: {
    globalSetup: ["tests/support/setup.ts"],
    sequence: { sequencer: LongestFirst },
    projects: [
      {
        plugins: [quickModules()],
        resolve,
        test: {
          ...usual,
          ...zone("America/St_Johns"),
          name: "browser",
          include: ["tests/browser/**/*.test.ts"],
          // Two keep two cores busy: a third made the whole of them ten per cent slower, and late.
          maxWorkers: 2,
          sequence: { groupOrder: 0 },
        },
      },
      {
        plugins: [quickModules()],
        resolve,
        test: {
          ...usual,
          ...beside,
          ...zone("Asia/Kathmandu"),
          name: "programs",
          include: [...programs, "tests/*.test.ts"],
        },
      },
      {
        plugins: [runes(), quickModules()],
        resolve,
        test: {
          ...usual,
          ...beside,
          ...zone("America/St_Johns"),
          name: "rooms",
          include: ["tests/*/**/*.test.ts"],
          exclude: own,
        },
      },
    ],
  },
});
