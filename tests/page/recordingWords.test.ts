import { expect, test } from "vitest";
import { newJob } from "../../src/sheet/job.ts";
import { aboutJob, aboutText, lineOf, ofJob, titleOf } from "../../src/page/lib/recording/recordingWords.ts";

const entry = { file: "2024-03-02-090000-van.ndjson", started: "2024-03-02T09:00:00Z", vehicle: "Van" };
const summary = {
  lengthMs: 75_000,
  vehicle: "Van",
  complaint: "no start",
  happened: "3 cranks: did not turn",
};

test("two recordings of one vehicle have two lines, to the minute, with what happened", () => {
  const line = lineOf(entry, summary);
  for (const words of ["Van", "1:15", "no start", "3 cranks: did not turn", entry.file])
    expect(line).toContain(words);
  expect(lineOf({ ...entry, file: "other.ndjson" }, summary)).not.toBe(line);
  expect(aboutText({ ...entry, started: "2024-03-02T09:01:00Z" }, null)).not.toBe(aboutText(entry, null));
});

test("a sample is called by its story; a recording without a vehicle by what it says itself, else by its file", () => {
  expect(titleOf({ ...entry, bundled: true, file: "van-hisses-at-idle.ndjson.gz" }, null)).toBe(
    "Van hisses at idle",
  );
  expect(titleOf({ ...entry, vehicle: "" }, summary)).toBe("Van");
  expect(titleOf({ ...entry, vehicle: "" }, null)).toBe(entry.file);
});

test("a job's recordings and vehicle are known by its sheet", () => {
  expect(ofJob(null)).toBeNull();
  const job = {
    ...newJob("2024-03-02-van", "2024-03-02T09:00:00Z"),
    vehicle: { name: "Old Van", vin: "1M8" },
  };
  expect([...(ofJob(job)?.vehicles ?? [])]).toEqual(["old van", "1m8"]);
});

test("a job says when it was begun, how much is on it and what was found", () => {
  const job = {
    ...{ id: "a", name: "Van", complaint: "no start", changed: "2024-03-02T10:00:00Z", archived: false },
    ...{ problem: null, begun: "2024-03-01T10:00:00Z", recordings: 2, found: "Relay: proved, mended" },
  };
  for (const words of ["no start", "begun", "2 recordings", "Relay: proved, mended"])
    expect(aboutJob(job)).toContain(words);
});
