/** The door for logs: who may bring one, and what is answered. */
import { existsSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { importedSchema, lookedSchema } from "../../shared/logLook.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { withoutPage } from "../support/bareServer.ts";
import { tempFolder } from "../support/program.ts";

const folder = tempFolder();
let server: RunningServer;

beforeAll(async () => {
  server = await startServer({
    ...withoutPage(folder.path),
    folders: { own: join(folder.path, "own"), bundled: null },
  });
});

afterAll(async () => {
  await server.close();
  folder.remove();
});

async function post(
  path: string,
  body: string,
  origin = server.url.slice(0, -1),
): Promise<[number, unknown]> {
  const response = await fetch(`${server.url}api/logs${path}`, { method: "POST", body, headers: { origin } });
  return [response.status, await response.json()];
}

const csv = "Time [s],RPM,Coolant [°C]\n0,800,90\n1,810,91\n2,820,92\n";

test("looked at, confirmed, and made where recordings live; a second confirmation finds nothing", async () => {
  const [status, told] = await post("?name=..%2F..%2Fevil.csv", csv);
  expect(status).toBe(200);
  const { id, look } = lookedSchema.parse(told);
  const choices = look.columns.map(({ channel, unit }) => ({ channel, unit }));
  const body = JSON.stringify({ choices, keep: false });
  const [, answer] = await post(`/${id}`, body);
  const made = importedSchema.parse(answer);
  expect(made).toMatchObject({ file: "evil.ndjson", rows: 3, samples: 6, channels: 2 });
  expect(existsSync(join(folder.path, "own", "evil.ndjson"))).toBe(true);
  expect(readdirSync(folder.path)).toEqual(["own"]);
  expect(await post(`/${id}`, body)).toMatchObject([404, { code: "file-missing" }]);
});

test("what is not said yet, or is no choice of ours, makes nothing", async () => {
  const [, told] = await post("?name=us.csv", csv.replace(" [°C]", ""));
  const { id, look } = lookedSchema.parse(told);
  const choices = look.columns.map(({ channel, unit }) => ({ channel, unit }));
  expect(await post(`/${id}`, JSON.stringify({ choices, keep: true }))).toMatchObject([
    400,
    { code: "csv-columns" },
  ]);
  expect(await post(`/${id}`, JSON.stringify({ choices: [], keep: true }))).toMatchObject([
    400,
    { code: "csv-columns" },
  ]);
  expect(await post(`/${id}`, "{")).toMatchObject([400, { code: "message-invalid" }]);
  const wrong = choices.map((choice) => ({ ...choice, channel: "no-such" }));
  expect(await post(`/${id}`, JSON.stringify({ choices: wrong, keep: true }))).toMatchObject([400, {}]);
  expect(existsSync(join(folder.path, "own", "us.ndjson"))).toBe(false);
});

test("another site, and a letter, are refused", async () => {
  expect(await post("?name=x.csv", csv, "http://evil.invalid")).toMatchObject([403, { code: "wrong-use" }]);
  expect(await post("?name=x.csv", "hello")).toMatchObject([400, { code: "csv-columns" }]);
  expect((await fetch(`${server.url}api/logs`)).status).toBe(403);
});

test("a few wait at most: the oldest is not there any more", async () => {
  const ids: string[] = [];
  for (let i = 0; i < 5; i++) ids.push(lookedSchema.parse((await post("?name=x.csv", csv))[1]).id);
  const body = JSON.stringify({ choices: [], keep: false });
  expect((await post(`/${ids[0] ?? ""}`, body))[1]).toMatchObject({ code: "file-missing" });
  expect((await post(`/${ids[4] ?? ""}`, body))[1]).toMatchObject({ code: "csv-columns" });
});
