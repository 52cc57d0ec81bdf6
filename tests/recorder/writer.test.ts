import { createHash } from "node:crypto";
import { mkdirSync, readdirSync, readFileSync, rmSync, statSync, truncateSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import fc from "fast-check";
import { expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { verifyRecording } from "../../src/recorder/verify.ts";
import { createRecording, isBeingRecorded, type RecordingWriter } from "../../src/recorder/writer.ts";
import type { RecordingEvent } from "../../shared/recording/format.ts";
import { exchange, FaultyDisk, header, mark, readBack, tempFolder, textOf } from "./support.ts";

function begin(
  clock: VirtualClock,
  disk: FaultyDisk,
  more: { folder?: string; memoryBytes?: number } = {},
): RecordingWriter {
  const folder = more.folder ?? tempFolder();
  return createRecording({
    folder,
    name: "Van",
    header,
    clock,
    disk,
    memoryBytes: more.memoryBytes ?? 1 << 20,
  });
}

test("a recording begins with its header and ends with the hash of all bytes before", async () => {
  const clock = new VirtualClock(Date.UTC(2024, 4, 31, 5, 4, 5));
  const writer = createRecording({ folder: tempFolder(), name: "Old van, blue", header, clock });
  clock.advance(40);
  writer.append(exchange(clock.now() - writer.zeroMs));
  writer.append(mark(40));
  await writer.close();
  expect(writer.file).toMatch(/^\d{4}-\d\d-\d\d-\d{6}-old-van-blue\.ndjson$/);
  const text = textOf(writer.path);
  const lines = text.split("\n");
  expect(lines).toHaveLength(5);
  expect(lines[4]).toBe("");
  expect(JSON.parse(lines[0] ?? "")).toMatchObject({
    format: "crankside-recording",
    version: 1,
    started: writer.header.started,
    from: "tcp:127.0.0.1:35000",
    invented: true,
  });
  expect(Date.parse(writer.header.started)).toBe(Date.UTC(2024, 4, 31, 5, 4, 5));
  expect(lines[1]).toBe('{"t":40,"k":"x","ask":"010C1","lines":["410C1AF8"],"first":20,"end":22}');
  const before = `${lines.slice(0, 3).join("\n")}\n`;
  expect(JSON.parse(lines[3] ?? "")).toEqual({
    t: 40,
    k: "end",
    sha256: createHash("sha256").update(before).digest("hex"),
  });
});

test("a line is in the file as soon as append returns", () => {
  const writer = begin(new VirtualClock(), new FaultyDisk());
  writer.append(exchange(1));
  expect(textOf(writer.path).split("\n")).toHaveLength(3);
  expect(writer.bytes).toBe(statSync(writer.path).size);
  expect(writer.saved).toBe(true);
});

test("gathered lines are written with the sync, which goes by the clock that gathers, or when they are many", async () => {
  const clock = new VirtualClock();
  const gatherBy = new VirtualClock();
  const disk = new FaultyDisk();
  const writer = createRecording({ folder: tempFolder(), header, clock, gatherBy, disk });
  writer.append(exchange(1));
  clock.advance(10_000);
  expect(textOf(writer.path)).toBe("");
  expect(writer.saved).toBe(false);
  gatherBy.advance(500);
  expect(textOf(writer.path).split("\n")).toHaveLength(3);
  await writer.settled();
  expect(writer.saved).toBe(true);
  expect(writer.syncedBytes).toBe(statSync(writer.path).size);
  for (let t = 2; t < 2000; t++) writer.append(exchange(t));
  const written = statSync(writer.path).size;
  expect(writer.length - written).toBeLessThanOrEqual(64 * 1024);
  expect(textOf(writer.path).endsWith("\n")).toBe(true);
  await writer.close();
  expect((await readBack(writer.path)).events).toHaveLength(2000);
  expect((await verifyRecording(writer.path)).state).toBe("whole");
});

test("a disk that takes no gathered lines is told at the end, and they are written when it takes again", async () => {
  const clock = new VirtualClock();
  const disk = new FaultyDisk();
  const begun = (): RecordingWriter =>
    createRecording({ folder: tempFolder(), header, clock, gatherBy: new VirtualClock(), disk });
  const lost = begun();
  lost.append(exchange(1));
  disk.writeFault = "ENOSPC";
  await expect(lost.close()).rejects.toMatchObject({ code: "file-unwritable" });
  disk.writeFault = null;
  const kept = begun();
  kept.append(exchange(1));
  disk.writeFault = "ENOSPC";
  kept.append(mark(2));
  expect(kept.failure?.code).toBe("file-unwritable");
  disk.writeFault = null;
  await kept.close();
  expect((await readBack(kept.path)).events).toHaveLength(3);
});

test("a file of the same name gets a number and the first one is untouched", () => {
  const clock = new VirtualClock();
  const folder = tempFolder();
  const first = begin(clock, new FaultyDisk(), { folder });
  const content = textOf(first.path);
  const second = begin(clock, new FaultyDisk(), { folder });
  second.append(mark(3));
  expect(second.file).toBe(first.file.replace(".ndjson", "-2.ndjson"));
  expect(textOf(first.path)).toBe(content);
});

test("an exact file that exists is refused", () => {
  const path = join(tempFolder(), "there.ndjson");
  writeFileSync(path, "precious");
  expect(() => createRecording({ file: path, header, clock: new VirtualClock() })).toThrow(
    expect.objectContaining({ code: "file-exists" }),
  );
  expect(textOf(path)).toBe("precious");
});

test("a folder that cannot be made is a coded error", () => {
  const path = join(tempFolder(), "file");
  writeFileSync(path, "");
  expect(() => createRecording({ folder: join(path, "in"), header, clock: new VirtualClock() })).toThrow(
    expect.objectContaining({ code: "file-unwritable" }),
  );
});

test("what was appended is synced within a second, and a mark at once", async () => {
  const clock = new VirtualClock();
  const disk = new FaultyDisk();
  const writer = begin(clock, disk);
  await clock.pass(499);
  const before = disk.syncs;
  expect(before).toBe(0);
  await clock.pass(1);
  await writer.settled();
  expect(disk.syncs).toBe(1);
  expect(writer.syncedBytes).toBe(writer.bytes);
  await clock.pass(5000);
  expect(disk.syncs).toBe(1);
  writer.append(exchange(6000));
  expect(disk.syncs).toBe(1);
  writer.append(mark(6001));
  expect(disk.syncs).toBe(2);
  await writer.settled();
  expect(writer.syncedBytes).toBe(statSync(writer.path).size);
});

test("listeners hear every line with the byte it begins at", async () => {
  const clock = new VirtualClock();
  const writer = begin(clock, new FaultyDisk());
  const heard: { from: number; text: string }[] = [];
  const stop = writer.onAppended((from, line) => heard.push({ from, text: Buffer.from(line).toString() }));
  const start = writer.bytes;
  writer.append(mark(1, "Öl nachgefüllt, 3 °C"));
  writer.append(mark(2, "🔧"));
  stop();
  writer.append(mark(3, "not heard"));
  await writer.close();
  const bytes = readFileSync(writer.path);
  expect(heard).toHaveLength(2);
  expect(heard[0]?.from).toBe(start);
  for (const { from, text } of heard) {
    expect(bytes.subarray(from, from + Buffer.byteLength(text)).toString("utf8")).toBe(text);
  }
});

test("short writes lose and double nothing", async () => {
  const disk = new FaultyDisk();
  disk.most = 3;
  const writer = begin(new VirtualClock(), disk);
  writer.append(mark(1, "ü".repeat(10)));
  await writer.close();
  expect((await verifyRecording(writer.path)).state).toBe("whole");
  expect((await readBack(writer.path)).events[0]).toEqual(mark(1, "ü".repeat(10)));
});

test("a full disk keeps the events in memory and writes them in order when there is room", async () => {
  const clock = new VirtualClock();
  const disk = new FaultyDisk();
  const writer = begin(clock, disk);
  const heard: string[] = [];
  writer.onAppended((_, line) => heard.push(Buffer.from(line).toString()));
  writer.append(mark(1));
  const before = textOf(writer.path);
  disk.room = 10;
  writer.append(mark(2));
  writer.append(mark(3));
  expect(writer.failure?.code).toBe("file-unwritable");
  expect(writer.saved).toBe(false);
  expect(heard).toHaveLength(3);
  expect(textOf(writer.path).startsWith(before)).toBe(true);
  expect(statSync(writer.path).size).toBe(Buffer.byteLength(before) + 10);
  expect(writer.bytes).toBe(statSync(writer.path).size);
  expect(textOf(writer.path) + writer.unwritten.text).toBe(before + heard.slice(1).join(""));
  await clock.pass(3000);
  expect(writer.failure?.code).toBe("file-unwritable");
  disk.room = Number.POSITIVE_INFINITY;
  await clock.pass(1000);
  await writer.settled();
  expect(writer.failure).toBeNull();
  expect(writer.saved).toBe(true);
  writer.append(mark(4));
  await writer.close();
  expect((await verifyRecording(writer.path)).state).toBe("whole");
  expect((await readBack(writer.path)).events.filter((e) => e.k === "mark").map((e) => e.t)).toEqual([
    1, 2, 3, 4,
  ]);
});

test("a read-only disk fails later appends and not the caller", async () => {
  const clock = new VirtualClock();
  const disk = new FaultyDisk();
  const writer = begin(clock, disk);
  disk.writeFault = "EROFS";
  writer.append(exchange(1));
  expect(writer.failure?.code).toBe("file-unwritable");
  await expect(writer.close()).rejects.toMatchObject({ code: "file-unwritable" });
  expect((await verifyRecording(writer.path)).state).toBe("cut-short");
  expect(isBeingRecorded(writer.path)).toBe(false);
});

test("beyond the room in memory events are counted, and the file says so later", async () => {
  const clock = new VirtualClock();
  const disk = new FaultyDisk();
  const writer = begin(clock, disk, { memoryBytes: 1000 });
  disk.room = 0;
  for (let t = 0; t < 100; t++) writer.append(mark(t));
  const lost = writer.lostEvents;
  expect(lost).toBeGreaterThan(50);
  disk.room = Number.POSITIVE_INFINITY;
  await clock.pass(1000);
  expect(writer.lostEvents).toBe(0);
  await writer.close();
  const { events } = await readBack(writer.path);
  const marks = events.filter((e) => e.k === "mark").length;
  expect(marks).toBe(100 - lost);
  const told = events.filter((e) => e.k === "notice").map((e) => e.text);
  expect(told).toHaveLength(1);
  expect(told[0]).toContain(String(lost));
  expect((await verifyRecording(writer.path)).state).toBe("whole");
});

test("a removed file comes back whole", async () => {
  const clock = new VirtualClock();
  const folder = join(tempFolder(), "stick");
  const writer = begin(clock, new FaultyDisk(), { folder });
  writer.append(mark(1));
  rmSync(folder, { recursive: true });
  writer.append(mark(2));
  await clock.pass(1000);
  await writer.settled();
  expect(writer.failure?.code).toBe("file-unwritable");
  writer.append(mark(3));
  mkdirSync(folder);
  await clock.pass(1000);
  await writer.settled();
  expect(writer.failure).toBeNull();
  expect(readdirSync(folder)).toEqual([writer.file]);
  writer.append(mark(4));
  await writer.close();
  expect((await verifyRecording(writer.path)).state).toBe("whole");
  expect((await readBack(writer.path)).events.filter((e) => e.k === "mark").map((e) => e.t)).toEqual([
    1, 2, 3, 4,
  ]);
});

test("another file in the place of a removed one is left alone", async () => {
  const clock = new VirtualClock();
  const writer = begin(clock, new FaultyDisk());
  const path = writer.path;
  writer.append(mark(1));
  rmSync(path);
  writeFileSync(path, "somebody else's");
  await clock.pass(1000);
  await writer.close();
  expect(textOf(path)).toBe("somebody else's");
  expect(writer.path).not.toBe(path);
  expect((await verifyRecording(writer.path)).state).toBe("whole");
});

test("a disk that comes back without its last second is mended from memory", async () => {
  const clock = new VirtualClock();
  const disk = new FaultyDisk();
  const writer = begin(clock, disk);
  writer.append(mark(1));
  await clock.pass(1000);
  await writer.settled();
  const synced = writer.syncedBytes;
  writer.append(exchange(1100));
  writer.append(exchange(1200));
  for (const fd of disk.opened) disk.dead.add(fd);
  writer.append(exchange(1300));
  expect(writer.failure?.code).toBe("file-unwritable");
  truncateSync(writer.path, synced + 7);
  await clock.pass(1000);
  await writer.settled();
  expect(writer.failure).toBeNull();
  await writer.close();
  expect((await verifyRecording(writer.path)).state).toBe("whole");
  expect((await readBack(writer.path)).events.map((e) => e.t).slice(0, 4)).toEqual([1, 1100, 1200, 1300]);
});

test("a disk that comes back with another file is not written to", async () => {
  const clock = new VirtualClock();
  const disk = new FaultyDisk();
  const writer = begin(clock, disk);
  await clock.pass(1000);
  await writer.settled();
  for (const fd of disk.opened) disk.dead.add(fd);
  writer.append(exchange(1300));
  writeFileSync(writer.path, "short");
  await clock.pass(1000);
  expect(writer.failure?.code).toBe("file-unwritable");
  expect(textOf(writer.path)).toBe("short");
  await expect(writer.close()).rejects.toMatchObject({ code: "file-unwritable" });
});

test("a failing sync shows, and goes away", async () => {
  const clock = new VirtualClock();
  const disk = new FaultyDisk();
  const writer = begin(clock, disk);
  disk.syncFault = "ENOSPC";
  writer.append(mark(1));
  await writer.settled();
  expect(writer.failure?.code).toBe("file-unwritable");
  disk.syncFault = null;
  await clock.pass(1000);
  await writer.settled();
  expect(writer.failure).toBeNull();
  expect(writer.syncedBytes).toBe(writer.bytes);
});

test("closing twice is closing once, and nothing can be appended afterwards", async () => {
  const writer = begin(new VirtualClock(), new FaultyDisk());
  expect(isBeingRecorded(writer.path)).toBe(true);
  await Promise.all([writer.close(), writer.close()]);
  expect(isBeingRecorded(writer.path)).toBe(false);
  expect((await verifyRecording(writer.path)).events["end"]).toBe(1);
  expect(() => writer.append(mark(9))).toThrow(expect.objectContaining({ code: "out-of-order" }));
});

test("no timer is left after closing", async () => {
  const clock = new VirtualClock();
  const writer = begin(clock, new FaultyDisk());
  writer.append(exchange(3));
  await writer.close();
  expect(clock.pending).toBe(0);
});

test("whatever the disk does in between, in the end every event is there once and in order", async () => {
  const act = fc.oneof(
    { weight: 6, arbitrary: fc.constant("append" as const) },
    fc.constant("tick" as const),
    fc.constant("full" as const),
    fc.constant("room" as const),
    fc.constant("trickle" as const),
    fc.constant("dead" as const),
    fc.constant("removed" as const),
  );
  await fc.assert(
    fc.asyncProperty(fc.array(act, { maxLength: 40 }), async (acts) => {
      const clock = new VirtualClock();
      const disk = new FaultyDisk();
      const writer = begin(clock, disk);
      let t = 0;
      const appended: RecordingEvent[] = [];
      for (const what of acts) {
        if (what === "append") {
          const event = t % 3 === 0 ? mark(t) : exchange(t);
          appended.push(event);
          writer.append(event);
          t += 1;
        } else if (what === "tick") {
          await clock.pass(1000);
          await writer.settled();
        } else if (what === "full") disk.room = t % 50;
        else if (what === "room") disk.room = Number.POSITIVE_INFINITY;
        else if (what === "trickle") disk.most = 1 + (t % 7);
        else if (what === "dead") disk.opened.forEach((fd) => disk.dead.add(fd));
        else rmSync(writer.path, { force: true });
      }
      // A disk that is dead and whose file was removed cannot be mended: it has lost what it held.
      fc.pre(!(acts.includes("dead") && acts.includes("removed")));
      disk.room = Number.POSITIVE_INFINITY;
      await clock.pass(1000);
      await writer.settled();
      await writer.close();
      expect((await verifyRecording(writer.path)).state).toBe("whole");
      expect((await readBack(writer.path)).events.slice(0, -1)).toEqual(appended);
    }),
    { numRuns: 60 },
  );
});
