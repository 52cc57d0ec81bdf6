import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { gzipSync } from "node:zlib";
import { expect, test } from "vitest";
import { listRecordings } from "../../src/recorder/list.ts";
import { recordingListSchema } from "../../shared/messages.ts";
import { eventLine } from "../../shared/recording/format.ts";
import { closed, exchange, headerText, tempFolder } from "./support.ts";

const at = (started: string): string => headerText.replace("2024-03-02T09:00:00.000+01:00", started);

test("both folders, newest first across zones, broken ones with their problem", () => {
  const own = tempFolder();
  const bundled = tempFolder();
  const long = closed(at("2024-03-02T10:00:00+01:00") + eventLine(exchange(1)).repeat(3000));
  writeFileSync(join(own, "a.ndjson"), long);
  writeFileSync(
    join(own, "b.ndjson"),
    at("2024-03-02T09:30:00Z").replace('"vehicle":{}', '"vehicle":{"name":"Old van"}'),
  );
  writeFileSync(
    join(bundled, "sample.ndjson.gz"),
    gzipSync(at("2024-03-01T00:00:00Z") + "x".repeat(200_000)),
  );
  writeFileSync(join(own, "broken.ndjson"), "nothing of the kind\n");
  writeFileSync(join(own, "empty.ndjson"), "");
  writeFileSync(join(own, "newer.ndjson"), headerText.replace('"version":1', '"version":9'));
  mkdirSync(join(own, "folder.ndjson"));
  writeFileSync(join(own, "notes.txt"), "no recording");
  const list = listRecordings({ own, bundled });
  expect(recordingListSchema.parse(list)).toEqual(list);
  const good = list.filter((e) => e.problem === null);
  expect(good).toEqual([
    {
      file: "b.ndjson",
      bundled: false,
      bytes: expect.any(Number) as number,
      started: "2024-03-02T09:30:00Z",
      from: "tcp:127.0.0.1:35000",
      vehicle: "Old van",
      invented: true,
      problem: null,
    },
    expect.objectContaining({ file: "a.ndjson", bytes: long.length, vehicle: "" }),
    expect.objectContaining({ file: "sample.ndjson.gz", bundled: true }),
  ]);
  const bad = list.filter((e) => e.problem !== null);
  expect(bad.map((e) => e.file).sort()).toEqual([
    "broken.ndjson",
    "empty.ndjson",
    "folder.ndjson",
    "newer.ndjson",
  ]);
  expect(bad.every((e) => e.started === null)).toBe(true);
});

test("a folder that is not there yet is empty", () => {
  expect(listRecordings({ own: join(tempFolder(), "none"), bundled: null })).toEqual([]);
});

test("a folder that is a file is a coded error", () => {
  const path = join(tempFolder(), "file");
  writeFileSync(path, "");
  expect(() => listRecordings({ own: path, bundled: null })).toThrow(
    expect.objectContaining({ code: "file-unreadable" }),
  );
});
