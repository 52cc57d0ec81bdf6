/** One place for stored forms: versions go up step by step, a newer one is refused, renamed ids are found again. */
import { expect, test } from "vitest";
import { isCranksideError } from "../../shared/errors.ts";
import { forms, isNewer, migrated, storedVersion, versionOf, type Form } from "../../shared/stored/forms.ts";
import { withCurrentIds } from "../../shared/stored/jobIds.ts";
import { currentCheck, currentId, formerIds, renamed, type Renamed } from "../../shared/stored/renamed.ts";

/** A form that has come to its third version. */
const third: Form = {
  what: "the thing",
  format: "thing",
  migrate: [
    ({ name, ...rest }) => ({ ...rest, names: [name] }),
    ({ names, ...rest }) => ({ ...rest, names, count: Array.isArray(names) ? names.length : 0 }),
  ],
};

test("each version goes up step by step to today's, with what it does not know", () => {
  expect(versionOf(third)).toBe(3);
  const kept = { format: "thing", unknown: { deep: [1] } };
  const today = { ...kept, version: 3, names: ["van"], count: 1 };
  expect(migrated(third, { ...kept, version: 1, name: "van" }, "x")).toEqual(today);
  expect(migrated(third, { ...kept, name: "van" }, "x")).toEqual(today);
  expect(migrated(third, { ...kept, version: 2, names: ["van"] }, "x")).toEqual(today);
  expect(migrated(third, today, "x")).toBe(today);
});

test("what was stored is not changed by going up", () => {
  const stored = Object.freeze({ format: "thing", version: 1, name: "van" });
  migrated(third, stored, "x");
  expect(stored).toEqual({ format: "thing", version: 1, name: "van" });
});

test("a newer version is refused with a text that says so", () => {
  const newer = { format: "thing", version: 4 };
  expect(isNewer(third, newer)).toBe(true);
  let error: unknown;
  try {
    migrated(third, newer, "thing.json");
  } catch (e) {
    error = e;
  }
  if (!isCranksideError(error, "newer-format")) throw new Error("not refused");
  expect(error.message).toContain("the thing is of a newer format");
  expect(error.message).toContain("version 3 or lower");
  expect(error.message).toContain("version 4");
  expect(error.message).toContain("nothing was changed");
});

test.each([null, 7, "text", [], { format: "another", version: 99 }, { format: "thing", version: "2" }])(
  "what is none of the form, or of no version that can be, is left to its schema: %j",
  (stored) => {
    expect(migrated(third, stored, "x")).toBe(stored);
  },
);

test("a version is a whole number from 1; where none is written it is the first", () => {
  const versions = [undefined, 1, 2, 0, 1.5, "1", null].map((version) => storedVersion({ version }));
  expect(versions).toEqual([1, 1, 2, null, null, null, 1]);
});

test("every form of the program has a version, and those with a format have one of their own", () => {
  const all: readonly Form[] = Object.values(forms);
  const formats = all.flatMap(({ format }) => (format === null ? [] : [format]));
  expect(new Set(formats).size).toBe(formats.length);
  expect(all.map(versionOf).every((version) => version >= 1)).toBe(true);
});

const table: Renamed = {
  causes: { "pump-dead": "pump", pump: "fuel-pump" },
  checks: {
    "old-spark": { now: "spark", outcomes: { blue: "strong", none: "no-spark" } },
    spark: { outcomes: { weak: "thin" } },
  },
  signs: {},
  channels: { rpm: "engine-speed" },
  complaints: { "wont-start": "no-start" },
};

test("an id that was renamed twice is found, an unknown one stays, a ring does not hang", () => {
  expect(currentId("causes", "pump-dead", table)).toBe("fuel-pump");
  expect(currentId("causes", "toString", table)).toBe("toString");
  const ring: Renamed = { ...table, causes: { a: "b", b: "a" } };
  expect(["a", "b"]).toContain(currentId("causes", "a", ring));
  expect(currentCheck({ check: "old-spark", outcome: "blue" }, table)).toEqual({
    check: "spark",
    outcome: "strong",
  });
  expect(currentCheck({ check: "old-spark", outcome: "weak" }, table)).toEqual({
    check: "spark",
    outcome: "thin",
  });
  expect(currentCheck({ check: "old-spark" }, table)).toEqual({ check: "spark" });
  expect(formerIds("causes", "fuel-pump", table)).toEqual(["pump-dead", "pump"]);
  expect(formerIds("checks", "spark", table)).toEqual(["old-spark"]);
});

test("a job refers to today's ids wherever it refers to the tables; its statements stay as they were said", () => {
  const entry = (fields: object): object => ({ order: 1, entry: fields });
  const job = {
    unknown: 1,
    vehicle: { ranges: [{ of: "rpm", low: 1, unknown: 2 }] },
    advice: {
      complaints: ["wont-start", "no-start"],
      order: ["pump-dead"],
      next: "old-spark",
      declined: ["old-spark"],
    },
    clips: { c: { lanes: [["rpm", "coolant"]] } },
    checks: { h: { check: "old-spark", outcome: "none", seen: "x" }, own: { check: null } },
    causes: { k: { cause: "pump" } },
    log: {
      a: entry({ k: "result", id: "a", check: "old-spark", outcome: "blue" }),
      b: entry({ k: "correct", id: "b", of: "a", outcome: "none" }),
      c: entry({ k: "act", id: "c", cause: "pump-dead" }),
      d: entry({ k: "withdraw", id: "d", of: "c" }),
    },
    entries: { e: { says: { kind: "advice", advice: { causes: [{ id: "pump-dead" }] } } } },
  };
  const before = JSON.stringify(job);
  expect(withCurrentIds(job, table)).toEqual({
    unknown: 1,
    vehicle: { ranges: [{ of: "engine-speed", low: 1, unknown: 2 }] },
    advice: { complaints: ["no-start"], order: ["fuel-pump"], next: "spark", declined: ["spark"] },
    clips: { c: { lanes: [["engine-speed", "coolant"]] } },
    checks: { h: { check: "spark", outcome: "no-spark", seen: "x" }, own: { check: null } },
    causes: { k: { cause: "fuel-pump" } },
    log: {
      a: entry({ k: "result", id: "a", check: "spark", outcome: "strong" }),
      b: entry({ k: "correct", id: "b", of: "a", outcome: "no-spark" }),
      c: entry({ k: "act", id: "c", cause: "fuel-pump" }),
      d: entry({ k: "withdraw", id: "d", of: "c" }),
    },
    entries: job.entries,
  });
  expect(JSON.stringify(job)).toBe(before);
  expect(withCurrentIds({ log: 1, advice: null, clips: { c: 7 } }, table)).toEqual({
    log: 1,
    advice: null,
    clips: { c: 7 },
  });
});

test("the table of renamed ids has no row that leads to itself", () => {
  for (const kind of ["causes", "signs", "channels", "complaints"] as const)
    for (const old of Object.keys(renamed[kind])) expect(currentId(kind, old)).not.toBe(old);
});
