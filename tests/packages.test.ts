/** What the project stands on: few packages, each with a reason, known licences, one install script. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { beforeAll, expect, test } from "vitest";
import { build } from "./support/build.ts";

const root = join(import.meta.dirname, "..");

interface Package {
  readonly version?: string;
  readonly license?: string;
  readonly dev?: boolean;
  readonly integrity?: string;
  readonly hasInstallScript?: boolean;
}

function json(file: string): unknown {
  return JSON.parse(readFileSync(join(root, file), "utf8"));
}

const { dependencies, devDependencies } = json("package.json") as Record<string, Record<string, string>>;
const { packages } = json("package-lock.json") as { packages: Record<string, Package> };
const installed = Object.entries(packages).filter(([path]) => path !== "");

test("each package that is asked for has its reason in DEVELOPERS.md, and no other is named there", () => {
  const text = readFileSync(join(root, "DEVELOPERS.md"), "utf8");
  const from = text.indexOf("## Dependencies");
  const section = text.slice(from, text.indexOf("\n## ", from + 5));
  const named = [...section.matchAll(/^\| (`[^|]+) \|/gm)].flatMap(([, cell = ""]) =>
    [...cell.matchAll(/`([^`]+)`/g)].map((match) => match[1]),
  );
  expect(named.toSorted()).toEqual(
    [...Object.keys(dependencies ?? {}), ...Object.keys(devDependencies ?? {})].sort(),
  );
});

test("three packages are installed beside the program", () => {
  expect(Object.keys(dependencies ?? {}).sort()).toEqual(["@serialport/parser-readline", "serialport", "ws"]);
});

test("only the serial port's package has an install script", () => {
  const scripted = installed
    .filter(([, { hasInstallScript }]) => hasInstallScript === true)
    .map(([path]) => path);
  // Optional, of the file watcher of a system that the tests do not run on.
  expect(scripted.filter((path) => !path.endsWith("/fsevents"))).toEqual([
    "node_modules/@serialport/bindings-cpp",
  ]);
});

test("the lock file has a sum for each package", () => {
  expect(installed.filter(([, { integrity }]) => integrity === undefined).map(([path]) => path)).toEqual([]);
});

test("what ships is under MIT or ISC; what serves the work is under a licence that lets everybody use it", () => {
  const free = [
    "MIT",
    "ISC",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "0BSD",
    "BlueOak-1.0.0",
    "MPL-2.0",
    // Of data: what browsers can do. With attribution, and it does not ship.
    "CC-BY-4.0",
  ];
  for (const [path, { license, dev }] of installed) {
    expect(dev === true ? free : ["MIT", "ISC"], `${path}: ${license}`).toContain(license);
  }
});

beforeAll(build, 180_000);

test("the build names what it took in, with its licence text", () => {
  const text = readFileSync(join(root, "dist/licences.txt"), "utf8");
  const heads = [...text.matchAll(/^(@?[a-z0-9/.-]+) (\d+\.\d+\.\d+\S*) \((.+)\)$/gm)];
  const names = heads.map((match) => match[1] ?? "");
  for (const name of ["commander", "hyparquet", "hyparquet-writer", "sirv", "svelte", "uplot", "uqr", "zod"])
    expect(names).toContain(name);
  expect(new Set(names).size).toBe(names.length);
  for (const [, name, , licence = ""] of heads) expect(["MIT", "ISC"], name).toContain(licence);
  expect(text.match(/Permission (?:is hereby granted|to use, copy)/g)?.length).toBeGreaterThanOrEqual(
    names.length - 2,
  );
});
