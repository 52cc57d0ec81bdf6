/** Own parameters and the survey as a person types them. */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { build } from "../support/build.ts";
import { crankside, tempFolder } from "../support/program.ts";

const folder = tempFolder();
const file = (name: string): string => join(folder.path, name);
const example = join(import.meta.dirname, "../../recordings/parameters/bench-signals.json");

beforeAll(() => build(), 180_000);
afterAll(() => folder.remove());

test("own parameters are read, kept and exported", async () => {
  const listening = ["listen", "--on", "bench:garden-van", "--for", "4s", "--out", file("own.ndjson")];
  expect((await crankside([...listening, "--parameters", example])).status).toBe(0);
  expect(readFileSync(file("own.ndjson"), "utf8")).toContain('"k":"defined"');
  const { status, stdout } = await crankside(["export", file("own.ndjson"), "--csv"]);
  expect(status).toBe(0);
  expect(stdout.split("\n")[0]).toMatch(/crank-signal/);
  expect((await crankside(["verify", file("own.ndjson")])).status).toBe(0);
}, 120_000);

test("one of one's own can be picked by name", async () => {
  const listening = ["listen", "--on", "bench:garden-van", "--for", "3s", "--out", file("picked.ndjson")];
  const picked = ["--parameters", example, "--channels", "cam-signal"];
  expect((await crankside([...listening, ...picked])).status).toBe(0);
  const text = readFileSync(file("picked.ndjson"), "utf8");
  expect(text).toContain('"ask":"221102');
  expect(text).not.toContain('"ask":"221101');
  expect((await crankside([...listening, "--channels", "cam-signal"])).status).toBe(2);
  const own = [...listening.slice(0, -1), file("pinned.ndjson"), "--parameters", example];
  expect((await crankside([...own, "--pin", "cam-signal,no-such-channel"])).status).toBe(2);
  expect((await crankside([...own, "--channels", "engine-speed", "--pin", "cam-signal"])).status).toBe(0);
  expect(readFileSync(file("pinned.ndjson"), "utf8")).toContain('"ask":"221102');
}, 120_000);

test("a wrong definition is refused with its place, and nothing is asked of the vehicle", async () => {
  const wrong = readFileSync(example, "utf8").replace('"221102"', '"2E1102"');
  writeFileSync(file("wrong.json"), wrong);
  const listening = ["listen", "--on", "bench:garden-van", "--for", "3s", "--out", file("none.ndjson")];
  const { status, stderr } = await crankside([...listening, "--parameters", file("wrong.json")]);
  expect(status).toBe(1);
  expect(stderr).toContain("parameters.1.request");
  const missing = await crankside([...listening, "--parameters", file("missing.json")]);
  expect(missing.status).toBe(1);
  expect(() => readFileSync(file("none.ndjson"))).toThrow();
}, 120_000);

test("a survey tells each module, as text and as JSON, and keeps what was said", async () => {
  const asked = ["survey", "--on", "bench:garden-van"];
  const { status, stdout } = await crankside([...asked, "--out", file("survey.ndjson")]);
  expect(status).toBe(0);
  expect(stdout).toMatch(/module 7E8[\s\S]*stored codes +none[\s\S]*module 7E9/);
  expect(readFileSync(file("survey.ndjson"), "utf8")).toContain('"ask":"03"');
  const json = JSON.parse((await crankside([...asked, "--json"])).stdout) as object;
  expect(json).toMatchObject({ modules: [{ module: "7E8", stored: [] }, { module: "7E9" }], meanings: [] });
}, 120_000);
