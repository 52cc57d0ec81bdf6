import { createHash } from "node:crypto";
import { existsSync, mkdirSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/index.ts";
import { openBundle } from "../../src/recorder/jobs/openBundle.ts";
import { JobStore } from "../../src/recorder/jobs/store.ts";
import { tempFolder } from "../support/program.ts";
import { goodJob, goodRecording } from "./good.ts";
import { rawZip, type ZipEntry } from "./zip.ts";

let folder: ReturnType<typeof tempFolder>;
let store: JobStore;

beforeEach(() => {
  folder = tempFolder();
  mkdirSync(join(folder.path, "own"));
  store = new JobStore({ own: join(folder.path, "own"), bundled: null }, new VirtualClock());
});

afterEach(() => folder.remove());

const job: ZipEntry = { name: "job.json", content: Buffer.from(JSON.stringify(goodJob)) };
const recording: ZipEntry = { name: "recordings/one.ndjson", content: Buffer.from(goodRecording) };

/** A manifest that fits: only the archive itself is evil. */
function withManifest(entries: readonly ZipEntry[], sizes: Readonly<Record<string, number>> = {}): Buffer {
  const files = entries.map(({ name, content }) => ({
    name,
    bytes: sizes[name] ?? content.length,
    sha256: createHash("sha256").update(content).digest("hex"),
  }));
  const manifest = {
    ...{ format: "crankside-bundle", version: 1, job: goodJob.id, made: "2024-03-02T10:00:00Z" },
    ...{ writer: "by hand", about: [], files },
  };
  return rawZip([{ name: "manifest.json", content: Buffer.from(JSON.stringify(manifest)) }, ...entries]);
}

async function opened(bytes: Uint8Array): Promise<string> {
  const path = join(folder.path, "bundle.zip");
  writeFileSync(path, bytes);
  const before = process.memoryUsage().rss;
  const outcome = await openBundle(store, path).then(
    () => "opened",
    (error: unknown) => (error as { code: string }).code,
  );
  expect(process.memoryUsage().rss - before).toBeLessThan(256e6);
  expect(readdirSync(folder.path).sort()).toEqual(["bundle.zip", "own"]);
  if (outcome !== "opened" && existsSync(store.root)) expect(readdirSync(store.root)).toEqual([]);
  return outcome;
}

test("a good one written by hand opens, so what follows fails for its own reason", async () => {
  expect(await opened(withManifest([job, recording]))).toBe("opened");
});

test.each([
  "../evil.ndjson",
  "recordings/../../evil.ndjson",
  "/etc/evil.ndjson",
  "C:\\evil.ndjson",
  "recordings\\evil.ndjson",
  "recordings/a/b.ndjson",
  "photos/evil.exe",
  "recordings/.hidden.ndjson",
  "recordings/a\0b.ndjson",
  ".bashrc",
])("a file named %j is not unpacked", async (name) => {
  expect(await opened(withManifest([job, { ...recording, name }]))).toBe("bundle-unsafe");
});

test("the same name twice, also in capitals", async () => {
  expect(await opened(withManifest([job, recording, recording]))).toBe("bundle-unsafe");
  expect(await opened(withManifest([job, recording, { ...recording, name: "recordings/ONE.ndjson" }]))).toBe(
    "bundle-unsafe",
  );
});

test("a link", async () => {
  const link = { ...recording, content: Buffer.from("/etc/passwd"), mode: 0o120777 };
  expect(await opened(withManifest([job, link]))).toBe("bundle-unsafe");
});

test("a bomb: 200 MB of zeros in 200 kB", async () => {
  const bomb = { ...recording, content: Buffer.alloc(200 * 1024 * 1024), deflate: true };
  expect(await opened(withManifest([job, bomb]))).toBe("bundle-unsafe");
});

test("a bomb that claims to be small", async () => {
  const content = Buffer.alloc(50 * 1024 * 1024);
  const bomb = { ...recording, content, deflate: true, claims: 1000 };
  expect(await opened(withManifest([job, bomb], { [recording.name]: 1000 }))).toMatch(/^bundle-/);
});

test("a claim of 4 GB for a few bytes, three times", async () => {
  const claims = 4_294_967_294;
  const many = ["a", "b", "c"].map((n) => ({
    ...recording,
    name: `recordings/${n}.ndjson`,
    deflate: true,
    claims,
  }));
  expect(await opened(withManifest([job, ...many]))).toBe("bundle-unsafe");
});

test("a claim of 10 GB for a few bytes, in the archive and in its manifest", async () => {
  const claims = 10 * 1024 ** 3;
  const huge = { ...recording, deflate: true, claims };
  expect(await opened(withManifest([job, huge], { [recording.name]: claims }))).toBe("bundle-unsafe");
  expect(await opened(withManifest([job, huge]))).toMatch(/^bundle-/);
});

test("a file that differs from its sum", async () => {
  const good = withManifest([job, recording]);
  const at = good.indexOf("fuel added");
  good.write("FUEL", at);
  expect(await opened(good)).toMatch(/^bundle-(altered|invalid)$/);
});
