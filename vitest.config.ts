import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    include: ["tests/**/*.test.ts"],
    globalSetup: ["tests/support/setup.ts"],
    testTimeout: 20_000,
    // What a browser does is awaited, however busy the machine; one second is the library's own limit.
    expect: { poll: { timeout: 15_000 } },
  },
});
