/** The table of signs, both ways: what a row names is there, and what is there stands in a row. */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { figures, regimes } from "../../shared/ranges.ts";
import { causes } from "../../src/interpret/causes/tables/causes.ts";
import { handChecks } from "../../src/interpret/causes/tables/checks.ts";
import { interpret, type Sign } from "../../src/interpret/index.ts";
import { ofKind } from "../../src/interpret/profile/gate.ts";
import { profileOf } from "../../src/interpret/profile/profile.ts";
import { families } from "../../src/interpret/report/schema.ts";
import { makeSign } from "../../src/interpret/report/sign.ts";
import { circumstances } from "../../src/interpret/tables/circumstances.ts";
import { nextRecordings } from "../../src/interpret/tables/nextRecordings.ts";
import { signRow, signRows, type SignId } from "../../src/interpret/tables/signs.ts";
import type { SignRow } from "../../src/interpret/tables/signs/row.ts";
import { Reading } from "../../src/reading/index.ts";
import { readRecording } from "../../src/recorder/read.ts";

const signIds = Object.keys(signRows) as SignId[];
const rows: readonly (readonly [SignId, SignRow])[] = signIds.map((id) => [id, signRow(id)]);
const causeIds = new Set<string>(causes.map((c) => c.id));
const checkIds = new Set<string>(handChecks.map((c) => c.id));

/** The code that judges, without tables and without what weighs causes. */
const room = join(import.meta.dirname, "../../src/interpret");
const code = readdirSync(room, { recursive: true, encoding: "utf8" })
  .filter((f) => f.endsWith(".ts") && !/^(?:tables|causes)\//.test(f))
  .map((f) => readFileSync(join(room, f), "utf8"))
  .join("\n");

test("every sign belongs to a family and has words for each verdict it can have", () => {
  for (const [id, row] of rows) {
    expect(families.map(String)).toContain(id.slice(0, id.indexOf(".")));
    expect(row.outside, id).not.toBe(row.within);
    expect(row.checks.length, id).toBeGreaterThan(0);
  }
  // Two of one title could not be told apart on the sheet.
  expect(new Set(rows.map(([, row]) => row.title)).size).toBe(rows.length);
});

test("every sign is made somewhere, and what is made has a row", () => {
  const made = (id: string): boolean =>
    code.includes(`"${id}"`) || (id.endsWith(".codes") && code.includes("${family}.codes"));
  expect(signIds.filter((id) => !made(id))).toEqual([]);
  const named = [...code.matchAll(/"((?:power|crank|sensor|mixture|misfire|counter|link)\.[a-z-]+)"/g)];
  expect(named.map((m) => m[1]).filter((id) => !signIds.includes(id as SignId))).toEqual([]);
});

test("every sign speaks of causes, or says why it is silent of them", () => {
  for (const [id, row] of rows) {
    expect((row.says === undefined) !== (row.silent === undefined), id).toBe(true);
    if (row.silent !== undefined) expect(row.silent.length, id).toBeGreaterThan(20);
  }
});

test("causes, hand checks, circumstances and what to record: every id exists, in one table only", () => {
  const tables = [causeIds, new Set(Object.keys(circumstances))];
  const asked = [checkIds, new Set(Object.keys(nextRecordings))];
  for (const [id, row] of rows) {
    for (const cause of row.causes ?? []) expect(causeIds, id).toContain(cause);
    for (const also of row.also) expect(Object.keys(circumstances), id).toContain(also);
    for (const check of row.checks)
      expect(asked.filter((t) => t.has(check)).length, `${id} ${check}`).toBe(1);
    for (const again of row.again?.by === "sign" ? row.again.ids : []) expect(signIds, id).toContain(again);
  }
  for (const [one, other] of [tables, asked]) {
    expect([...(one ?? [])].filter((id) => other?.has(id) === true)).toEqual([]);
  }
});

test("every circumstance and every next recording is pointed to, by a row or by the evidence", () => {
  const used = new Set<string>(rows.flatMap(([, row]) => [...row.also, ...row.checks]));
  const spare = [...Object.keys(circumstances), ...Object.keys(nextRecordings)].filter(
    (id) => !used.has(id) && !code.includes(`"${id}"`),
  );
  expect(spare).toEqual([]);
});

test("every figure is used: a row names it and the code judges by it, and every row's figure exists", () => {
  const named = new Set<string>(rows.flatMap(([, row]) => row.figures));
  const known = figures.map((f) => f.of);
  expect([...named].filter((f) => !known.includes(f as (typeof known)[number]))).toEqual([]);
  expect(known.filter((f) => !named.has(f))).toEqual([]);
  expect(known.filter((f) => !code.includes(`"${f}"`))).toEqual([]);
});

test("a sign points to what it speaks for, by its side, and never to what would do the opposite", () => {
  const like = (sign: Sign): string[] => sign.looksLike.map((l) => l.id);
  const lean = like(makeSign("mixture.lean", { verdict: "outside" }));
  expect(lean).toContain("air-leak-large");
  expect(lean).not.toContain("pressure-high");
  expect(lean).not.toContain("injector-open");
  const slow = like(makeSign("crank.speed", { verdict: "outside", side: "low" }));
  expect(slow).toEqual(expect.arrayContaining(["engine-tight", "starter-worn", "battery-worn"]));
  expect(slow).not.toContain("compression-all");
  expect(like(makeSign("crank.speed", { verdict: "outside", side: "high" }))).toContain("compression-all");
  expect(like(makeSign("mixture.lean", { verdict: "within" }))).toEqual([]);
});

test("causes and checks come in the words of their own tables, with their cautions", () => {
  const sign = makeSign("crank.no-fire", { verdict: "outside" });
  const spark = sign.looksLike.find((l) => l.id === "spark-dead");
  const name = causes.find((c) => c.id === "spark-dead")?.name ?? "";
  expect(spark?.text.toLowerCase()).toBe(name.toLowerCase());
  const test = sign.checks.find((c) => c.id === "spark-test");
  const row = handChecks.find((c) => c.id === "spark-test");
  expect(test?.text).toContain(row?.name);
  expect(test?.text).toContain(row?.steps[0]);
  expect(test?.caution).toMatch(/grounded tester/);
});

const seen = {
  ...{ unthrottled: false, throttledIdle: false, aboveOutside: null, fullLoad: false, restVolts: null },
  ...{ shutOffs: 0, restarts: 0, movedWithoutEngine: 0 },
};

test("a diesel is never led to coils and plugs, nor one without an air-flow meter to the meter", () => {
  const about = (facts: Parameters<typeof profileOf>[0], id: SignId): Sign | undefined => {
    const reading = new Reading("none");
    const profile = profileOf(facts, reading, seen);
    return ofKind([makeSign(id, { verdict: "outside" })], profile)[0];
  };
  const rough = about({ fuel: "diesel" }, "misfire.rough");
  expect(rough?.looksLike.map((l) => l.id)).toContain("injector-clogged-one");
  expect(rough?.looksLike.map((l) => l.id)).not.toContain("coil-one");
  expect(rough?.checks.map((c) => c.id)).not.toContain("swap-coil");
  const dies = about({ fuel: "petrol", metering: "manifold-pressure" }, "crank.dies");
  expect(dies?.looksLike.map((l) => l.id)).toContain("air-leak-large");
  expect(dies?.looksLike.map((l) => l.id)).not.toContain("air-meter-low");
});

const samples = join(import.meta.dirname, "../../recordings");
test("signs of the samples are judged where their rows say", async () => {
  const beside: string[] = [];
  for (const file of readdirSync(samples).filter((f) => f.endsWith(".ndjson.gz"))) {
    const reading = new Reading(file);
    await readRecording(join(samples, file), reading.sink);
    const findings = interpret(reading);
    for (const sign of findings.signs.filter((s) => s.verdict !== "cannot-tell")) {
      const { judged } = signRow(sign.id as SignId);
      const where: ReadonlySet<string> = new Set(judged);
      if (where.has("any") || where.has("survey") || where.has("marks")) continue;
      for (const window of sign.windows) {
        const here = findings.regimes.filter((r) => r.from <= window.to && r.to >= window.from);
        if (!here.some((r) => where.has(r.regime))) {
          beside.push(`${file} ${sign.id}: ${here.map((r) => r.regime).join(", ")}`);
        }
      }
    }
  }
  expect(beside).toEqual([]);
  for (const [, row] of rows) {
    for (const at of row.judged) expect([...regimes, "survey", "marks", "any"]).toContain(at);
  }
});
