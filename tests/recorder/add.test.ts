import { mkdirSync, readFileSync, statSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { addToRecording } from "../../src/recorder/add.ts";
import { verifyRecording } from "../../src/recorder/verify.ts";
import { createRecording } from "../../src/recorder/writer.ts";
import { eventLine } from "../../shared/recording/format.ts";
import {
  closed,
  exchange,
  FaultyDisk,
  file,
  header,
  headerText,
  mark,
  readBack,
  tempFolder,
  textOf,
} from "./support.ts";

const body = headerText + eventLine(exchange(10)) + eventLine(mark(20)) + eventLine(exchange(30));

test("marks and facts are added after the end, and not a byte before them changes", async () => {
  const path = file(closed(body));
  const facts = { k: "facts", t: 86_400_000, facts: { complaint: "stalls when warm" } } as const;
  await addToRecording(path, (startedMs) => {
    expect(startedMs).toBe(Date.UTC(2024, 2, 2, 8));
    return [mark(86_400_000, "looked again"), facts];
  });
  expect(textOf(path).startsWith(closed(body))).toBe(true);
  const result = await verifyRecording(path);
  expect(result).toMatchObject({ state: "whole", reasons: [], events: { end: 2, mark: 2, facts: 1 } });
  expect((await readBack(path)).events.slice(-3, -1)).toEqual([mark(86_400_000, "looked again"), facts]);
  const once = textOf(path);
  await addToRecording(path, [mark(86_400_001)]);
  expect(textOf(path).startsWith(once)).toBe(true);
  expect((await verifyRecording(path)).state).toBe("whole");
});

test("additions that come at once are made one after the other", async () => {
  const path = file(closed(body));
  await Promise.all(Array.from({ length: 8 }, (_, i) => addToRecording(path, [mark(1000 + i)])));
  const result = await verifyRecording(path);
  expect(result).toMatchObject({ state: "whole", events: { mark: 9, end: 9 } });
});

test("a recording that was cut short is carried on behind its torn line", async () => {
  const torn = `${body}{"t":40,"k":"x","ask":"01ü`;
  const path = file(torn);
  await addToRecording(path, [mark(50)]);
  expect(textOf(path).startsWith(torn)).toBe(true);
  expect(await verifyRecording(path)).toMatchObject({
    state: "whole",
    dropped: 1,
    events: { x: 2, mark: 2, notice: 1 },
  });
  expect((await readBack(path)).events.find((e) => e.k === "notice")).toMatchObject({
    torn: Buffer.byteLength('{"t":40,"k":"x","ask":"01ü'),
  });
});

test("a last line that only lacks its line feed is not torn", async () => {
  for (const text of [body.slice(0, -1), closed(body).slice(0, -1)]) {
    const path = file(text);
    await addToRecording(path, [mark(50)]);
    expect(await verifyRecording(path)).toMatchObject({ state: "whole", dropped: 0 });
    expect((await readBack(path)).events.filter((e) => e.k === "x")).toHaveLength(2);
  }
});

test("one that ends with a whole line but no end is carried on", async () => {
  const path = file(body);
  await addToRecording(path, []);
  expect(await verifyRecording(path)).toMatchObject({
    state: "whole",
    dropped: 0,
    events: { notice: 1, end: 1 },
  });
});

test("nothing to add to a whole recording leaves it as it is", async () => {
  const path = file(closed(body));
  await addToRecording(path, []);
  expect(textOf(path)).toBe(closed(body));
});

test("compressed, altered and bundled recordings and other kinds of events are refused, and stay as they are", async () => {
  const cases = [
    { path: file(gzipSync(closed(body)), "a.ndjson.gz"), code: "file-unwritable" },
    { path: file(gzipSync(closed(body)), "a.ndjson"), code: "file-unwritable" },
    { path: file(closed(body).replace("410C1AF8", "410C1AF9")), code: "file-unwritable" },
    { path: file("not one\n"), code: "not-a-recording" },
  ];
  for (const { path, code } of cases) {
    const before = readFileSync(path);
    await expect(addToRecording(path, [mark(1)])).rejects.toMatchObject({ code });
    expect(readFileSync(path).equals(before)).toBe(true);
  }
  await expect(addToRecording(join(tempFolder(), "none"), [])).rejects.toMatchObject({
    code: "file-missing",
  });
  const path = file(closed(body));
  // @ts-expect-error vehicle data is no addition
  await expect(addToRecording(path, [exchange(5)])).rejects.toMatchObject({ code: "wrong-use" });
  expect(textOf(path)).toBe(closed(body));
});

test("a bundled recording is refused also through a link", async () => {
  const folder = join(tempFolder(), "samples");
  mkdirSync(folder);
  const path = join(folder, "sample.ndjson");
  writeFileSync(path, closed(body));
  const link = join(tempFolder(), "link.ndjson");
  symlinkSync(path, link);
  for (const way of [path, link]) {
    await expect(addToRecording(way, [mark(1)], { bundledFolder: folder })).rejects.toMatchObject({
      code: "file-unwritable",
    });
  }
  expect(textOf(path)).toBe(closed(body));
});

test("a recording that is being written is refused until it is closed", async () => {
  const writer = createRecording({ folder: tempFolder(), header, clock: new VirtualClock() });
  await expect(addToRecording(writer.path, [mark(1)])).rejects.toMatchObject({ code: "out-of-order" });
  await writer.close();
  await addToRecording(writer.path, [mark(1)]);
  expect((await verifyRecording(writer.path)).state).toBe("whole");
});

test("one without end that changed a moment ago may be another program's", async () => {
  const path = file(body);
  const changed = statSync(path).mtimeMs;
  await expect(addToRecording(path, [mark(1)], { wallMs: changed + 2000 })).rejects.toMatchObject({
    code: "out-of-order",
  });
  expect(textOf(path)).toBe(body);
  await addToRecording(path, [mark(1)], { wallMs: changed + 60_000 });
  expect((await verifyRecording(path)).state).toBe("whole");
});

test("an addition that the disk does not take leaves the recording as it was", async () => {
  const faults: ((disk: FaultyDisk) => void)[] = [
    (disk) => (disk.room = 30),
    (disk) => (disk.openFault = "EACCES"),
    (disk) => (disk.syncFault = "EIO"),
    (disk) => (disk.writeFault = "EROFS"),
  ];
  for (const fault of faults) {
    const path = file(closed(body));
    const disk = new FaultyDisk();
    fault(disk);
    await expect(addToRecording(path, [mark(1)], { disk })).rejects.toMatchObject({
      code: "file-unwritable",
    });
    expect(textOf(path)).toBe(closed(body));
  }
});
