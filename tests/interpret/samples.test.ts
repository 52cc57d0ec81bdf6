/** The samples that come with the program, through the reading of a file: what is printed fits a terminal. */
import { readdirSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { findingsSchema, findingsText, interpret } from "../../src/interpret/index.ts";
import { outcomeWords } from "../../src/interpret/report/text.ts";
import { Reading } from "../../src/reading/index.ts";
import { readRecording } from "../../src/recorder/read.ts";

const folder = join(import.meta.dirname, "../../recordings");
const samples = readdirSync(folder).filter((f) => f.endsWith(".ndjson.gz"));

test("there are samples", () => {
  expect(samples.length).toBeGreaterThanOrEqual(8);
});

describe.each(samples)("%s", (file) => {
  test("fits 100 columns in both systems, whole and in short, and keeps to the schema", async () => {
    const reading = new Reading(file);
    await readRecording(join(folder, file), reading.sink);
    const findings = interpret(reading);
    expect(findingsSchema.safeParse(findings).error?.issues ?? []).toEqual([]);
    for (const system of ["metric", "us"] as const)
      for (const full of [false, true]) {
        const lines = findingsText(findings, system, full).split("\n");
        expect(lines.length).toBeGreaterThan(5);
        expect(lines.filter((line) => line.length > 100)).toEqual([]);
        // How a crank ended is told whole, beside its figures or below them.
        const text = lines.map((line) => line.trimEnd() + "\n").join("");
        for (const crank of findings.cranks) expect(text).toContain(`${outcomeWords[crank.outcome]}\n`);
      }
  });
});
