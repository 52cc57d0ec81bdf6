/** Jobs on a disk that forgets, when the power goes, what it was not made to keep: bytes of files, and names in folders. */
import fs, { fstatSync, mkdirSync, readdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
import { open } from "node:fs/promises";
import { join, relative, sep } from "node:path";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { realClock } from "../../adapters/link/index.ts";
import { writeBundle } from "../../src/recorder/jobs/bundle.ts";
import { openBundle } from "../../src/recorder/jobs/openBundle.ts";
import { JobStore } from "../../src/recorder/jobs/store.ts";
import { tieOf } from "../../src/recorder/jobs/tie.ts";
import { takeRecording } from "../../src/recorder/take.ts";
import { putting } from "../../src/sheet/put.ts";
import { clip, created } from "../sheet/support.ts";
import { tempFolder } from "../support/program.ts";

/** The real files; it watches each sync, and tells what would be there after the power went. */
class ForgetfulTree {
  readonly root: string;
  /** What is on the disk itself, by inode. */
  readonly #bytes = new Map<number, Buffer>();
  readonly #names = new Map<number, ReadonlyMap<string, number>>();

  /** What is there by now had time enough. */
  constructor(root: string) {
    this.root = root;
    for (const path of this.#paths()) this.#keep(path);
  }

  synced(fd: number): void {
    const { ino } = fstatSync(fd);
    const path = this.#paths().find((one) => statSync(one).ino === ino);
    if (path !== undefined) this.#keep(path);
  }

  /** Null: the power took it. */
  left(path: string): string | null {
    let ino: number | undefined = statSync(this.root).ino;
    for (const part of relative(this.root, path).split(sep)) {
      ino = ino === undefined ? undefined : this.#names.get(ino)?.get(part);
    }
    return ino === undefined ? null : (this.#bytes.get(ino)?.toString("latin1") ?? "");
  }

  #paths(): string[] {
    return [
      this.root,
      ...readdirSync(this.root, { recursive: true, encoding: "utf8" }).map((n) => join(this.root, n)),
    ];
  }

  #keep(path: string): void {
    const at = statSync(path);
    if (!at.isDirectory()) this.#bytes.set(at.ino, readFileSync(path));
    else
      this.#names.set(
        at.ino,
        new Map(readdirSync(path).map((name) => [name, statSync(join(path, name)).ino])),
      );
  }
}

let folder: ReturnType<typeof tempFolder>;
let tree: ForgetfulTree;
let own: string;
let bundled: string;
let store: JobStore;

interface Handle {
  readonly fd: number;
  sync(): Promise<void>;
}

beforeEach(async () => {
  folder = tempFolder();
  own = join(folder.path, "own");
  bundled = join(folder.path, "samples");
  for (const path of [own, bundled]) mkdirSync(path);
  store = new JobStore({ own, bundled }, realClock);
  const probe = await open(folder.path);
  const kind = Object.getPrototypeOf(probe) as Handle;
  await probe.close();
  vi.spyOn(kind, "sync").mockImplementation(function (this: Handle) {
    tree.synced(this.fd);
    return Promise.resolve();
  });
  vi.spyOn(fs, "fsync").mockImplementation((fd, done) => {
    tree.synced(fd);
    done(null);
  });
  tree = new ForgetfulTree(folder.path);
});
afterEach(() => {
  vi.restoreAllMocks();
  folder.remove();
});

const header = {
  ...{ format: "crankside-recording", version: 1, started: created, from: "serial:/dev/ttyUSB0" },
  ...{ adapter: null, protocol: null, vehicle: {}, invented: false, writer: "test" },
};
const sample = { t: 100, k: "s", ch: "engine-speed", v: 800, u: "rpm" };
const text = [header, sample].map((line) => `${JSON.stringify(line)}\n`).join("");

/** A PNG of one pixel. */
const onePixel = Buffer.from(
  "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==",
  "base64",
);

function recording(where: string, name: string): string {
  const path = join(where, name);
  writeFileSync(path, text);
  tree = new ForgetfulTree(folder.path);
  return path;
}

test("a new job, its changes and its photo outlast the power", async () => {
  const { id } = await store.create("van");
  expect(tree.left(join(store.folder(id), "job.json"))).toContain(`"id": "${id}"`);
  await store.change(id, [{ path: ["vehicle", "vin"], after: "1M8GDM9AXKP042788" }]);
  expect(tree.left(join(store.folder(id), "job.json"))).toContain("1M8GDM9AXKP042788");
  const { file } = await store.addPhoto(id, onePixel);
  expect(tree.left(store.photoPath(id, file))).toBe(readFileSync(store.photoPath(id, file), "latin1"));
});

test.each(["own", "samples"])("a recording of %s that goes into a job outlasts it there", async (from) => {
  recording(from === "own" ? own : bundled, "cart.ndjson");
  const { id } = await store.create("van");
  await store.takeIn(id, "cart.ndjson");
  expect(tree.left(join(store.folder(id), "recordings", "cart.ndjson"))).toBe(text);
});

test("a bundle that is told as written is whole on the disk itself, and so is all that comes out of one", async () => {
  const path = recording(own, "cart.ndjson");
  const { id } = await store.create("van");
  const job = await store.read(id);
  await store.change(id, [
    putting(job, "clips", "a", { ...clip, tie: await tieOf(path), to: 100, lanes: [["engine-speed"]] }),
  ]);
  const zip = join(folder.path, "van.zip");
  const options = { system: "metric", made: created, writer: "test" } as const;
  await writeBundle(store, id, { ...options, path: zip });
  expect(tree.left(zip)).toBe(readFileSync(zip, "latin1"));
  const other = new JobStore({ own: bundled, bundled: null }, realClock);
  const opened = await openBundle(other, zip);
  const inside = other.folder(opened.job.id);
  for (const name of ["job.json", "note.html", "recordings/cart.ndjson"])
    expect(tree.left(join(inside, name)), name).toBe(readFileSync(join(inside, name), "latin1"));
});

test("a recording that was taken from elsewhere outlasts it", async () => {
  async function* source(): AsyncGenerator<Buffer> {
    yield Promise.resolve(Buffer.from(text));
  }
  const { file } = await takeRecording(own, "cart.ndjson", source());
  expect(tree.left(join(own, file))).toBe(text);
});
