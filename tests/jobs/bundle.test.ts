/** Bundles: opened again elsewhere, read by a general tool, and refused where they are not what they say. */
import { spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import { existsSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { crc32, deflateRawSync } from "node:zlib";
import { afterEach, beforeEach, expect, test } from "vitest";
import { realClock } from "../../adapters/link/index.ts";
import { isCranksideError } from "../../shared/errors.ts";
import { writeBundle } from "../../src/recorder/jobs/bundle.ts";
import { noteAsHtml } from "../../src/recorder/jobs/note.ts";
import { openBundle } from "../../src/recorder/jobs/openBundle.ts";
import { JobStore } from "../../src/recorder/jobs/store.ts";
import { tieOf } from "../../src/recorder/jobs/tie.ts";
import { jobText, newJob } from "../../src/sheet/job.ts";
import { putting } from "../../src/sheet/put.ts";
import { fullJob, keptIn } from "../archive/support.ts";
import { clip, created } from "../sheet/support.ts";
import { tempFolder } from "../support/program.ts";
import { findProgram } from "../support/tools.ts";

let folder: ReturnType<typeof tempFolder>;
let elsewhere: ReturnType<typeof tempFolder>;
let store: JobStore;
let other: JobStore;
const options = { system: "metric", made: created, writer: "test" } as const;

beforeEach(() => {
  folder = tempFolder();
  elsewhere = tempFolder();
  store = new JobStore({ own: folder.path, bundled: null }, realClock);
  other = new JobStore({ own: elsewhere.path, bundled: null }, realClock);
});
afterEach(() => {
  folder.remove();
  elsewhere.remove();
});

async function codeOf(work: Promise<unknown>): Promise<string> {
  try {
    await work;
  } catch (error) {
    if (isCranksideError(error)) return error.code;
    throw error;
  }
  return "no error";
}

async function madeJob(): Promise<string> {
  const path = join(folder.path, "first.ndjson");
  const header = {
    ...{ format: "crankside-recording", version: 1, started: created, from: "serial:/dev/ttyUSB0" },
    ...{
      adapter: null,
      protocol: null,
      vehicle: { vin: "1M8GDM9AXKP042788" },
      invented: false,
      writer: "test",
    },
  };
  const lines = [header, ...[0, 100, 200].map((t) => ({ t, k: "s", ch: "engine-speed", v: 800, u: "rpm" }))];
  writeFileSync(path, lines.map((line) => `${JSON.stringify(line)}\n`).join(""));
  const { id } = await store.create("van");
  const tie = await tieOf(path);
  const job = await store.read(id);
  await store.change(id, [
    putting(job, "clips", "a", { ...clip, tie, to: 200, lanes: [["engine-speed"]] }),
    { path: ["vehicle", "vin"], after: "1M8GDM9AXKP042788" },
  ]);
  return id;
}

test("a bundle opens on another machine as the same note; a second opening is a job of its own", async () => {
  const id = await madeJob();
  const path = join(folder.path, "van.zip");
  await writeBundle(store, id, { ...options, path });
  expect(await codeOf(writeBundle(store, id, { ...options, path }))).toBe("file-exists");
  const opened = await openBundle(other, path);
  expect(opened.job.id).toBe(id);
  expect(await noteAsHtml(other, id, options)).toBe(await noteAsHtml(store, id, options));
  const again = await openBundle(other, path);
  expect(again.job.id).toBe(`${id}-2`);
  expect(readdirSync(other.root).sort()).toEqual([id, `${id}-2`]);
});

const unzip = findProgram("unzip");

test.skipIf(unzip === null)(
  "a general unzip reads it, and every file fits its sum in the manifest",
  async () => {
    const path = join(folder.path, "van.zip");
    await writeBundle(store, await madeJob(), { ...options, path });
    const { status, stderr } = spawnSync("unzip", ["-q", path, "-d", elsewhere.path], { encoding: "utf8" });
    expect([status, stderr]).toEqual([0, ""]);
    const manifest = JSON.parse(readFileSync(join(elsewhere.path, "manifest.json"), "utf8")) as {
      files: { name: string; bytes: number; sha256: string }[];
    };
    expect(manifest.files.map((f) => f.name)).toEqual([
      ...["job.json", "note.html", "clips/clip-1.csv", "recordings/first.ndjson"],
    ]);
    for (const { name, bytes, sha256 } of manifest.files) {
      const content = readFileSync(join(elsewhere.path, name));
      expect([content.length, createHash("sha256").update(content).digest("hex")]).toEqual([bytes, sha256]);
    }
  },
);

test("a masked bundle holds neither the VIN nor the recordings that carry it", async () => {
  const path = join(folder.path, "masked.zip");
  const masking = { vin: true, names: false, plate: false };
  const { about } = await writeBundle(store, await madeJob(), { ...options, masking, path });
  expect(about.join()).toContain("left out");
  const { job } = await openBundle(other, path);
  expect(existsSync(join(other.folder(job.id), "recordings", "first.ndjson"))).toBe(false);
  for (const file of ["job.json", "note.html"])
    expect(readFileSync(join(other.folder(job.id), file), "utf8")).not.toContain("042788");
});

test.each(["missing", "altered"])(
  "a photo that is %s stays out, and the bundle says so and opens",
  async (how) => {
    const kept = keptIn(folder.path);
    const photo = Object.values((await kept.read(fullJob)).photos)[0];
    const at = kept.photoPath(fullJob, photo?.file ?? "");
    if (how === "missing") rmSync(at);
    else writeFileSync(at, "cut");
    const path = join(folder.path, "without.zip");
    const { about } = await writeBundle(kept, fullJob, { ...options, path });
    expect(about).toEqual([
      `The photo ${photo?.file} (${photo?.caption}) is not in here: it is missing or was altered.`,
    ]);
    const { job } = await openBundle(other, path);
    expect(Object.values(job.photos)[0]).toMatchObject({ file: photo?.file, caption: photo?.caption });
    expect(existsSync(other.photoPath(job.id, photo?.file ?? ""))).toBe(false);
    expect(readFileSync(join(other.folder(job.id), "note.html"), "utf8")).toContain("The photo is not there");
  },
);

// From here on, archives that no writer of ours makes: PKWARE APPNOTE 6.3, sections 4.3.7, 4.3.12 and 4.3.16.

interface Member {
  readonly name: string;
  readonly content: Buffer;
  /** What the archive claims of the size. */
  readonly claims?: number;
  readonly mode?: number;
  readonly flags?: number;
}

function zipOf(members: readonly Member[]): Buffer {
  const local: Buffer[] = [];
  const central: Buffer[] = [];
  let at = 0;
  for (const { name, content, claims = content.length, mode = 0o100644, flags = 0x800 } of members) {
    const packed = deflateRawSync(content, { level: 9 });
    const title = Buffer.from(name);
    const fields = Buffer.alloc(26);
    fields.writeUInt16LE(20, 0);
    fields.writeUInt16LE(flags, 2);
    fields.writeUInt16LE(8, 4);
    fields.writeUInt32LE(crc32(content), 10);
    fields.writeUInt32LE(packed.length, 14);
    fields.writeUInt32LE(claims, 18);
    fields.writeUInt16LE(title.length, 22);
    const entry = Buffer.concat([Buffer.from("PK\x03\x04", "latin1"), fields, title, packed]);
    const rest = Buffer.alloc(14);
    rest.writeUInt32LE((mode << 16) >>> 0, 6);
    rest.writeUInt32LE(at, 10);
    const made = Buffer.from([20, 3]);
    central.push(Buffer.concat([Buffer.from("PK\x01\x02", "latin1"), made, fields, rest, title]));
    local.push(entry);
    at += entry.length;
  }
  const list = Buffer.concat(central);
  const end = Buffer.alloc(18);
  end.writeUInt16LE(members.length, 4);
  end.writeUInt16LE(members.length, 6);
  end.writeUInt32LE(list.length, 8);
  end.writeUInt32LE(at, 12);
  return Buffer.concat([...local, list, Buffer.from("PK\x05\x06", "latin1"), end]);
}

const jobFile = Buffer.from(jobText(newJob("2024-03-02-van", created)));

function manifestOf(members: readonly Member[], more: object = {}): Member {
  const files = members.map(({ name, content }) => ({
    ...{ name, bytes: content.length },
    sha256: createHash("sha256").update(content).digest("hex"),
  }));
  const manifest = {
    ...{
      format: "crankside-bundle",
      version: 1,
      job: "2024-03-02-van",
      made: created,
      writer: "test",
      about: [],
      files,
    },
    ...more,
  };
  return { name: "manifest.json", content: Buffer.from(JSON.stringify(manifest)) };
}

const job: Member = { name: "job.json", content: jobFile };
const small = Buffer.from("x\n");

function withManifest(...members: readonly Member[]): Buffer {
  return zipOf([manifestOf(members), ...members]);
}

const huge = Buffer.alloc(64 * 1024 * 1024);

test("an archive as it should be is opened", async () => {
  const path = join(folder.path, "good.zip");
  writeFileSync(path, withManifest(job, { name: "recordings/a.ndjson", content: small }));
  expect(await codeOf(openBundle(other, path))).toBe("no error");
});

test.each([
  ["a path that leads out", "bundle-unsafe", withManifest(job, { name: "../evil.ndjson", content: small })],
  [
    "a path that leads out from a folder",
    "bundle-unsafe",
    withManifest(job, { name: "recordings/../../evil.ndjson", content: small }),
  ],
  ["an absolute path", "bundle-unsafe", withManifest(job, { name: "/tmp/evil.ndjson", content: small })],
  [
    "a path with backslashes",
    "bundle-unsafe",
    withManifest(job, { name: "recordings\\..\\evil.ndjson", content: small }),
  ],
  ["a drive", "bundle-unsafe", withManifest(job, { name: "C:/evil.ndjson", content: small })],
  [
    "a file of another kind",
    "bundle-unsafe",
    withManifest(job, { name: "recordings/evil.sh", content: small }),
  ],
  ["a hidden file", "bundle-unsafe", withManifest(job, { name: "recordings/.evil.ndjson", content: small })],
  [
    "a link",
    "bundle-unsafe",
    withManifest(job, { name: "recordings/a.ndjson", content: Buffer.from("/etc/passwd"), mode: 0o120777 }),
  ],
  ["a name twice", "bundle-unsafe", zipOf([manifestOf([job]), job, job])],
  [
    "names that differ in case only",
    "bundle-unsafe",
    withManifest(
      job,
      { name: "recordings/a.ndjson", content: small },
      { name: "recordings/A.ndjson", content: small },
    ),
  ],
  ["a bomb", "bundle-unsafe", withManifest(job, { name: "recordings/a.ndjson", content: huge })],
  [
    "ten gigabytes as claimed",
    "bundle-unsafe",
    withManifest(
      job,
      ...Array.from({ length: 3 }, (_, n) => ({
        name: `recordings/${n}.ndjson`,
        content: small,
        claims: 0xfffffffe,
      })),
    ),
  ],
  [
    "an encrypted file",
    "bundle-unsafe",
    withManifest(job, { name: "recordings/a.ndjson", content: small, flags: 0x801 }),
  ],
  [
    "more than it claims",
    "bundle-altered",
    zipOf([
      manifestOf([job, { name: "recordings/a.ndjson", content: Buffer.from("xx") }]),
      job,
      { name: "recordings/a.ndjson", content: Buffer.alloc(2000, 120), claims: 2 },
    ]),
  ],
  [
    "a file that is not in its manifest",
    "bundle-invalid",
    zipOf([manifestOf([job]), job, { name: "recordings/a.ndjson", content: small }]),
  ],
  [
    "a manifest with a file that is not there",
    "bundle-invalid",
    zipOf([manifestOf([job, { name: "recordings/a.ndjson", content: small }]), job]),
  ],
  ["no manifest", "bundle-invalid", zipOf([job])],
  ["no job", "bundle-invalid", withManifest({ name: "recordings/a.ndjson", content: small })],
  ["a manifest that is none", "bundle-invalid", zipOf([{ name: "manifest.json", content: small }, job])],
  ["a newer format", "newer-format", zipOf([manifestOf([job], { version: 2 }), job])],
  [
    "a changed file",
    "bundle-altered",
    zipOf([
      manifestOf([job, { name: "recordings/a.ndjson", content: small }]),
      job,
      { name: "recordings/a.ndjson", content: Buffer.from("y\n") },
    ]),
  ],
  ["a job that is none", "job-invalid", withManifest({ name: "job.json", content: small })],
  [
    "a photo that is a drawing",
    "photo-invalid",
    withManifest(job, { name: "photos/0123456789abcdef.jpg", content: Buffer.from("<svg/>") }),
  ],
  ["no archive at all", "bundle-invalid", Buffer.from("not a zip")],
  ["an empty file", "bundle-invalid", Buffer.alloc(0)],
  ["a cut archive", "bundle-invalid", withManifest(job).subarray(0, 300)],
] as const)("%s is refused as %s, and nothing is left behind", async (_, code, bytes) => {
  const path = join(folder.path, "evil.zip");
  writeFileSync(path, bytes);
  expect(await codeOf(openBundle(other, path))).toBe(code);
  const left = existsSync(other.root) ? readdirSync(other.root) : [];
  expect(left).toEqual([]);
  expect(readdirSync(elsewhere.path).filter((name) => name !== "jobs")).toEqual([]);
});

test("a bundle that is not there", async () => {
  expect(await codeOf(openBundle(other, join(folder.path, "none.zip")))).toBe("file-missing");
});

test("a good bundle with any byte changed opens as the same job or is refused with a code", async () => {
  const path = join(folder.path, "van.zip");
  await writeBundle(store, await madeJob(), { ...options, path });
  const good = readFileSync(path);
  const bad = join(folder.path, "bad.zip");
  const codes = new Set<string>();
  for (let at = 0; at < good.length; at += Math.ceil(good.length / 150)) {
    const bytes = Buffer.from(good);
    bytes[at] = (bytes[at] ?? 0) ^ 0x55;
    writeFileSync(bad, bytes);
    codes.add(await codeOf(openBundle(other, bad)));
  }
  expect([...codes].filter((code) => !/^(no error|bundle-|job-|photo-|newer-)/.test(code))).toEqual([]);
  expect(codes.has("bundle-altered")).toBe(true);
}, 120_000);

test("a photo in a bundle loses what is not picture, and the job names it by its new sum", async () => {
  const marker = (text: string): number[] => [0xff, 0xfe, 0, text.length + 2, ...Buffer.from(text, "latin1")];
  const bare = [
    ...[0xff, 0xdb, 0, 67, 0, ...new Array<number>(64).fill(1)],
    ...[0xff, 0xc0, 0, 11, 8, 0, 1, 0, 1, 1, 1, 0x11, 0],
    ...[0, 0x10].flatMap((kind) => [0xff, 0xc4, 0, 20, kind, 1, ...new Array<number>(15).fill(0), 0]),
    ...[0xff, 0xda, 0, 8, 1, 1, 0, 0, 63, 0, 0x3f, 0xff, 0x00, 0x12],
  ];
  const content = Buffer.from([
    0xff,
    0xd8,
    ...marker("SECRETPLACE"),
    ...bare,
    0xff,
    0xd9,
    ...Buffer.from("BEHIND"),
  ]);
  const sha256 = createHash("sha256").update(content).digest("hex");
  const file = `${sha256.slice(0, 16)}.jpg`;
  const { id } = await store.create("van");
  await store.change(id, [
    {
      path: ["photos", "a"],
      after: {
        order: 1,
        section: "checks",
        file,
        type: "image/jpeg",
        width: 1,
        height: 1,
        bytes: content.length,
        sha256,
        caption: "",
      },
    },
  ]);
  const text = Buffer.from(jobText(await store.read(id)));
  const path = join(folder.path, "photo.zip");
  writeFileSync(path, withManifest({ name: "job.json", content: text }, { name: `photos/${file}`, content }));
  const opened = await openBundle(other, path);
  const [kept] = Object.values(opened.job.photos);
  expect(kept?.sha256).not.toBe(sha256);
  const folderOf = join(other.folder(opened.job.id), "photos");
  expect(readdirSync(folderOf)).toEqual([kept?.file]);
  const bytes = readFileSync(join(folderOf, kept?.file ?? ""));
  expect(bytes.includes("SECRETPLACE") || bytes.includes("BEHIND")).toBe(false);
  expect(createHash("sha256").update(bytes).digest("hex")).toBe(kept?.sha256);
});
