/** Recordings in and out over HTTP: taken in from this page alone, told apart, and as CSV. */
import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { closed, headerText } from "../recorder/support.ts";
import { withoutPage } from "../support/bareServer.ts";
import { tempFolder } from "../support/program.ts";

const lines = [0, 100, 200].map((t) => JSON.stringify({ t, k: "s", ch: "engine-speed", v: 800, u: "rpm" }));
const text = closed(`${headerText}${lines.join("\n")}\n`);
let folder: ReturnType<typeof tempFolder>;
let server: RunningServer;

beforeEach(async () => {
  folder = tempFolder();
  writeFileSync(join(folder.path, "first.ndjson"), text);
  server = await startServer(withoutPage(folder.path));
});
afterEach(async () => {
  await server.close();
  folder.remove();
});

function send(name: string, body: string, origin = server.url.slice(0, -1)): Promise<Response> {
  const url = `${server.url}api/recordings?name=${encodeURIComponent(name)}`;
  return fetch(url, { method: "POST", headers: { origin }, body });
}

test("a recording is taken in from the page on this machine, and from no other", async () => {
  expect((await send("second.ndjson", text, "http://evil.example")).status).toBe(403);
  const noOrigin = await fetch(`${server.url}api/recordings?name=x.ndjson`, { method: "POST", body: text });
  expect(noOrigin.status).toBe(403);
  expect(readdirSync(folder.path)).toEqual(["first.ndjson"]);
  const taken = await send("../second.ndjson", text);
  expect(await taken.json()).toEqual({ file: "second.ndjson", state: "whole", known: false });
  expect(readFileSync(join(folder.path, "second.ndjson"), "utf8")).toBe(text);
  const refused = await send("third.ndjson", "no recording\n");
  expect([refused.status, ((await refused.json()) as { code: string }).code]).toEqual([
    400,
    "not-a-recording",
  ]);
  expect(readdirSync(folder.path).sort()).toEqual(["first.ndjson", "second.ndjson"]);
});

test("what a recording is about is answered, also after it was added to; one that is not there is missing", async () => {
  const about = async (): Promise<unknown> => (await fetch(`${server.url}api/summaries/first.ndjson`)).json();
  expect(await about()).toMatchObject({ vehicle: "", complaint: "" });
  const facts = JSON.stringify({ t: 1000, k: "facts", facts: { complaint: "dies" } });
  writeFileSync(join(folder.path, "first.ndjson"), `${text}${facts}\n`);
  expect(await about()).toMatchObject({ complaint: "dies" });
  expect((await fetch(`${server.url}api/summaries/none.ndjson`)).status).toBe(404);
  expect((await fetch(`${server.url}api/summaries/%00`)).status).toBe(400);
});

test("a whole recording comes as CSV; what is none is refused before a line of it", async () => {
  const csv = await fetch(`${server.url}api/recordings/first.ndjson?csv`);
  expect(csv.headers.get("content-disposition")).toBe('attachment; filename="first.csv"');
  expect((await csv.text()).split("\r\n").slice(0, 2)).toEqual([
    ...["time (s),time (ISO 8601),engine-speed (rpm)", "0,2024-03-02T09:00:00.000+01:00,800"],
  ]);
  writeFileSync(join(folder.path, "broken.ndjson"), "nothing\n");
  const broken = await fetch(`${server.url}api/recordings/broken.ndjson?csv`);
  expect([broken.status, ((await broken.json()) as { code: string }).code]).toEqual([400, "not-a-recording"]);
});
