/** The tables hold together: nothing that logic relies on is missing, and each row says where it is from. */
import { expect, test } from "vitest";
import { z } from "zod/mini";
import { buildModel, outcomesOf, saidByOutcomes } from "../../src/interpret/causes/model.ts";
import { unseparated } from "../../src/interpret/causes/separable.ts";
import {
  causeRowSchema,
  handCheckRowSchema,
  signSaysSchema,
} from "../../src/interpret/causes/tableSchema.ts";
import { checkActs } from "../../src/interpret/causes/tables/acts.ts";
import { cautions } from "../../src/interpret/causes/tables/cautions.ts";
import { causes } from "../../src/interpret/causes/tables/causes.ts";
import { handChecks } from "../../src/interpret/causes/tables/checks.ts";
import { codesSay, codesSource } from "../../src/interpret/causes/tables/codesSay.ts";
import { inseparable } from "../../src/interpret/causes/tables/inseparable.ts";
import { labels } from "../../src/interpret/causes/tables/labels.ts";
import { tools } from "../../src/interpret/causes/tables/tools.ts";
import { complaints, type CauseRow, type HandCheckRow } from "../../src/interpret/causes/types.ts";
import { signRow, signRows } from "../../src/interpret/tables/signs.ts";
import type { SignSays } from "../../src/interpret/tables/signs/row.ts";

const rows: readonly CauseRow[] = causes;
const checks: readonly HandCheckRow[] = handChecks;
const causeIds = new Set<string>(rows.map((c) => c.id));
const checkIds = new Set<string>(checks.map((c) => c.id));
const signSays: readonly (readonly [string, SignSays])[] = Object.keys(signRows).flatMap((id) => {
  const says = signRow(id)?.says;
  return says === undefined ? [] : [[id, says] as const];
});
const sum = (p: readonly number[]): number => p.reduce((a, b) => a + b, 0);

test("at least 40 causes and 35 hand checks, each of its own name", () => {
  expect(rows.length).toBeGreaterThanOrEqual(40);
  expect(checks.length).toBeGreaterThanOrEqual(35);
  expect(causeIds.size).toBe(rows.length);
  expect(checkIds.size).toBe(checks.length);
  for (const complaint of complaints) {
    // What charges, and what turns the engine, is one circuit of few parts.
    const few = { "not-charging": 5, overcharges: 4, "cranks-slowly": 8, "no-answer": 10 };
    const least = (few as Partial<Record<string, number>>)[complaint] ?? 10;
    expect(rows.filter((c) => (c.weight[complaint] ?? 0) > 0).length, complaint).toBeGreaterThanOrEqual(
      least,
    );
  }
});

test("every row has the shape that a person who corrects it must keep", () => {
  for (const row of rows) z.parse(causeRowSchema, row);
  for (const row of checks) z.parse(handCheckRowSchema, row);
  for (const [, says] of signSays) z.parse(signSaysSchema, says);
});

test("every row names a source, common practice, or memory", () => {
  const named =
    /common practice|from memory|service manual|study guide|training text|article|class sheet|bulletin|signs?\b/i;
  for (const row of [...rows, ...checks, ...signSays.map(([, says]) => says)]) {
    expect(row.source).toMatch(named);
  }
  for (const check of checks)
    if (check.reading !== undefined) expect(check.reading.source.length).toBeGreaterThan(5);
});

test("of each check's outcomes one is what is left, and never nothing", () => {
  for (const check of checks) {
    const rest = check.outcomes.filter((o) => o.often === undefined);
    expect(
      rest.map((o) => o.id),
      check.id,
    ).toHaveLength(1);
    const says = saidByOutcomes(check.outcomes);
    for (const row of [says.otherwise, ...Object.values(says.given)]) {
      expect(Math.min(...row), `${check.id} ${JSON.stringify(row)}`).toBeGreaterThan(0.001);
      expect(sum(row)).toBeCloseTo(1, 9);
    }
    for (const cause of Object.keys(says.given)) expect(causeIds, check.id).toContain(cause);
  }
});

test("what is left of a sign's sides is within, and never nothing", () => {
  for (const [id, row] of signSays) {
    const says = saidByOutcomes(outcomesOf(row));
    for (const p of [says.otherwise, ...Object.values(says.given)]) {
      expect(Math.min(...p), id).toBeGreaterThan(0.001);
      expect(sum(p), id).toBeCloseTo(1, 9);
    }
    for (const cause of Object.keys(says.given)) expect(causeIds, id).toContain(cause);
  }
});

test("a hand check tells the same story as a sign only where it reads the same quantity once more", () => {
  const signGroups: ReadonlySet<string> = new Set(signSays.map(([, says]) => says.group));
  const shared = checks.filter((row) => signGroups.has(row.group));
  // Volts at rest and charging; how it turns, as heard; the same pressures by a gauge; the throttle's same reading;
  // the same fall of speed without a cylinder.
  expect(shared.map((check) => check.id).sort()).toEqual([
    "alternator-output",
    "fuel-pressure",
    "fuel-pressure-load",
    "listen-starter",
    "pedal-down",
    "rest-voltage",
    "unplug-cylinder",
    "vacuum-gauge",
  ]);
});

test("in the model every question sums to one, shaken or not, and none of these has a row of its own", () => {
  const model = buildModel();
  for (const q of model.questions.values()) {
    for (const row of [...q.rows, q.none]) expect(sum([...row]), q.id).toBeCloseTo(1, 9);
    for (const row of q.rows) for (const p of row) expect(p).toBeGreaterThan(0);
  }
});

test("every hand check has a caution, or says that none is needed", () => {
  for (const check of checks) {
    if (check.caution === "none needed") continue;
    for (const id of check.caution) expect(Object.keys(cautions), check.id).toContain(id);
  }
  const must: Record<string, string> = {
    "add-fuel": "starting-fluid",
    "fuel-pressure": "fuel-line",
    "pulse-spray": "fuel-spray",
    "spark-test": "spark",
    booster: "jump",
    "exhaust-open": "lifting",
    compression: "compression-crank",
    "unplug-cylinder": "catalyst",
    "scan-again": "clearing",
    "alternator-output": "exhaust",
  };
  for (const [id, caution] of Object.entries(must)) {
    expect(checks.find((c) => c.id === id)?.caution, id).toContain(caution);
  }
  for (const check of checks.filter((c) => c.state === "turns" && c.caution !== "none needed")) {
    const cranked = check.steps.join(" ").match(/\bcrank(?:ing|s|ed)?\b/i) !== null;
    const warned = [check.caution]
      .flat()
      .some((c) => ["cranking", "compression-crank", "exhaust"].includes(c));
    if (cranked) expect(warned, check.id).toBe(true);
  }
});

test("tools, opened things and prerequisites exist, and no check waits for itself", () => {
  for (const check of checks) {
    for (const tool of check.tools) expect(Object.keys(tools)).toContain(tool);
    if (check.minutesOpen !== undefined) {
      expect(check.opens, check.id).toBeDefined();
      expect(check.minutesOpen).toBeLessThanOrEqual(check.minutes);
    }
    const seen = new Set<string>();
    const walk = (id: string): void => {
      for (const first of checks.find((c) => c.id === id)?.after ?? []) {
        for (const before of first.or === undefined ? [first] : [first, first.or]) {
          const other = checks.find((c) => c.id === before.check);
          expect(other, `${id} after ${before.check}`).toBeDefined();
          for (const outcome of before.outcomes ?? []) {
            expect(other?.outcomes.map((o) => o.id)).toContain(outcome);
          }
        }
        expect(first.check).not.toBe(check.id);
        if (!seen.has(first.check)) {
          seen.add(first.check);
          walk(first.check);
        }
      }
    };
    walk(check.id);
  }
});

test("outcomes of a check have names of their own, ranges that do not overlap, and one that is normal", () => {
  for (const check of checks) {
    expect(new Set(check.outcomes.map((o) => o.id)).size).toBe(check.outcomes.length);
    // Neither outcome of these two is what a sound vehicle shows: they only turn the search.
    if (check.id !== "wet-test" && check.id !== "add-fuel")
      expect(
        check.outcomes.some((o) => o.normal === true),
        check.id,
      ).toBe(true);
    const ranged = check.outcomes.filter((o) => o.from !== undefined || o.to !== undefined);
    if (ranged.length > 0) expect(check.reading, check.id).toBeDefined();
    for (const [i, a] of ranged.entries()) {
      for (const b of ranged.slice(i + 1)) {
        const low = Math.max(a.from ?? -Infinity, b.from ?? -Infinity);
        const high = Math.min(a.to ?? Infinity, b.to ?? Infinity);
        expect(low, `${check.id}: ${a.id} and ${b.id}`).toBeGreaterThanOrEqual(high);
      }
    }
  }
});

test("acts and labels name checks, outcomes and causes that exist", () => {
  for (const act of checkActs) {
    const check = checks.find((c) => c.id === act.check);
    expect(check?.outcomes.map((o) => o.id)).toContain(act.outcome);
    for (const cause of act.causes) expect(causeIds).toContain(cause);
    if (act.undo !== undefined)
      expect(checks.find((c) => c.id === act.undo)?.after?.[0]?.check).toBe(act.check);
  }
  for (const label of labels) expect(checkIds).toContain(label.check);
});

test("trouble codes are written as codes, each in one row", () => {
  expect(codesSource).toMatch(/from memory/);
  const all = codesSay.map((row) => row.code);
  for (const code of all) expect(code).toMatch(/^[PCBU][0-3][0-9A-F]{3}$/);
  expect(new Set(all).size).toBe(all.length);
  for (const row of codesSay) for (const cause of Object.keys(row.given)) expect(causeIds).toContain(cause);
});

test("every cause can be told from its neighbours by at least one check, or is declared inseparable", () => {
  const open = unseparated(buildModel()).map((u) => [u.a, u.b].sort().join(" "));
  const declared = inseparable.map((row) => [...row.causes].sort().join(" "));
  expect(open.sort()).toEqual([...declared].sort());
  for (const row of inseparable) expect(row.why.length).toBeGreaterThan(20);
});

test("every cause is spoken of by a hand check", () => {
  for (const cause of rows) {
    const spoken = checks.some((row) => row.outcomes.some((o) => Object.hasOwn(o.often ?? {}, cause.id)));
    expect(spoken, cause.id).toBe(true);
  }
});

/** The kinds of check that a complete list must have, and ours for each. */
const wanted: Record<string, readonly string[]> = {
  "battery and cable drop": ["rest-voltage", "drop-cranking"],
  "spark with a tester": ["spark-test"],
  "injector pulse": ["injector-pulse"],
  "fuel pressure, static, running, bleed-down": ["fuel-pressure", "fuel-pressure-load", "bleed-down"],
  "fuel sample": ["fuel-glass"],
  "fuel added while cranking, at idle": ["add-fuel", "fuel-added-idle"],
  "compression dry, wet": ["compression", "wet-test"],
  "leak-down": ["leak-down"],
  "cylinder unplugged in turn": ["unplug-cylinder"],
  "timing mark and rotor": ["timing-marks"],
  "look down the bore": ["bore-look"],
  "relay swapped and back": ["relay-swap", "relay-back"],
  "voltage at relay and coil while cranking": ["relay-volts", "coil-volts"],
  "sensor unplugged, wiggled": ["sensor-unplug", "plug-wiggle"],
  "intake sealed or smoke": ["intake-sealed", "smoke"],
  "exhaust opened; back-pressure": ["exhaust-open", "back-pressure"],
  "vacuum gauge": ["vacuum-gauge"],
  "clear-flood crank": ["clear-flood"],
  "pulse-and-spray": ["pulse-spray"],
  "injector, coil moved": ["injector-moved", "swap-coil"],
  "scan again after clearing": ["scan-again"],
  "immobiliser lamp": ["security-lamp"],
  "ground and supply of the module": ["module-feed"],
  "fuel level": ["fuel-level"],
};
test.each(Object.entries(wanted))("a hand check for: %s", (_kind, ids) => {
  for (const id of ids) expect(checkIds).toContain(id);
});

test("pressure comes before pulse and spray", () => {
  expect(checks.find((c) => c.id === "pulse-spray")?.after?.[0]?.check).toBe("fuel-pressure");
});
