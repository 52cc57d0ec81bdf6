/** The package that `npm pack` makes, unpacked where there is no source: it runs without a build step. */
import { spawnSync } from "node:child_process";
import { existsSync, mkdirSync, readdirSync, readFileSync, symlinkSync } from "node:fs";
import { join } from "node:path";
import { afterAll, expect, test } from "vitest";
import { tempFolder } from "../support/program.ts";

const root = join(import.meta.dirname, "../..");
const folder = tempFolder();

afterAll(() => folder.remove());

function run(command: string, args: readonly string[], cwd: string): string {
  const { status, stdout, stderr } = spawnSync(command, args, { cwd, encoding: "utf8" });
  expect(status, stderr).toBe(0);
  return stdout;
}

test("the packed program runs, with its page and its samples, and without sources", () => {
  const packed = run("npm", ["pack", "--json", "--pack-destination", folder.path], root);
  const [{ filename }] = JSON.parse(packed) as [{ filename: string }];
  run("tar", ["xzf", filename], folder.path);
  const home = join(folder.path, "package");
  // What npm would install beside it: only what package.json names as dependencies may be reached.
  mkdirSync(join(folder.path, "node_modules"));
  for (const name of ["serialport", "@serialport", "ws", "node-gyp-build", "node-addon-api", "debug", "ms"]) {
    const there = join(root, "node_modules", name);
    if (existsSync(there)) symlinkSync(there, join(folder.path, "node_modules", name));
  }
  expect(existsSync(join(home, "shared"))).toBe(false);
  expect(existsSync(join(home, "dist/page/index.html"))).toBe(true);
  // What the page is built of in a development mode, larger and slower, names places in the sources so.
  const scripts = readdirSync(join(home, "dist/page/assets")).filter((name) => name.endsWith(".js"));
  expect(
    scripts.filter((name) =>
      readFileSync(join(home, "dist/page/assets", name), "utf8").includes("__svelte_meta"),
    ),
  ).toEqual([]);
  const command = join(home, "src/cli/crankside.js");
  expect(run(process.execPath, [command, "--version"], folder.path)).toMatch(/^crankside \d/);
  run(
    process.execPath,
    [command, "bench", "--vehicle", "old-hatch", "--script", "key-on", "--out", "a.ndjson"],
    folder.path,
  );
  expect(run(process.execPath, [command, "verify", "a.ndjson"], folder.path)).toContain("whole");
  expect(
    run(
      process.execPath,
      [command, "read", join(home, "recordings/hatch-cold-morning.ndjson.gz")],
      folder.path,
    ),
  ).toContain("Cranks");
}, 180_000);
