/** `note` and `open` as a person types them. */
import { existsSync, readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { realClock } from "../../adapters/link/index.ts";
import { JobStore } from "../../src/recorder/jobs/store.ts";
import { tieOf } from "../../src/recorder/jobs/tie.ts";
import { putting, puttingClip } from "../../src/sheet/put.ts";
import { build } from "../support/build.ts";
import { crankside, tempFolder } from "../support/program.ts";

const folder = tempFolder();
const elsewhere = tempFolder();
const at = (name: string): string => join(folder.path, name);
let id = "";

beforeAll(async () => {
  build();
  const made = await crankside([
    "bench",
    "--vehicle",
    "old-hatch",
    "--script",
    "key-on",
    "--out",
    at("first.ndjson"),
  ]);
  expect(made.status).toBe(0);
  const store = new JobStore({ own: folder.path, bundled: null }, realClock);
  id = (await store.create("Old hatch")).id;
  const tie = await tieOf(at("first.ndjson"));
  const job = await store.read(id);
  const recording = {
    tie,
    started: "2024-03-02T09:00:00Z",
    from: "bench:old-hatch",
    invented: true,
    caption: "",
  };
  await store.change(id, [
    putting(job, "recordings", "a", recording),
    puttingClip(
      { job, id: "b", tie },
      { section: "signs", from: 0, to: 9000, lanes: [["socket-voltage"]], caption: "At rest" },
    ),
    { path: ["who", "customer"], before: "", after: "Ada Berg" },
  ]);
}, 180_000);
afterAll(() => {
  folder.remove();
  elsewhere.remove();
});

const note = (...args: string[]): ReturnType<typeof crankside> =>
  crankside(["note", ...args, "--folder", folder.path]);

test("without a job it lists them; without a form it says which there are", async () => {
  const list = await note();
  expect([list.status, list.stdout]).toEqual([0, expect.stringContaining(id)]);
  const formless = await note(id);
  expect([formless.status, formless.stderr]).toEqual([2, expect.stringContaining("--html FILE")]);
});

test("each form is written once, by the job's name or its folder, and never over what is there", async () => {
  expect((await note(id, "--html", at("note.html"), "--units", "us")).status).toBe(0);
  expect(readFileSync(at("note.html"), "utf8")).toContain("bench vehicle, invented data");
  const again = await note(id, "--html", at("note.html"));
  expect([again.status, again.stderr]).toEqual([1, expect.stringContaining("there already")]);
  expect((await crankside(["note", at(`jobs/${id}`), "--md", at("md")])).status).toBe(0);
  expect(readdirSync(at("md")).sort()).toEqual(["clips", "note.md", "pictures"]);
  expect(readFileSync(at("md/note.md"), "utf8")).toContain("(pictures/clip-1.svg)");
});

test("a bundle opens elsewhere; masked, it holds no name", async () => {
  expect((await note(id, "--bundle", at("van.zip"))).status).toBe(0);
  const opened = await crankside(["open", at("van.zip"), "--folder", elsewhere.path]);
  expect([opened.status, opened.stdout]).toEqual([0, expect.stringContaining(id)]);
  expect(existsSync(join(elsewhere.path, "jobs", id, "recordings", "first.ndjson"))).toBe(true);
  expect((await note(id, "--html", at("masked.html"), "--mask", "names,vin,plate")).status).toBe(0);
  expect(readFileSync(at("masked.html"), "utf8")).not.toContain("Berg");
});

test.each([
  [["note", "none-such", "--html", "x.html"], 1, "there is no such job"],
  [["note", "../x", "--html", "x.html"], 1, "not the name of a job"],
  [["note", "ID", "--html", "x.html", "--mask", "hair"], 2, "cannot be masked"],
  [["note", "ID", "--html", "x.html", "--units", "furlongs"], 2, "no such units"],
  [["open", "none.zip"], 1, "there is no such file"],
] as const)("%j ends with %d", async (args, status, text) => {
  const run = await crankside(
    [...args.map((a) => (a === "ID" ? id : a)), "--folder", folder.path],
    folder.path,
  );
  expect([run.status, run.stderr]).toEqual([status, expect.stringContaining(text)]);
  expect(run.stderr.trim().split("\n")).toHaveLength(1);
});
