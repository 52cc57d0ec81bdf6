/** A disk that forgets, when the power goes, what it was not made to keep: bytes of files, and names in folders. */
import { closeSync, openSync, readFileSync, writeFileSync, writeSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import { expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/index.ts";
import { eventLine } from "../../shared/recording/format.ts";
import { addToRecording } from "../../src/recorder/add.ts";
import type { Disk } from "../../src/recorder/disk.ts";
import { verifyRecording } from "../../src/recorder/verify.ts";
import { createRecording, type RecordingWriter } from "../../src/recorder/writer.ts";
import { closed, exchange, FaultyDisk, file, header, headerText, mark, tempFolder } from "./support.ts";

interface Open {
  readonly path: string;
  written: number;
}

/** The real files, and what of them would be there after the power went. */
class ForgetfulDisk implements Disk {
  readonly #open = new Map<number, Open>();
  /** Bytes that are on the disk itself, by path. */
  readonly #kept = new Map<string, number>();
  /** Names that are in their folder on the disk itself. */
  readonly #named = new Set<string>();
  /** Set: a sync waits until it is let go. */
  #held: (() => void)[] | null = null;

  open(path: string, flags: string | number): number {
    const fd = openSync(path, flags);
    const there = this.#kept.get(path);
    // What was there before the test began had time enough.
    if (flags !== "ax+" && there === undefined) {
      this.#named.add(path);
      this.#kept.set(path, readFileSync(path).length);
    }
    this.#open.set(fd, { path, written: readFileSync(path).length });
    return fd;
  }

  write(fd: number, bytes: Uint8Array, at: number): number {
    const went = writeSync(fd, bytes, at, bytes.length - at);
    const open = this.#open.get(fd);
    if (open !== undefined) open.written += went;
    return went;
  }

  async sync(fd: number): Promise<void> {
    const open = this.#open.get(fd);
    const upTo = open?.written ?? 0;
    await Promise.resolve();
    if (this.#held !== null) await new Promise<void>((go) => this.#held?.push(go));
    if (open !== undefined) this.#kept.set(open.path, upTo);
  }

  close(fd: number): void {
    closeSync(fd);
  }

  syncFolder(folder: string): void {
    for (const { path } of this.#open.values()) if (dirname(path) === folder) this.#named.add(path);
  }

  /** From now on syncs do not end; what it returns ends the eldest. */
  hold(): () => void {
    this.#held = [];
    return () => this.#held?.shift()?.();
  }

  letGo(): void {
    const waiting = this.#held ?? [];
    this.#held = null;
    for (const go of waiting) go();
  }

  /** What is there after the power went, or null. */
  left(path: string): string | null {
    if (!this.#named.has(path)) return null;
    return readFileSync(path)
      .subarray(0, this.#kept.get(path) ?? 0)
      .toString("utf8");
  }
}

function begin(clock: VirtualClock, disk: Disk, folder = tempFolder()): RecordingWriter {
  return createRecording({ folder, name: "cart", header, clock, disk });
}

async function verified(text: string | null): Promise<string> {
  return text === null ? "gone" : (await verifyRecording(file(text))).state;
}

test("a new recording is still in its folder when the power goes a second later", async () => {
  const clock = new VirtualClock();
  const disk = new ForgetfulDisk();
  const writer = begin(clock, disk);
  writer.append(exchange(100));
  await clock.pass(1000);
  await writer.settled();
  expect(disk.left(writer.path)).toContain('"t":100');
  await writer.close();
});

test("one that goes on in another folder is there as well, with all that was recorded before", async () => {
  const clock = new VirtualClock();
  const disk = new ForgetfulDisk();
  const writer = begin(clock, disk);
  writer.append(exchange(100));
  const elsewhere = tempFolder();
  writer.moveTo(elsewhere);
  await writer.settled();
  expect(dirname(writer.path)).toBe(elsewhere);
  expect(disk.left(writer.path)).toContain('"t":100');
  await writer.close();
});

test("what is told as kept is on the disk that the recording goes on to, not on the one that it left", async () => {
  const clock = new VirtualClock();
  const disk = new ForgetfulDisk();
  const writer = begin(clock, disk);
  await clock.pass(1000);
  await writer.settled();
  const endEldest = disk.hold();
  writer.append(mark(1100));
  await Promise.resolve();
  // The sync of the first file is under way; it ends when the recording is another file.
  writer.moveTo(tempFolder());
  expect(writer.syncedBytes).toBe(0);
  endEldest();
  await Promise.resolve();
  await Promise.resolve();
  await Promise.resolve();
  expect(writer.syncedBytes).toBe(0);
  expect(writer.remembered.text).toContain('"t":1100');
  disk.letGo();
  await writer.settled();
  expect(writer.syncedBytes).toBe(writer.bytes);
  expect(disk.left(writer.path)?.length).toBe(writer.bytes);
  await writer.close();
});

test("a recording that is closed is whole on the disk itself, its end line too", async () => {
  const clock = new VirtualClock();
  const disk = new ForgetfulDisk();
  const writer = begin(clock, disk);
  writer.append(exchange(100));
  disk.hold();
  let done = false;
  const closing = writer.close().then(() => (done = true));
  for (let i = 0; i < 20; i++) await Promise.resolve();
  expect(done).toBe(false);
  disk.letGo();
  await closing;
  expect(await verified(disk.left(writer.path))).toBe("whole");
});

test("an addition that is told as made is on the disk itself", async () => {
  const path = file(closed(headerText + eventLine(exchange(10))));
  const disk = new ForgetfulDisk();
  await addToRecording(path, [mark(20)], { disk });
  expect(disk.left(path)).toContain('"t":20');
  expect(await verified(disk.left(path))).toBe("whole");
});

test("a disk that comes back with other bytes in as long a file is not written to", async () => {
  const clock = new VirtualClock();
  const disk = new FaultyDisk();
  const writer = begin(clock, disk);
  await clock.pass(1000);
  await writer.settled();
  writer.append(exchange(1100));
  const text = readFileSync(writer.path, "utf8");
  for (const fd of disk.opened) disk.dead.add(fd);
  writer.append(exchange(1300));
  const other = text.replace('"t":1100', '"t":1199');
  expect(other).toHaveLength(text.length);
  writeFileSync(writer.path, other);
  await clock.pass(1000);
  expect(writer.failure?.code).toBe("file-unwritable");
  expect(readFileSync(writer.path, "utf8")).toBe(other);
  await expect(writer.close()).rejects.toMatchObject({ code: "file-unwritable" });
  expect(readFileSync(join(dirname(writer.path), basename(writer.path)), "utf8")).toBe(other);
});

test("one that comes back longer than it was written is not written to either", async () => {
  const clock = new VirtualClock();
  const disk = new FaultyDisk();
  const writer = begin(clock, disk);
  await clock.pass(1000);
  await writer.settled();
  for (const fd of disk.opened) disk.dead.add(fd);
  writer.append(exchange(1300));
  const other = `${readFileSync(writer.path, "utf8")}{"t":5,"k":"notice","text":"of another"}\n`;
  writeFileSync(writer.path, other);
  await clock.pass(1000);
  expect(readFileSync(writer.path, "utf8")).toBe(other);
  await expect(writer.close()).rejects.toMatchObject({ code: "file-unwritable" });
});

const sound = closed(headerText + eventLine(exchange(10)));

test.each([
  eventLine(exchange(2000)),
  eventLine({ k: "s", t: 2000, ch: "engine-speed", v: 800, u: "rpm" }),
  eventLine({ k: "stray", t: 2000, text: "ELM" }),
  eventLine({ k: "link", t: 2000, state: "lost", why: "pulled out" }),
])("behind an end line %s is an alteration, whatever the hashes say", async (line) => {
  const result = await verifyRecording(file(closed(sound + line)));
  expect(result.state).toBe("altered");
  expect(result.reasons.join()).toContain("after an end line");
});

test("a torn line behind an end line is told: what was being added is not all there", async () => {
  const result = await verifyRecording(file(`${sound}{"t":950,"k":"mark","id":"m`));
  expect(result).toMatchObject({ state: "cut-short", reasons: ["the last line is torn"], dropped: 1 });
  const open = await verifyRecording(file(sound + eventLine(mark(950)).trimEnd()));
  expect(open).toMatchObject({ state: "cut-short", dropped: 0 });
});
