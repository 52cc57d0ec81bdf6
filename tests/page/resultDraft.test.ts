import fc from "fast-check";
import { expect, test } from "vitest";
import { foldLog } from "../../src/interpret/causes/results.ts";
import { checkRow } from "../../src/interpret/causes/rows.ts";
import {
  correctEntry,
  draftOf,
  emptyDraft,
  isWhole,
  judged,
  readValues,
  resultEntry,
  type ResultDraft,
} from "../../src/page/lib/job/resultDraft.ts";

const at = "2026-05-02T11:00:00.000+02:00";
const draft = (part: Partial<ResultDraft>): ResultDraft => ({ ...emptyDraft(["V", "mV"], at), ...part });

test("a decimal comma is a decimal comma; blanks, semicolons and a comma with a blank part values", () => {
  expect(readValues("12,5")).toEqual([12.5]);
  expect(readValues("150 148 - 151")).toEqual([150, 148, null, 151]);
  expect(readValues("150, 148; 151")).toEqual([150, 148, 151]);
  expect(readValues("−18")).toEqual([-18]);
  expect(readValues("12 V")).toBeNull();
  expect(readValues("1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17")).toBeNull();
});

test("values that were written out are read again", () => {
  const value = fc.option(fc.integer({ min: -99_999, max: 99_999 }).map((n) => n / 100));
  fc.assert(
    fc.property(fc.array(value, { minLength: 1, maxLength: 16 }), (values) => {
      expect(readValues(values.map((v) => v ?? "-").join(" "))).toEqual(values);
    }),
  );
});

test("what cannot be is questioned while it is typed, with the unit that would make it possible", () => {
  const check = checkRow("rest-voltage");
  if (check === undefined) throw new Error("no such check");
  const wrong = judged(check, draft({ reading: "12600" }), {});
  expect(wrong).toMatchObject({ outcome: null, question: true });
  expect(wrong?.words).toContain("12600 mV?");
  expect(judged(check, draft({ reading: "12.6" }), {})).toMatchObject({
    outcome: "charged",
    question: false,
  });
  expect(judged(check, draft({ reading: "twelve" }), {})?.question).toBe(true);
  expect(judged(check, draft({}), {})).toBeNull();
});

test("there is something to keep once an outcome is chosen or a number stands there", () => {
  expect(isWhole(draft({}))).toBe(false);
  expect(isWhole(draft({ outcome: "charged" }))).toBe(true);
  expect(isWhole(draft({ reading: "12.6" }))).toBe(true);
  expect(isWhole(draft({ outcome: "charged", reading: "about 12" }))).toBe(false);
});

test("entries say what was typed; a correction begins with what stood there and keeps its history", () => {
  const link = { recording: "a.ndjson", mark: "m1", from: 1000, to: 2000 };
  const first = resultEntry(
    "r1",
    "rest-voltage",
    draft({ reading: "11,4", by: " Jo ", words: "cold", link }),
    "p1",
  );
  expect(first).toEqual({
    ...{ k: "result", id: "r1", at, by: "Jo", check: "rest-voltage", words: "cold", photo: "p1", link },
    reading: { values: [11.4], unit: "V" },
  });
  if (first.k !== "result") throw new Error("no result");
  const again = draftOf(draft({}), first);
  expect(again).toMatchObject({ reading: "11.4", unit: "V", words: "cold", link });
  const log = foldLog([first, correctEntry("c1", "r1", { ...again, reading: "12.5" }, null)]);
  expect(log.problems).toEqual([]);
  expect(log.results[0]).toMatchObject({ outcome: "charged", state: "used" });
  expect(log.results[0]?.history).toHaveLength(2);
});
