/** Jobs over HTTP: what a page does, and what nobody else may. */
import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { request as httpRequest } from "node:http";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { bundleLimits } from "../../src/recorder/jobs/openBundle.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { photoLimits } from "../../src/sheet/photo/photo.ts";
import { withoutPage } from "../support/bareServer.ts";
import { tempFolder } from "../support/program.ts";
import { entriesOf } from "../support/unzip.ts";

let folder: ReturnType<typeof tempFolder>;
let server: RunningServer;

beforeEach(async () => {
  folder = tempFolder();
  server = await startServer(withoutPage(folder.path));
});
afterEach(async () => {
  await server.close();
  folder.remove();
});

interface Reply {
  readonly status: number;
  readonly text: string;
  readonly bytes: Buffer;
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
          bytes: Buffer.concat(pieces),
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
  expect(bundle.headers).not.toHaveProperty("crankside-left-out");
  const masked = await ask(`api/jobs/${id}/bundle.zip?mask=vin`);
  expect(decodeURIComponent(String(masked.headers["crankside-left-out"]))).toContain(
    "Recordings are left out",
  );
});

test("which job lies open is asked for by itself, and no other job comes with it", async () => {
  expect(json(await ask("api/jobs?only=last"))).toEqual({ jobs: [], last: null });
  const [first, second] = [await newJob(), await newJob()];
  expect(json(await ask("api/jobs?only=last"))).toEqual({ jobs: [], last: second });
  await ask(`api/jobs/${first}/open`, "{}");
  expect(json(await ask("api/jobs?only=last"))).toEqual({ jobs: [], last: first });
  await ask(`api/jobs/${first}/leave`, "{}");
  expect(json(await ask("api/jobs?only=last"))).toEqual({ jobs: [], last: null });
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
    ["api/jobs?bundle", (await ask(`api/jobs/${id}/bundle.zip`)).bytes],
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

const namesIn = async (bytes: Buffer): Promise<string[]> => [...(await entriesOf(bytes)).keys()];

const visible = (folder_: string): string[] =>
  readdirSync(folder_).filter((name) => !name.startsWith(".last"));

async function jobWithClip(): Promise<string> {
  const id = await newJob();
  const header = {
    format: "crankside-recording",
    version: 1,
    started: "2024-03-02T09:00:00Z",
    from: "import:x",
  };
  const lines = [header, ...[0, 100, 200].map((t) => ({ t, k: "s", ch: "engine-speed", v: 800, u: "rpm" }))];
  writeFileSync(join(folder.path, "first.ndjson"), lines.map((l) => `${JSON.stringify(l)}\n`).join(""));
  const tie = json(await ask(`api/jobs/${id}/tie?file=first.ndjson`));
  const clip = { order: 1, section: "signs", tie, from: 0, to: 200, lanes: [["engine-speed"]], caption: "" };
  const changes = [
    { path: ["clips", "a"], after: clip },
    { path: ["who", "customer"], before: "", after: "Van Berg" },
    { path: ["vehicle", "name"], after: "Berg" },
  ];
  expect((await ask(`api/jobs/${id}/changes`, JSON.stringify({ changes }))).status).toBe(200);
  return id;
}

test("Markdown and the readings of the clips come out as zip files, under a name that hides what is hidden", async () => {
  const id = await jobWithClip();
  const markdown = await ask(`api/jobs/${id}/markdown.zip`);
  expect(await namesIn(markdown.bytes)).toEqual([
    ...["note.md", "pictures/page-one.svg", "pictures/clip-1.svg", "clips/clip-1.csv"],
  ]);
  expect(markdown.headers["content-disposition"]).toContain(`"${id}.zip"`);
  const clips = await ask(`api/jobs/${id}/clips.zip?mask=names`);
  expect(await namesIn(clips.bytes)).toEqual(["clips/clip-1.csv"]);
  await expect.poll(() => visible(join(folder.path, "jobs", id))).toEqual(["job.json"]);
});

test("a bundle that the page sends is opened as a file is, and is then the open job", async () => {
  const id = await jobWithClip();
  const { bytes } = await ask(`api/jobs/${id}/bundle.zip`);
  const opened = json(await ask("api/jobs?bundle", bytes));
  expect(opened).toMatchObject({ job: { id: `${id}-2` }, about: [] });
  expect(json(await ask("api/jobs"))["last"]).toBe(`${id}-2`);
  const there = join(folder.path, "jobs", `${id}-2`);
  expect(readFileSync(join(there, "recordings", "first.ndjson"))).toEqual(
    readFileSync(join(folder.path, "first.ndjson")),
  );
});

test("a bundle that is altered, none, or too long is refused with its code, and nothing of it stays", async () => {
  const id = await jobWithClip();
  const { bytes } = await ask(`api/jobs/${id}/bundle.zip`);
  const altered = Buffer.from(bytes);
  // In the middle of what is packed, behind the first file's name.
  altered.writeUInt8((altered[400] ?? 0) ^ 0xff, 400);
  for (const [body, code] of [
    [altered, /^bundle-/],
    [Buffer.from("no zip"), /^bundle-invalid$/],
    [bytes.subarray(0, bytes.length / 2), /^bundle-invalid$/],
  ] as const) {
    const reply = await ask("api/jobs?bundle", body);
    expect(reply.status).toBe(400);
    expect(json(reply)["code"]).toMatch(code);
  }
  const claims = { origin: server.url.slice(0, -1), "content-length": String(bundleLimits.packedBytes + 1) };
  const refused = json(await ask("api/jobs?bundle", Buffer.alloc(0), claims));
  expect(refused["code"]).toBe("bundle-unsafe");
  expect(visible(join(folder.path, "jobs"))).toEqual([id]);
});
