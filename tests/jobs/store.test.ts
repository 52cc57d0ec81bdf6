/** Jobs on a real disk. */
import {
  existsSync,
  mkdirSync,
  readFileSync,
  readdirSync,
  symlinkSync,
  truncateSync,
  writeFileSync,
} from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { realClock } from "../../adapters/link/index.ts";
import { isCranksideError } from "../../shared/errors.ts";
import { addToRecording } from "../../src/recorder/add.ts";
import { noteOf } from "../../src/recorder/jobs/note.ts";
import { readSources } from "../../src/recorder/jobs/sources.ts";
import { JobStore } from "../../src/recorder/jobs/store.ts";
import { tieOf, tieStates } from "../../src/recorder/jobs/tie.ts";
import { writeWhole } from "../../src/recorder/jobs/write.ts";
import { putting } from "../../src/sheet/put.ts";
import { tempFolder } from "../support/program.ts";
import { clip, created } from "../sheet/support.ts";

let folder: ReturnType<typeof tempFolder>;
let store: JobStore;

beforeEach(() => {
  folder = tempFolder();
  store = new JobStore({ own: folder.path, bundled: null }, realClock);
});
afterEach(() => folder.remove());

async function codeOf(work: Promise<unknown>): Promise<string> {
  try {
    await work;
  } catch (error) {
    if (isCranksideError(error)) return error.code;
    throw error;
  }
  return "no error";
}

const header = {
  ...{ format: "crankside-recording", version: 1, started: created, from: "serial:/dev/ttyUSB0" },
  ...{ adapter: null, protocol: null, vehicle: {}, invented: false, writer: "test" },
};

function recording(name: string, where = folder.path): string {
  const path = join(where, name);
  const lines = [
    header,
    ...[0, 100, 200, 300].map((t) => ({ t, k: "s", ch: "engine-speed", v: 800 + t, u: "rpm" })),
  ];
  writeFileSync(path, lines.map((line) => `${JSON.stringify(line)}\n`).join(""));
  return path;
}

test("jobs of one name on one day get folders of their own; list, search, archive, last opened", async () => {
  const first = await store.create("Märkt garden van!");
  const second = await store.create("Märkt garden van!");
  expect(second.id).toBe(`${first.id}-2`);
  expect(first.id).toMatch(/^\d{4}-\d\d-\d\d-markt-garden-van$/);
  await store.change(second.id, [{ path: ["texts", "complaint"], after: "Cranks, does not FIRE" }]);
  expect((await store.list()).map((j) => j.id)).toContain(first.id);
  expect((await store.list("fire cranks")).map((j) => j.id)).toEqual([second.id]);
  expect(await store.list("nothing such")).toEqual([]);
  await store.change(first.id, [{ path: ["archived"], before: false, after: true }]);
  expect((await store.list()).find((j) => j.id === first.id)?.archived).toBe(true);
  expect(await store.last()).toBeNull();
  await store.opened(second.id);
  expect(await new JobStore(store.folders, realClock).last()).toBe(second.id);
});

test("a job that cannot be read is listed with its problem, and does not hide the others", async () => {
  const good = await store.create("good");
  const bad = await store.create("bad");
  writeFileSync(join(store.folder(bad.id), "job.json"), "{");
  const entries = await store.list();
  expect(entries.find((e) => e.id === bad.id)?.problem).toContain("not a job");
  expect(entries.find((e) => e.id === good.id)?.problem).toBeNull();
  expect(await codeOf(store.read(bad.id))).toBe("job-invalid");
});

test.each(["../../etc", "", ".", "a/b", "A", "nul\0", "x".repeat(200), "none-such"])(
  "%j is no job",
  async (id) => {
    expect(await codeOf(store.read(id))).toBe("job-missing");
    expect(await codeOf(store.change(id, [{ path: ["archived"], before: false, after: true }]))).toBe(
      "job-missing",
    );
  },
);

test("a hundred changes at once from two programs are all kept, and no temporary file is left", async () => {
  const { id } = await store.create("busy");
  const other = new JobStore(store.folders, realClock);
  await Promise.all(
    Array.from({ length: 100 }, (_, n) =>
      (n % 2 === 0 ? store : other).change(id, [
        { path: ["cautions", `c${n}`], after: { order: n, text: `${n}` } },
      ]),
    ),
  );
  const job = await store.read(id);
  expect(Object.keys(job.cautions)).toHaveLength(100);
  expect(job.revision).toBe(100);
  expect(readdirSync(store.folder(id))).toEqual(["job.json"]);
});

test("a change that cannot be written leaves the job as it was", async () => {
  const { id } = await store.create("whole");
  const path = join(store.folder(id), "job.json");
  const before = readFileSync(path, "utf8");
  expect(await codeOf(store.change(id, [{ path: ["vehicle", "cylinders"], after: 99 }]))).toBe("job-invalid");
  expect(readFileSync(path, "utf8")).toBe(before);
  // A folder in the way of the rename.
  mkdirSync(join(folder.path, "taken", "in"), { recursive: true });
  expect(await codeOf(writeWhole(join(folder.path, "taken"), "x"))).toBe("file-unwritable");
  expect(readdirSync(folder.path).filter((name) => name.endsWith(".tmp"))).toEqual([]);
});

test("a lock that a killed program left behind is taken away in time", async () => {
  const { id } = await store.create("locked");
  writeFileSync(join(store.folder(id), ".lock"), "left behind");
  let now = 0;
  const clock = {
    now: () => now,
    wall: () => realClock.wall(),
    after: (ms: number, callback: () => void) => {
      now += ms;
      queueMicrotask(callback);
      return () => undefined;
    },
  };
  const { job } = await new JobStore(store.folders, clock).change(id, [
    { path: ["texts", "done"], after: "x" },
  ]);
  expect(job.texts.done).toBe("x");
});

test("marks that are added later do not loosen a tie; a changed byte and a cut do", async () => {
  const path = recording("first.ndjson");
  const tie = await tieOf(path);
  expect(await tieStates(path, [tie])).toEqual(["fits"]);
  await addToRecording(path, () => [{ k: "mark", t: 9, id: "m", at: 100, label: "later" }]);
  expect(await tieStates(path, [tie])).toEqual(["fits"]);
  const grown = await tieOf(path);
  const bytes = readFileSync(path);
  bytes[bytes.indexOf("900")] = 0x38;
  writeFileSync(path, bytes);
  expect(await tieStates(path, [tie, grown])).toEqual(["altered", "altered"]);
  truncateSync(path, 40);
  expect(await tieStates(path, [tie])).toEqual(["altered"]);
  expect(await tieStates(join(folder.path, "none.ndjson"), [tie])).toEqual(["missing"]);
});

test("the note says of an altered and of a missing recording what it is, and draws neither", async () => {
  const path = recording("first.ndjson");
  const { id } = await store.create("evidence");
  const tie = await tieOf(path);
  const put = async (name: string, tieOfClip: typeof tie): Promise<void> => {
    const job = await store.read(id);
    await store.change(id, [
      putting(job, "clips", name, { ...clip, tie: tieOfClip, to: 300, lanes: [["engine-speed"]] }),
    ]);
  };
  await put("a", tie);
  await put("b", { ...tie, sha256: "b".repeat(64) });
  await put("c", { ...tie, file: "gone.ndjson" });
  const note = await noteOf(store, id, { system: "metric", made: created, writer: "test" });
  const charts = note.sections.flatMap((s) => s.blocks.filter((b) => b.kind === "chart"));
  expect(charts.map((c) => c.svg !== null)).toEqual([true, false, false]);
  expect(charts[1]?.problem).toContain("altered");
  expect(charts[2]?.problem).toContain("not there");
});

test("a recording moves into its job and is found there; one of the same name is not written over", async () => {
  recording("first.ndjson");
  const { id } = await store.create("moving");
  await store.takeIn(id, "first.ndjson");
  expect(existsSync(join(folder.path, "first.ndjson"))).toBe(false);
  expect(await store.recordingPath(id, "first.ndjson")).toBe(
    join(store.folder(id), "recordings", "first.ndjson"),
  );
  // Again is no harm; from another job it is found too.
  const other = await store.create("other");
  expect(await store.recordingPath(other.id, "first.ndjson")).toContain(id);
  recording("first.ndjson");
  expect(await codeOf(store.takeIn(id, "first.ndjson"))).toBe("file-exists");
  expect(existsSync(join(folder.path, "first.ndjson"))).toBe(true);
});

test.each(["../first.ndjson", "..\\first.ndjson", ".hidden.ndjson", "job.json", "a\0.ndjson", ""])(
  "%j is no recording that could be taken in",
  async (file) => {
    recording("first.ndjson");
    const { id } = await store.create("safe");
    expect(await codeOf(store.takeIn(id, file))).toBe("file-missing");
  },
);

test("a link out of the folder is no recording", async () => {
  const outside = tempFolder();
  try {
    symlinkSync(recording("secret.ndjson", outside.path), join(folder.path, "secret.ndjson"));
    const { id } = await store.create("links");
    expect(await codeOf(store.recordingPath(id, "secret.ndjson"))).toBe("file-missing");
    expect(await codeOf(store.takeIn(id, "secret.ndjson"))).toBe("file-missing");
  } finally {
    outside.remove();
  }
});

test("photos have names of their own making, and one that was altered is not shown", async () => {
  const { id } = await store.create("photos");
  expect(await codeOf(store.addPhoto(id, Buffer.from("<svg/>")))).toBe("photo-invalid");
  expect(existsSync(join(store.folder(id), "photos"))).toBe(false);
  expect(() => store.photoPath(id, "../job.json")).toThrow();
  const job = await store.read(id);
  const kept = {
    file: "0123456789abcdef.jpg",
    type: "image/jpeg",
    width: 1,
    height: 1,
    bytes: 3,
    sha256: "0".repeat(64),
  };
  await store.change(id, [putting(job, "photos", "p", { section: "checks", caption: "", ...kept })]);
  mkdirSync(join(store.folder(id), "photos"));
  writeFileSync(join(store.folder(id), "photos", kept.file), "other");
  const sources = await readSources(store, await store.read(id));
  expect(sources.photo("p")).toBeNull();
});
