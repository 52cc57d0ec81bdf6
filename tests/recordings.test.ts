import { spawnSync } from "node:child_process";
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { afterAll, expect, test } from "vitest";
import { build } from "./support/build.ts";
import { tempFolder } from "./support/program.ts";

const shipped = join(import.meta.dirname, "../recordings");
const samples = JSON.parse(readFileSync(join(shipped, "samples.json"), "utf8")) as {
  file: string;
  faults: string[];
}[];
const fresh = tempFolder();

afterAll(() => fresh.remove());

test("the samples that ship are what their commands make, byte for byte", () => {
  build();
  const run = spawnSync(process.execPath, [join(shipped, "rebuild.js"), fresh.path], { encoding: "utf8" });
  expect(run.status, run.stderr).toBe(0);
  for (const { file } of samples) {
    const there = gunzipSync(readFileSync(join(shipped, `${file}.ndjson.gz`)));
    const made = gunzipSync(readFileSync(join(fresh.path, `${file}.ndjson.gz`)));
    expect(made.equals(there), `${file}: rebuild with node recordings/rebuild.js`).toBe(true);
  }
}, 240_000);

test("every sample says that it is invented, and none holds the name of what is wrong with it", () => {
  for (const { file, faults } of samples) {
    const text = gunzipSync(readFileSync(join(shipped, `${file}.ndjson.gz`))).toString("utf8");
    expect(text.split("\n")[0]).toContain('"invented":true');
    for (const fault of faults) expect(text).not.toContain(fault.split("=")[0]);
  }
});

test("every sample has its row and its story", () => {
  const files = readdirSync(shipped).filter((name) => name.includes(".ndjson"));
  expect(files.sort()).toEqual(samples.map(({ file }) => `${file}.ndjson.gz`).sort());
  const readme = readFileSync(join(shipped, "README.md"), "utf8");
  for (const { file } of samples) expect(readme).toContain(`\`${file}\``);
});
