/** The line by which recordings are told apart, and their order beside a job. */
import { expect, test } from "vitest";
import { crankWords, ofJobFirst, summaryOf } from "../../src/sheet/summary.ts";
import { benchRecording, readText } from "../support/benchRecording.ts";
import { readingOf } from "./support.ts";

test("cranks are counted by how they ended", () => {
  expect(crankWords(["turned-and-did-not-fire"])).toBe("1 crank: turned, did not fire");
  expect(crankWords(["started", "started"])).toBe("2 cranks: started");
  expect(crankWords(["turned-without-signal", "started", "turned-without-signal"])).toBe(
    "3 cranks: 2 no speed seen; 1 started",
  );
});

test("a recording says how long it is, what was complained of and what happened", async () => {
  const fault = [{ name: "relay-open", severity: 1 }];
  const text = await benchRecording({ vehicle: "garden-van", script: "crank-only", faults: fault });
  const summary = summaryOf(readText(text));
  expect(summary.happened).toBe("3 cranks: turned, did not fire");
  expect(summary.lengthMs).toBeGreaterThan(60_000);
  const running = await benchRecording({ vehicle: "garden-van", script: "key-on" });
  expect(summaryOf(readText(running)).happened).toMatch(/^key on 0:\d\d/);
}, 180_000);

test("complaint and vehicle are those that were told last", () => {
  const reading = readingOf(8, [
    { t: 8100, k: "facts", facts: { complaint: "no start,\n twice", vehicle: { name: "Old van" } } },
  ]);
  expect(summaryOf(reading)).toMatchObject({ vehicle: "Old van", complaint: "no start, twice" });
});

test("recordings of the job come first, then those of its vehicle, of others, and the samples", () => {
  const entry = (
    file: string,
    vehicle: string,
    bundled = false,
  ): { file: string; vehicle: string; bundled: boolean } => ({
    ...{ file, vehicle, bundled },
  });
  const all = [
    ...[
      entry("a", "Other"),
      entry("b", "Sample", true),
      entry("c", "Old van"),
      entry("d", "Other"),
      entry("e", "x"),
    ],
  ];
  const job = { files: new Set(["e"]), vehicles: new Set(["old van"]) };
  expect(ofJobFirst(all, job).map((e) => e.file)).toEqual(["e", "c", "a", "d", "b"]);
  expect(ofJobFirst(all, null).map((e) => e.file)).toEqual(["a", "c", "d", "e", "b"]);
});
