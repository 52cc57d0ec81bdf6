/** The package that `npm pack` makes, unpacked where there is no source: it runs without a build step. */
import { spawnSync } from "node:child_process";
import { existsSync, mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from "node:fs";
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
  isLibrary(home);
}, 180_000);

/** The example of the library's own words runs from the package, and a program in TypeScript is typed by it. */
function isLibrary(home: string): void {
  symlinkSync(home, join(folder.path, "node_modules/crankside"));
  const words = readFileSync(join(root, "src/core/README.md"), "utf8");
  const [, example = ""] = /```js\n([\s\S]*?)```/.exec(words) ?? [];
  expect(example.trimEnd().split("\n").length).toBeLessThanOrEqual(16);
  writeFileSync(join(folder.path, "example.mjs"), example);
  const sample = join(home, "recordings/truck-cranks-slowly.ndjson.gz");
  const said = run(process.execPath, ["example.mjs", sample], folder.path).split("\n");
  const command = run(process.execPath, [join(home, "src/cli/crankside.js"), "read", sample], folder.path);
  expect(command.replace(/\s+/g, " ")).toContain(said[0] ?? "nothing");
  expect(said.filter((line) => line.startsWith("- "))).not.toEqual([]);
  expect(said.filter((line) => /^\d+ % /.test(line))).not.toEqual([]);
  const typed = `import { Recording, type Sign } from "crankside/core";
    const recording: Recording = new Recording();
    export const signs: readonly Sign[] = recording.findings().signs;
    // @ts-expect-error: bytes, and no text.
    recording.push("text");`;
  writeFileSync(join(folder.path, "typed.mts"), typed);
  const how = ["--noEmit", "--strict", "--module", "nodenext", "--target", "es2022"];
  run(process.execPath, [join(root, "node_modules/typescript/bin/tsc"), ...how, "typed.mts"], folder.path);
}
