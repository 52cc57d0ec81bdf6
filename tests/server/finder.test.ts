/** Looking through the folder over HTTP: answered at once, indexes made behind the answer, on this machine alone. */
import { existsSync, mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test, vi } from "vitest";
import { foundSchema, referencesSchema, type FoundList } from "../../shared/found.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { newJob } from "../../src/sheet/job.ts";
import { closed, headerText } from "../recorder/support.ts";
import { withoutPage } from "../support/bareServer.ts";
import { tempFolder } from "../support/program.ts";

const text = (name: string): string =>
  closed(
    `${headerText.replace('"vehicle":{}', `"vehicle":{"name":"${name}"}`)}{"t":0,"k":"mark","id":"m","at":0,"label":"looked at the plug"}\n`,
  );
let folder: ReturnType<typeof tempFolder>;
let server: RunningServer;

beforeEach(async () => {
  folder = tempFolder();
  writeFileSync(join(folder.path, "first.ndjson"), text("Garden van"));
  writeFileSync(join(folder.path, "second.ndjson"), text("Hay truck"));
  const id = "2024-03-02-x";
  mkdirSync(join(folder.path, "jobs", id), { recursive: true });
  const job = { ...newJob(id, "2024-03-02T08:00:00+01:00"), texts: { complaint: "dies in the garden" } };
  writeFileSync(join(folder.path, "jobs", id, "job.json"), JSON.stringify(job));
  server = await startServer(withoutPage(folder.path));
});
afterEach(async () => {
  await server.close();
  folder.remove();
});

async function find(query: string): Promise<FoundList> {
  return foundSchema.parse(await (await fetch(`${server.url}api/find?${query}`)).json());
}

test("the first question makes the indexes; then words, and what is asked beside them, find", async () => {
  expect(await find("words=garden")).toEqual({ found: [], fits: 0, all: 0, making: 3 });
  await vi.waitFor(async () => expect((await find("words=")).making).toBe(0), { timeout: 30_000 });
  expect((await find("words=garden")).found).toMatchObject([
    { kind: "recording", name: "first.ndjson", line: "Garden van · invented data" },
    { kind: "job", name: "2024-03-02-x", line: "dies in the garden" },
  ]);
  expect((await find("words=plug&vehicle=hay")).found.map((f) => f.name)).toEqual(["second.ndjson"]);
  expect((await find("words=plug&since=2030-01")).fits).toBe(0);
  expect(existsSync(join(folder.path, ".shelf", "first.ndjson.json"))).toBe(true);
});

test("before the first recording the folder is not there: nothing is found, and nothing is wrong", async () => {
  const empty = await startServer(withoutPage(join(folder.path, "not-yet")));
  try {
    const ask = async (path: string): Promise<unknown> => (await fetch(`${empty.url}api/${path}`)).json();
    expect(await ask("find?words=garden")).toEqual({ found: [], fits: 0, all: 0, making: 0 });
    expect(await ask("cases")).toEqual({ cases: [] });
    const of = { file: "x.ndjson", vehicle: { name: "Garden van", vin: "" }, coolant: 20, invented: true };
    expect(await ask(`references?of=${encodeURIComponent(JSON.stringify(of))}`)).toEqual({
      ...{ references: [], making: 0 },
    });
  } finally {
    await empty.close();
  }
});

test("references are asked by what is looked at; what is no such question is refused", async () => {
  const asked = (of: string): Promise<Response> =>
    fetch(`${server.url}api/references?of=${encodeURIComponent(of)}`);
  const of = { file: "x.ndjson", vehicle: { name: "Garden van", vin: "" }, coolant: 20, invented: true };
  const told = referencesSchema.parse(await (await asked(JSON.stringify(of))).json());
  // Neither of the two starts, so neither is sound.
  expect(told.references).toEqual([]);
  for (const wrong of ["", "{", "{}"]) {
    const answer = await asked(wrong);
    expect(answer.status).toBe(400);
    expect(await answer.json()).toMatchObject({ code: "message-invalid" });
  }
});

test("only a reader on this machine is answered", async () => {
  const posted = await fetch(`${server.url}api/find?words=a`, { method: "POST" });
  expect(posted.status).toBe(403);
});
