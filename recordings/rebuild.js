/** `node recordings/rebuild.js [FOLDER]`: runs the bench vehicle for each row of samples.json, here or into FOLDER. */
import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { gzipSync } from "node:zlib";

const here = import.meta.dirname;
const target = resolve(process.argv[2] ?? here);
const command = join(here, "../src/cli/crankside.js");
const rough = mkdtempSync(join(tmpdir(), "crankside-samples-"));
try {
  for (const { file, vehicle, script, faults, seed } of JSON.parse(
    readFileSync(join(here, "samples.json"), "utf8"),
  )) {
    const out = join(rough, `${file}.ndjson`);
    const args = ["bench", "--vehicle", vehicle, "--script", script, "--seed", String(seed), "--out", out];
    const run = spawnSync(
      process.execPath,
      [command, ...args, ...faults.flatMap((fault) => ["--fault", fault])],
      {
        stdio: ["ignore", "ignore", "inherit"],
        // Times are written with their zone: the same bytes wherever the samples are made.
        env: { ...process.env, TZ: "UTC" },
      },
    );
    if (run.status !== 0) throw new Error(`${file} could not be made`);
    writeFileSync(join(target, `${file}.ndjson.gz`), gzipSync(readFileSync(out), { level: 9 }));
  }
} finally {
  rmSync(rough, { recursive: true });
}
