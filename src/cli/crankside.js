#!/usr/bin/env node
/** The command. In a checkout it first builds what is stale; the packed program brings its build along. */
import { existsSync } from "node:fs";
import { join } from "node:path";

if (existsSync(join(import.meta.dirname, "build.js"))) {
  const { buildIfStale } = await import("./build.js");
  await buildIfStale();
}
const { main } = await import("../../dist/node/crankside.js");
process.exitCode = await main(process.argv.slice(2));
