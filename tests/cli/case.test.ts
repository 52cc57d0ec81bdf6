/** `case` as an instructor types it: one file, which the page's reader opens; what cannot be meant is refused. */
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { readCase } from "../../src/sheet/practiceCase.ts";
import { build } from "../support/build.ts";
import { crankside, tempFolder } from "../support/program.ts";

const folder = tempFolder();
const sample = join(import.meta.dirname, "../../recordings/truck-shakes.ndjson.gz");
beforeAll(() => build(), 180_000);
afterAll(() => folder.remove());

const told = ["case", "--title", "Shakes", "--story", "Since the rain."];

test("of the bench vehicle, and of a recording", async () => {
  const bench = join(folder.path, "bench.json");
  const made = await crankside([
    ...told,
    "--vehicle",
    "garden-van",
    "--fault",
    "stale-fuel=0.7",
    "--out",
    bench,
  ]);
  expect(made.status, made.stderr).toBe(0);
  expect(made.stdout).toContain("who decodes it can read it");
  const written = readFileSync(bench, "utf8");
  expect(written).not.toMatch(/stale|fuel|van/);
  expect(readCase(written, bench).hidden).toEqual({
    causes: ["fuel-stale"],
    bench: { vehicle: "garden-van", faults: [{ name: "stale-fuel", severity: 0.7 }] },
  });
  const heard = join(folder.path, "heard.json");
  const of = await crankside([
    ...[...told, "--recording", sample, "--cause", "plug-one", "--knows", "12", "--out", heard],
  ]);
  expect(of.status, of.stderr).toBe(0);
  const read = readCase(readFileSync(heard, "utf8"), heard);
  expect(read).toMatchObject({ knows: 12, hidden: { causes: ["plug-one"] } });
  expect(Buffer.from(read.recording?.bytes ?? []).equals(readFileSync(sample))).toBe(true);
  const again = await crankside([
    ...told,
    "--vehicle",
    "garden-van",
    "--fault",
    "relay-open",
    "--out",
    bench,
  ]);
  expect(again.status).toBe(1);
  expect(readFileSync(bench, "utf8")).toBe(written);
}, 180_000);

test.each([
  [["--vehicle", "garden-van"], 2, "nothing is broken"],
  [["--vehicle", "garden-van", "--fault", "rust"], 1, "no such fault"],
  [["--recording", sample], 2, "nothing says what it was"],
  [["--recording", sample, "--cause", "plug-on"], 2, "near to it: plug-one"],
  [[], 2, "--vehicle or --recording"],
] as const)(
  "refused: %j",
  async (args, status, words) => {
    const out = join(folder.path, "none.json");
    const refused = await crankside([...told, ...args, "--out", out]);
    expect(refused.status).toBe(status);
    expect(refused.stderr).toContain(words);
    expect(existsSync(out)).toBe(false);
  },
  30_000,
);
