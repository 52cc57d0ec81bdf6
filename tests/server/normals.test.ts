/** What is normal for a vehicle, over HTTP: learned from recordings, listed, handed out, taken in, on this machine alone. */
import { copyFileSync, existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { z } from "zod/mini";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { normalSchema } from "../../src/interpret/normal/learn.ts";
import { withoutPage } from "../support/bareServer.ts";
import { tempFolder } from "../support/program.ts";

const sample = join(import.meta.dirname, "../../recordings/van-hisses-at-idle.ndjson.gz");
const keptSchema = z.object({ id: z.string(), normal: normalSchema });
const listSchema = z.object({
  normals: z.array(keptSchema),
  used: z.nullable(z.record(z.string(), z.string())),
});
let folder: ReturnType<typeof tempFolder>;
let server: RunningServer;

beforeEach(async () => {
  folder = tempFolder();
  for (const n of [1, 2, 3]) copyFileSync(sample, join(folder.path, `van-${n}.ndjson.gz`));
  server = await startServer(withoutPage(folder.path));
});
afterEach(async () => {
  await server.close();
  folder.remove();
});

const post = (path: string, body: string, origin = server.url.slice(0, -1)): Promise<Response> =>
  fetch(`${server.url}api/normals${path}`, { method: "POST", body, headers: { origin } });
const learn = (files: readonly string[], name = "Garden van"): Promise<Response> =>
  post("/learn", JSON.stringify({ name, files }));
const list = async (): Promise<z.infer<typeof listSchema>["normals"]> =>
  listSchema.parse(await (await fetch(`${server.url}api/normals`)).json()).normals;

test("learned from three, it lies in the folder, is listed, and is handed out as it lies there", async () => {
  expect(await list()).toEqual([]);
  const answer = await learn(["van-1.ndjson.gz", "van-2.ndjson.gz", "van-3.ndjson.gz"]);
  expect(answer.status).toBe(200);
  const { id, normal } = keptSchema.parse(await answer.json());
  expect(id).toBe("garden-van");
  expect(normal.recordings).toEqual(["van-1.ndjson.gz", "van-2.ndjson.gz", "van-3.ndjson.gz"]);
  expect(normal.figures.filter((f) => f.recordings === 3).length).toBeGreaterThan(2);
  expect((await list()).map((one) => one.id)).toEqual(["garden-van"]);
  const given = await fetch(`${server.url}api/normals/${id}`);
  expect(given.headers.get("content-disposition")).toContain("garden-van.json");
  expect(await given.text()).toBe(readFileSync(join(folder.path, "normal/garden-van.json"), "utf8"));
});

test("what is taken in is kept whole, under a free name, and no file is overwritten", async () => {
  await learn(["van-1.ndjson.gz"]);
  const before = readFileSync(join(folder.path, "normal/garden-van.json"), "utf8");
  const later = JSON.stringify({ ...(JSON.parse(before) as object), fromLater: { kept: true } });
  const { id } = keptSchema.parse(await (await post("?name=x.json", later)).json());
  expect(id).toBe("garden-van-2");
  expect(readFileSync(join(folder.path, "normal/garden-van-2.json"), "utf8")).toBe(later);
  expect(readFileSync(join(folder.path, "normal/garden-van.json"), "utf8")).toBe(before);
  expect(await list()).toHaveLength(2);
});

test("which is used for a vehicle is told to the program, and told to whoever asks", async () => {
  const used = async (): Promise<unknown> =>
    listSchema.parse(await (await fetch(`${server.url}api/normals`)).json()).used;
  await learn(["van-1.ndjson.gz"]);
  expect(await used()).toBeNull();
  const use = (vehicle: string, id: string | null): Promise<Response> =>
    post("/use", JSON.stringify({ vehicle, id }));
  await Promise.all([use("van", "garden-van"), use("hatch", "garden-van")]);
  expect(await used()).toEqual({ van: "garden-van", hatch: "garden-van" });
  expect(await (await use("van", null)).json()).toEqual({ used: { hatch: "garden-van" } });
  expect((await use("van", "gone")).status).toBe(404);
  expect((await use("", "garden-van")).status).toBe(400);
  expect(await used()).toEqual({ hatch: "garden-van" });
});

test("a spoiled or newer file in the folder is left out of the list, and left alone", async () => {
  mkdirSync(join(folder.path, "normal"));
  const newer = '{"format":"crankside-normal","version":99}';
  writeFileSync(join(folder.path, "normal/newer.json"), newer);
  writeFileSync(join(folder.path, "normal/spoiled.json"), "{");
  await learn(["van-1.ndjson.gz"]);
  expect((await list()).map((one) => one.id)).toEqual(["garden-van"]);
  expect(readFileSync(join(folder.path, "normal/newer.json"), "utf8")).toBe(newer);
});

test.each([
  ["", "{}", "normal-invalid", 400],
  ["", "no JSON", "normal-invalid", 400],
  ["", '{"format":"crankside-normal","version":99}', "newer-format", 400],
  ["/learn", '{"name":"","files":[]}', "message-invalid", 400],
  ["/learn", '{"name":"","files":["gone.ndjson"]}', "file-missing", 404],
  ["/learn", '{"name":"","files":["../outside.ndjson"]}', "file-missing", 404],
])("refused with its code: %s %s", async (path, body, code, status) => {
  const answer = await post(path, body);
  expect(answer.status).toBe(status);
  expect(await answer.json()).toMatchObject({ code });
  expect(existsSync(join(folder.path, "normal"))).toBe(false);
});

test("another site's page, and an address that leads out of the folder, get nothing", async () => {
  const files = ["van-1.ndjson.gz"];
  const answer = await post("/learn", JSON.stringify({ name: "", files }), "http://elsewhere.example");
  expect(answer.status).toBe(403);
  expect((await fetch(`${server.url}api/normals/${encodeURIComponent("../van-1")}`)).status).toBe(404);
  expect(readdirSync(folder.path)).not.toContain("normal");
});
