/** Entered results: readings become outcomes, what cannot be is questioned, nothing is lost when it is corrected. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { z } from "zod/mini";
import { converted, enterable, judgeReading } from "../../src/interpret/causes/judge.ts";
import { foldLog, logEntrySchema, type LogEntry } from "../../src/interpret/causes/results.ts";
import { handChecks } from "../../src/interpret/causes/tables/checks.ts";
import type { HandCheckRow } from "../../src/interpret/causes/types.ts";
import { historyLines } from "../../src/sheet/logText.ts";
import { at, result } from "./support.ts";

const rows: readonly HandCheckRow[] = handChecks;
const check = (id: string): HandCheckRow => {
  const found = rows.find((c) => c.id === id);
  if (found === undefined) throw new Error(id);
  return found;
};
const judge = (id: string, unit: string, ...values: (number | null)[]): string | null =>
  judgeReading(check(id), { values, unit }, {}).outcome;

test("rest voltage by the published table: 12.65 V full, 12.24 V half, 11.89 V empty", () => {
  // ASE L1 study guide 2.3.
  expect(judge("rest-voltage", "V", 12.65)).toBe("charged");
  expect(judge("rest-voltage", "V", 12.24)).toBe("low");
  expect(judge("rest-voltage", "V", 11.89)).toBe("flat");
  expect(judge("rest-voltage", "mV", 12_450)).toBe("charged");
});

test("a drop over 0.2 V a conductor is not small; the worst of several counts", () => {
  // ASE L1 study guide 2.3.
  expect(judge("drop-cranking", "V", 0.2, 0.1)).toBe("small");
  expect(judge("drop-cranking", "V", 0.1, 0.8)).toBe("large");
});

test("compression by the service manuals: 75 % of the highest, 690 kPa, two neighbours, all low", () => {
  // Ford Probe 1997 and Land Rover LR4 2012 (75 %), Pontiac Solstice 2006 (100 psi; 150 -> 105 psi is 70 %).
  expect(judge("compression", "psi", 170, 165, 172, 168)).toBe("even");
  expect(judge("compression", "psi", 170, 120, 172, 168)).toBe("one");
  expect(judge("compression", "psi", 170, 60, 65, 168)).toBe("two");
  expect(judge("compression", "psi", 80, 82, 79, 85)).toBe("all");
  expect(judge("compression", "kPa", 1200)).toBeNull();
});

test("each cylinder has to be good enough by itself, and a diesel's by its own limit", () => {
  // Pontiac Solstice 2006: 690 kPa (100 psi) on every cylinder.
  expect(judge("compression", "kPa", 700, 695, 698, 700)).toBe("even");
  expect(judge("compression", "kPa", 700, 680, 700, 700)).toBe("all");
  const diesel = (...values: number[]): string | null =>
    judgeReading(check("compression"), { values, unit: "kPa" }, { fuel: "diesel" }).outcome;
  expect(diesel(1750, 1720, 1760, 1740)).toBe("even");
  expect(diesel(1650, 1620, 1660, 1640)).toBe("all");
  expect(judge("compression", "kPa", 1650, 1620, 1660, 1640)).toBe("even");
});

test("the first cylinder and the last are no neighbours; two in the middle are", () => {
  expect(judge("compression", "kPa", 600, 1200, 1210, 610)).toBeNull();
  expect(judge("compression", "kPa", 1200, 600, 610, 1210)).toBe("two");
  expect(judge("compression", "kPa", 600, 610, 1200, 1210)).toBe("two");
});

test("injector balance: the published example fails at a tenth of the tolerance", () => {
  // Saturn Relay 2005 table: drops of 99, 69, 39 and 62 kPa; GMC Sonoma 2000: within 10 kPa of the mean.
  expect(judge("injector-balance", "kPa", 99, 69, 39, 62)).toBe("uneven");
  expect(judge("injector-balance", "kPa", 66, 68, 70, 62)).toBe("even");
  expect(judge("injector-balance", "kPa", 66)).toBeNull();
});

test("bleed-down of 34 kPa (5 psi) in a minute still holds", () => {
  expect(judge("bleed-down", "kPa", 34)).toBe("holds");
  expect(judge("bleed-down", "psi", 8)).toBe("falls");
});

test("the vehicle's own fuel pressure stands in place of the general range", () => {
  const own = { fuelPressureKPa: { low: 370, high: 390 } };
  const row = check("fuel-pressure");
  const say = (kPa: number): string | null => judgeReading(row, { values: [kPa], unit: "kPa" }, own).outcome;
  expect(judge("fuel-pressure", "kPa", 300)).toBe("right");
  expect(say(300)).toBe("low");
  expect(say(390)).toBe("right");
  expect(say(400)).toBe("high");
  expect(say(10)).toBe("none");
});

test("units of one kind convert by their published factors, others not at all", () => {
  // NIST SP 811, appendix B.8.
  expect(converted(1, "psi", "kPa")).toBeCloseTo(6.894757, 6);
  expect(converted(1, "inHg", "kPa")).toBeCloseTo(3.386389, 6);
  expect(converted(212, "°F", "°C")).toBeCloseTo(100, 9);
  expect(converted(1, "V", "kPa")).toBeNull();
  expect(enterable("kPa fuel")).toContain("psi");
  expect(enterable("kPa fuel").filter((u) => u === "kPa")).toHaveLength(1);
  const units = ["kPa", "psi", "bar", "inHg"];
  fc.assert(
    fc.property(
      fc.double({ min: 0, max: 1e4, noNaN: true }),
      fc.constantFrom(...units),
      fc.constantFrom(...units),
      (v, a, b) => {
        const there = converted(v, a, b);
        expect(converted(there ?? Number.NaN, b, a)).toBeCloseTo(v, 6);
      },
    ),
  );
});

test("a reading that cannot be is questioned, with the unit that would make it possible, and does not count", () => {
  const log = foldLog([result("rest-voltage", "charged", 1, { reading: { values: [12_400], unit: "V" } })]);
  expect(log.results[0]).toMatchObject({ state: "questioned", outcome: null });
  expect(log.results[0]?.question).toContain("12400 mV");
  const wrongKind = foldLog([
    {
      ...result("rest-voltage", "", 1),
      outcome: undefined,
      reading: { values: [12], unit: "kPa" },
    } as LogEntry,
  ]);
  expect(wrongKind.results[0]?.state).toBe("questioned");
  const notANumber = foldLog([
    result("rest-voltage", "low", 1, { reading: { values: [Number.NaN], unit: "V" } }),
  ]);
  expect(notANumber.results[0]?.state).toBe("questioned");
});

test("what the person says goes before what the number alone would say, and the difference is told", () => {
  const log = foldLog([result("rest-voltage", "low", 1, { reading: { values: [12.6], unit: "V" } })]);
  expect(log.results[0]).toMatchObject({ state: "used", outcome: "low" });
  expect(log.results[0]?.question).toContain("12.4 V or more");
});

test("a number that does not say where the air goes asks for the outcome", () => {
  const { outcome, question } = judgeReading(check("leak-down"), { values: [8, 9, 44, 7], unit: "%" }, {});
  expect(outcome).toBeNull();
  expect(question).toContain("choose");
  expect(judge("leak-down", "%", 8, 9, 10, 7)).toBe("tight");
});

test("a correction takes the place of the answer and keeps the first; a withdrawal takes it out", () => {
  const first = result("relay-swap", "works", 1, { id: "x", by: "Ada" });
  const corrected: LogEntry = {
    k: "correct",
    id: "c",
    of: "x",
    at: at(2),
    by: "Ben",
    outcome: "same",
    words: "wrong relay",
  };
  const log = foldLog([first, corrected]);
  expect(log.results[0]).toMatchObject({ id: "x", outcome: "same", state: "used", by: "Ada" });
  expect(log.results[0]?.history.map((e) => e.id)).toEqual(["x", "c"]);
  const gone = foldLog([first, corrected, { k: "withdraw", id: "w", of: "x", at: at(3) }]);
  expect(gone.results[0]).toMatchObject({ state: "withdrawn", outcome: null });
  expect(gone.results[0]?.history).toHaveLength(3);
});

test("entries that name nothing are told as problems and change nothing", () => {
  const log = foldLog([
    { k: "withdraw", id: "w", of: "nobody", at: at(1) },
    { ...result("relay-swap", "works", 1), at: "yesterday evening" },
  ]);
  expect(log.results).toHaveLength(0);
  expect(log.problems).toHaveLength(2);
});

test("what the tables do not know is kept and shown, and not counted", () => {
  const log = foldLog([
    result("no-such-check", "x", 1),
    { k: "act", id: "a", at: at(1), cause: "gremlins", did: "changed", effect: "gone" },
  ]);
  expect(log.results).toMatchObject([{ check: "no-such-check", state: "questioned", outcome: null }]);
  expect(log.acts).toMatchObject([{ cause: "gremlins", withdrawn: false }]);
  expect(log.problems).toEqual([]);
});

test("unclear is an answer and no evidence", () => {
  expect(foldLog([result("relay-swap", "unclear", 1)]).results[0]).toMatchObject({
    state: "unclear",
    outcome: null,
  });
});

test("any list of well-formed entries folds without throwing, each result once", () => {
  const text = fc.constantFrom("a", "b", "c", "d");
  const outcome = fc.constantFrom("works", "same", "charged", "nonsense", "unclear");
  const entry: fc.Arbitrary<LogEntry> = fc.oneof(
    fc.record({
      k: fc.constant("result" as const),
      id: text,
      at: fc.constant(at(1)),
      check: fc.constantFrom("relay-swap", "rest-voltage", "zz"),
      outcome,
    }),
    fc.record({ k: fc.constant("correct" as const), id: text, at: fc.constant(at(2)), of: text, outcome }),
    fc.record({ k: fc.constant("withdraw" as const), id: text, at: fc.constant(at(3)), of: text }),
  );
  fc.assert(
    fc.property(fc.array(entry, { maxLength: 12 }), (entries) => {
      for (const e of entries) expect(z.safeParse(logEntrySchema, e).success).toBe(true);
      const log = foldLog(entries);
      expect(new Set(log.results.map((r) => r.id)).size).toBe(log.results.length);
      const kept = log.results.reduce((n, r) => n + r.history.length, 0);
      expect(kept + log.problems.length).toBe(entries.length);
    }),
  );
});

test("the history of a result says in order what was entered, what it was corrected to, and why it went", () => {
  const first = { k: "result", id: "r", at: at(0), check: "rest-voltage", outcome: "flat" } as const;
  const log: LogEntry[] = [
    first,
    { k: "correct", id: "c", at: at(1), of: "r", outcome: "low", by: "Ann" },
    { k: "withdraw", id: "w", at: at(2), of: "r", words: "Not this vehicle." },
  ];
  const lines = foldLog(log).results.flatMap(historyLines);
  expect(lines.map((line) => line.replace(/^[^:]*:\d\d/, ""))).toEqual([
    expect.stringMatching(/^: entered: under/),
    expect.stringMatching(/^, by Ann: corrected: 12\.0 to/),
    ": withdrawn: Not this vehicle.",
  ]);
});
