/** A disk that fails while the bench vehicle is recorded, on a real file system of its own. */
import { readdirSync, readFileSync, rmSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { realClock } from "../../adapters/link/index.ts";
import type { Status } from "../../shared/messages.ts";
import { verifyRecording } from "../../src/recorder/verify.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { BarePage } from "../support/barePage.ts";
import { tempFolder } from "../support/program.ts";
import { mayMount, SmallDisk } from "../support/smallDisk.ts";

const bench = { type: "connect", address: "bench:garden-van", facts: { complaint: "dies" } } as const;

let disk: SmallDisk;
let folder: string;
let spare: ReturnType<typeof tempFolder>;
let server: RunningServer;
let page: BarePage;

beforeEach(async () => {
  const made = mayMount ? SmallDisk.make() : null;
  if (made === null) return;
  disk = made;
  folder = join(disk.path, "recordings");
  spare = tempFolder();
  server = await startServer({
    port: 0,
    pageFolder: join(spare.path, "no-page"),
    folders: { own: folder, bundled: null },
    clock: realClock,
    writer: "test",
    spares: [join(spare.path, "spare")],
  });
  page = await BarePage.open(server.url);
  expect(await page.ask(bench)).toMatchObject({ type: "done" });
  await page.until(() => (recording()?.bytes ?? 0) > 2000);
});

afterEach(async () => {
  if (!mayMount) return;
  page.close();
  await server.close();
  disk.remove();
  spare.remove();
});

function recording(): Status["recording"] {
  return page.status?.recording ?? null;
}

function linesSoFar(): number {
  return page.frames.length;
}

/** Waits until so many more lines came. */
async function moreLines(count: number): Promise<void> {
  const from = linesSoFar();
  await page.until(() => linesSoFar() >= from + count);
}

/** All of the recording that this page has got, which is some of it. */
function allHeard(): string {
  const { text } = page.lines(recording()?.file ?? "");
  expect(text).not.toBe("");
  return text;
}

/** The recording as a page gets it that opens only now. */
async function asJoinedNow(): Promise<string> {
  const file = recording()?.file ?? "";
  const response = await fetch(`${server.url}api/recordings/${file}`);
  expect(response.status).toBe(200);
  return response.text();
}

test.skipIf(!mayMount)(
  "a full disk is told, the view goes on from memory for a page that joins too, and all is saved when there is room",
  async () => {
    disk.fill();
    await page.until(() => (recording()?.failure ?? null) !== null);
    expect(recording()).toMatchObject({ saved: false, failure: { code: "file-unwritable" }, lost: 0 });
    await moreLines(20);
    const file = recording()?.file ?? "";
    const onDisk = readFileSync(join(folder, file), "utf8");
    const joined = await asJoinedNow();
    expect(joined.startsWith(onDisk)).toBe(true);
    expect(joined.length).toBeGreaterThan(onDisk.length);
    expect(joined.endsWith("\n")).toBe(true);
    disk.makeRoom();
    await page.until(() => recording()?.failure === null);
    await moreLines(5);
    expect(await page.ask({ type: "stop" })).toMatchObject({ type: "done" });
    const whole = readFileSync(join(folder, file), "utf8");
    expect(whole.startsWith(joined)).toBe(true);
    expect((await verifyRecording(join(folder, file))).state).toBe("whole");
  },
  120_000,
);

test.skipIf(!mayMount)(
  "a full disk: one act and the recording goes on in another folder, whole, the old file unharmed",
  async () => {
    disk.fill();
    await page.until(() => (recording()?.failure ?? null) !== null);
    const file = recording()?.file ?? "";
    const old = readFileSync(join(folder, file));
    expect(recording()?.spare).toBe(join(spare.path, "spare"));
    expect(await page.ask({ type: "move" })).toMatchObject({ type: "done" });
    await page.until(() => recording()?.failure === null);
    expect(page.last("hello")?.folder).toBe(join(spare.path, "spare"));
    await moreLines(20);
    expect(await page.ask({ type: "disconnect" })).toMatchObject({ type: "done" });
    expect(readFileSync(join(folder, file)).equals(old)).toBe(true);
    const path = join(spare.path, "spare", file);
    expect(readFileSync(path).subarray(0, old.length).equals(old)).toBe(true);
    expect((await verifyRecording(path)).state).toBe("whole");
    expect(page.lines(file).text).toBe(readFileSync(path).subarray(page.lines(file).from).toString("utf8"));
  },
  120_000,
);

test.skipIf(!mayMount)(
  "a disk that was taken away is told, and the recording goes on elsewhere by one act, whole",
  async () => {
    disk.takeAway();
    await page.until(() => (recording()?.failure ?? null) !== null);
    await moreLines(10);
    const heard = allHeard();
    expect((await asJoinedNow()).includes(heard)).toBe(true);
    expect(await page.ask({ type: "move" })).toMatchObject({ type: "done" });
    await moreLines(10);
    expect(await page.ask({ type: "disconnect" })).toMatchObject({ type: "done" });
    const [file = ""] = readdirSync(join(spare.path, "spare"));
    expect((await verifyRecording(join(spare.path, "spare", file))).state).toBe("whole");
  },
  120_000,
);

test.skipIf(!mayMount)(
  "ending while the disk fails saves in the other folder by itself, and the link is free again",
  async () => {
    disk.fill();
    await page.until(() => (recording()?.failure ?? null) !== null);
    expect(await page.ask({ type: "disconnect" })).toMatchObject({ type: "done" });
    expect(page.status).toMatchObject({ link: "none", recording: null });
    const [file = ""] = readdirSync(join(spare.path, "spare"));
    expect((await verifyRecording(join(spare.path, "spare", file))).state).toBe("whole");
    expect(await page.ask(bench)).toMatchObject({ type: "done" });
  },
  120_000,
);

test.skipIf(!mayMount)(
  "a folder that was removed is told; the file comes back when the folder does",
  async () => {
    rmSync(folder, { recursive: true });
    await page.until(() => (recording()?.failure ?? null) !== null);
    const heard = allHeard();
    const joined = await asJoinedNow();
    expect(joined.includes(heard)).toBe(true);
    expect(await page.ask({ type: "move" })).toMatchObject({ type: "done" });
    await moreLines(3);
    expect(await page.ask({ type: "disconnect" })).toMatchObject({ type: "done" });
    const [file = ""] = readdirSync(join(spare.path, "spare"));
    const path = join(spare.path, "spare", file);
    expect(readFileSync(path, "utf8").startsWith(joined)).toBe(true);
    expect((await verifyRecording(path)).state).toBe("whole");
  },
  120_000,
);

test.skipIf(!mayMount)(
  "a folder where nothing can be made is said before anything is connected",
  async () => {
    await page.ask({ type: "disconnect" });
    disk.takeAway();
    expect(await page.ask(bench)).toMatchObject({ type: "failed", failure: { code: "file-unwritable" } });
    expect(page.status?.link).toBe("none");
  },
  120_000,
);
