/** Jobs over HTTP: what a page does, and what nobody else may. */
import { readdirSync, writeFileSync } from "node:fs";
import { request as httpRequest } from "node:http";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { realClock } from "../../adapters/link/index.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { photoLimits } from "../../src/sheet/photo/photo.ts";
import { tempFolder } from "../support/program.ts";

let folder: ReturnType<typeof tempFolder>;
let server: RunningServer;

beforeEach(async () => {
  folder = tempFolder();
  server = await startServer({
    port: 0,
    pageFolder: join(folder.path, "no-page"),
    folders: { own: folder.path, bundled: null },
    clock: realClock,
    writer: "test",
  });
});
afterEach(async () => {
  await server.close();
  folder.remove();
});

interface Reply {
  readonly status: number;
  readonly text: string;
  readonly headers: Record<string, string | string[] | undefined>;
}

/** Headers as they are given, the forbidden ones too. */
function ask(
  path: string,
  body?: Buffer | string,
  headers: Record<string, string> = { origin: server.url.slice(0, -1) },
): Promise<Reply> {
  return new Promise((resolve, reject) => {
    const method = body === undefined ? "GET" : "POST";
    const request = httpRequest(`${server.url}${path}`, { method, headers }, (response) => {
      const pieces: Buffer[] = [];
      response.on("data", (piece: Buffer) => pieces.push(piece));
      response.on("end", () =>
        resolve({
          status: response.statusCode ?? 0,
          text: Buffer.concat(pieces).toString("utf8"),
          headers: response.headers,
        }),
      );
      response.on("error", reject);
    });
    request.on("error", reject);
    request.end(body);
  });
}

const json = (reply: Reply): Record<string, unknown> => JSON.parse(reply.text) as Record<string, unknown>;

async function newJob(): Promise<string> {
  const reply = await ask("api/jobs", JSON.stringify({ name: "van" }));
  expect(reply.status).toBe(200);
  return String(json(reply)["id"]);
}

test("a job is made, changed, read only where it is newer, listed as the last, and comes out as a note", async () => {
  const id = await newJob();
  const changes = [{ path: ["texts", "done"], after: "<b>cleaned</b>" }];
  const changed = json(await ask(`api/jobs/${id}/changes`, JSON.stringify({ changes })));
  expect(changed["conflicts"]).toEqual([]);
  expect((await ask(`api/jobs/${id}?since=1`)).status).toBe(204);
  expect(json(await ask(`api/jobs/${id}?since=0`))["revision"]).toBe(1);
  expect(json(await ask("api/jobs"))).toMatchObject({ last: id, jobs: [{ id }] });
  const note = await ask(`api/jobs/${id}/note.html`);
  expect(note.text).toContain("&lt;b&gt;cleaned&lt;/b&gt;");
  expect(note.headers["content-security-policy"]).toContain("default-src 'none'");
  const bundle = await ask(`api/jobs/${id}/bundle.zip`);
  expect([bundle.status, bundle.headers["content-type"]]).toEqual([200, "application/zip"]);
  await expect.poll(() => readdirSync(join(folder.path, "jobs", id))).toEqual(["job.json"]);
});

test.each([
  ["no origin", {}],
  ["another origin", { origin: "http://evil.invalid" }],
  ["an origin that only looks like ours", { origin: "http://127.0.0.1:1" }],
  ["no origin in particular", { origin: "null" }],
])("with %s nothing is changed", async (_, headers) => {
  const id = await newJob();
  const changes = JSON.stringify({ changes: [{ path: ["archived"], before: false, after: true }] });
  for (const [path, body] of [
    ["api/jobs", JSON.stringify({ name: "x" })],
    [`api/jobs/${id}/changes`, changes],
    [`api/jobs/${id}/photos`, "x"],
    [`api/jobs/${id}/take-in`, JSON.stringify({ file: "a.ndjson" })],
  ] as const)
    expect((await ask(path, body, headers)).status).toBe(403);
  expect(json(await ask(`api/jobs/${id}`))["revision"]).toBe(0);
  expect(readdirSync(join(folder.path, "jobs")).filter((name) => !name.startsWith("."))).toEqual([id]);
});

test("another site's page does not read jobs either, and another name for this machine is refused", async () => {
  const id = await newJob();
  expect((await ask(`api/jobs/${id}`, undefined, { "sec-fetch-site": "cross-site" })).status).toBe(403);
  expect((await ask(`api/jobs/${id}`, undefined, { host: "evil.invalid" })).status).toBe(421);
});

test.each([
  ["api/jobs/none-such", 404, "job-missing"],
  ["api/jobs/..%2F..%2Fetc", 404, "job-missing"],
  ["api/jobs/%00", 404, "job-missing"],
  ["api/jobs/ID/photos/..%2Fjob.json", 404, "file-missing"],
  ["api/jobs/ID/photos/0123456789abcdef.jpg", 404, "file-missing"],
  ["api/jobs/ID/tie?file=..%2F..%2Fetc%2Fpasswd", 404, "file-missing"],
  ["api/jobs/ID/nothing", 404, "file-missing"],
] as const)("%s is told with its code", async (path, status, code) => {
  const id = await newJob();
  const reply = await ask(path.replace("ID", id));
  expect([reply.status, json(reply)["code"]]).toEqual([status, code]);
});

test.each([
  ["changes", "{", "message-invalid"],
  ["changes", JSON.stringify({ changes: [{ path: [] }] }), "message-invalid"],
  ["changes", JSON.stringify({ changes: [{ path: ["__proto__", "x"], after: 1 }] }), "message-invalid"],
  ["changes", JSON.stringify({ changes: [{ path: ["revision"], after: 1 }] }), "job-invalid"],
  ["photos", "<svg xmlns='http://www.w3.org/2000/svg'/>", "photo-invalid"],
  ["take-in", JSON.stringify({ file: "../x.ndjson" }), "file-missing"],
] as const)("a wrong body to %s (%s) is refused with its code", async (what, body, code) => {
  const id = await newJob();
  const reply = await ask(`api/jobs/${id}/${what}`, body);
  expect(json(reply)["code"]).toBe(code);
  expect(json(await ask(`api/jobs/${id}`))["revision"]).toBe(0);
});

test("a photo that is too long is not read to its end", async () => {
  const id = await newJob();
  const reply = await ask(`api/jobs/${id}/photos`, Buffer.alloc(photoLimits.bytes + 1));
  expect([reply.status, json(reply)["code"]]).toEqual([400, "photo-invalid"]);
});

test("a recording that moved into a job is still served under its name", async () => {
  const id = await newJob();
  const header = {
    format: "crankside-recording",
    version: 1,
    started: "2024-03-02T09:00:00Z",
    from: "import:x",
  };
  writeFileSync(join(folder.path, "first.ndjson"), `${JSON.stringify(header)}\n`);
  const before = await ask("api/recordings/first.ndjson");
  expect((await ask(`api/jobs/${id}/take-in`, JSON.stringify({ file: "first.ndjson" }))).status).toBe(200);
  expect(readdirSync(join(folder.path, "jobs", id, "recordings"))).toEqual(["first.ndjson"]);
  expect((await ask("api/recordings/first.ndjson")).text).toBe(before.text);
});
