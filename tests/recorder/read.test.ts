import { gzipSync } from "node:zlib";
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { closed, exchange, file, headerText, mark, readBack, tempFolder } from "./support.ts";
import { eventLine } from "../../shared/recording/format.ts";

const body = headerText + eventLine(exchange(10)) + eventLine(mark(20)) + eventLine(exchange(30));

test("a recording is read, plain and compressed, whatever the file is called", async () => {
  const plain = await readBack(file(closed(body)));
  expect(plain.events.map((e) => e.k)).toEqual(["x", "mark", "x", "end"]);
  expect(plain.events[0]).toEqual(exchange(10));
  const packed = await readBack(file(gzipSync(closed(body)), "odd-name.ndjson"));
  expect(packed.events).toEqual(plain.events);
  expect(packed.notices).toEqual([]);
});

test("two compressed pieces put together are read as one", async () => {
  const half = body.length - 20;
  const joined = Buffer.concat([gzipSync(body.slice(0, half)), gzipSync(body.slice(half))]);
  expect((await readBack(file(joined))).events).toHaveLength(3);
});

test("a compressed recording that is cut short gives what can be inflated, with a notice", async () => {
  const lines = Array.from({ length: 3000 }, (_, i) => eventLine(exchange(i, `410C${(i * 7919) % 65536}`)));
  const packed = gzipSync(headerText + lines.join(""));
  for (const keep of [0.3, 0.7, 0.95]) {
    const cut = await readBack(file(packed.subarray(0, Math.floor(packed.length * keep))));
    expect(cut.events.length).toBeGreaterThan(3000 * (keep - 0.25));
    expect(cut.events.length).toBeLessThan(3000);
    expect(cut.events.at(-1)).toEqual(
      exchange(cut.events.length - 1, `410C${((cut.events.length - 1) * 7919) % 65536}`),
    );
    expect(cut.notices.some((n) => n.lost)).toBe(true);
  }
  const noTrailer = await readBack(file(packed.subarray(0, packed.length - 5)));
  expect(noTrailer.events).toHaveLength(3000);
  expect(noTrailer.notices).toHaveLength(1);
});

test("a damaged compressed recording gives what came before the damage, with a notice", async () => {
  const lines = Array.from({ length: 40_000 }, (_, i) => eventLine(exchange(i, `410C${(i * 7919) % 65536}`)));
  const packed = gzipSync(headerText + lines.join(""));
  packed.fill(0xff, Math.floor(packed.length * 0.8), Math.floor(packed.length * 0.8) + 64);
  const read = await readBack(file(packed));
  expect(read.events.length).toBeGreaterThan(1000);
  expect(read.notices.some((n) => n.lost)).toBe(true);
});

test("lines that end in CR LF read the same", async () => {
  const read = await readBack(file(body.replaceAll("\n", "\r\n")));
  expect(read.events).toEqual([exchange(10), mark(20), exchange(30)]);
  expect(read.notices).toEqual([]);
});

test("characters of several bytes survive the borders between pieces", async () => {
  // More than 64 KiB of three-byte characters: some lie across every border that a multiple of 3 avoids.
  const labels = ["a", "ab", "abc"].map((shift) => shift + "車".repeat(60_000));
  const text = headerText + labels.map((label, i) => eventLine(mark(i, label))).join("");
  const read = await readBack(file(text));
  expect(read.events.map((e) => (e.k === "mark" ? e.label : ""))).toEqual(labels);
});

test("a wrong line is told with its number and the rest is kept", async () => {
  const read = await readBack(file(`${headerText}{"t":1,"k":"mark"}\n${eventLine(exchange(2))}nonsense\n`));
  expect(read.events).toEqual([exchange(2)]);
  expect(read.notices.map((n) => [n.line, n.lost])).toEqual([
    [2, true],
    [4, true],
  ]);
});

test("events of kinds that are not known yet are handed on", async () => {
  const read = await readBack(
    file(`${headerText}{"t":5,"k":"weather","sky":"blue"}\n${eventLine(exchange(6))}`),
  );
  expect(read.unknown).toEqual([{ t: 5, k: "weather", sky: "blue" }]);
  expect(read.events).toEqual([exchange(6)]);
});

const refused: readonly (readonly [what: string, path: () => string, code: string])[] = [
  ["a file that is not there", () => join(tempFolder(), "none.ndjson"), "file-missing"],
  ["an empty file", () => file(""), "not-a-recording"],
  ["an empty compressed file", () => file(gzipSync("")), "not-a-recording"],
  ["a text", () => file("Dear diary\n"), "not-a-recording"],
  ["an image", () => file(Buffer.from("89504e470d0a1a0a0000000d49484452", "hex")), "not-a-recording"],
  ["other JSON", () => file('{"format":"something","version":1}\n'), "not-a-recording"],
  ["a first line without end", () => file("x".repeat(5 * 1024 * 1024)), "not-a-recording"],
  ["a newer version", () => file(headerText.replace('"version":1', '"version":2')), "newer-format"],
  [
    "a folder",
    () => {
      const path = join(tempFolder(), "folder.ndjson");
      mkdirSync(path);
      return path;
    },
    "file-unreadable",
  ],
];

test.each(refused)("%s is refused", async (_, path, code) => {
  await expect(readBack(path())).rejects.toMatchObject({ code });
});
