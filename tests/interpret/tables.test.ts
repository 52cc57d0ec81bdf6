import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { channelInfo } from "../../shared/decode.ts";
import { figures, ranges, rangeFor, regimes, type Regime } from "../../shared/ranges.ts";
import { isUnitId } from "../../shared/units.ts";
import type { VehicleFacts } from "../../shared/vehicle.ts";
import { findingsSchema, VehicleRanges } from "../../src/interpret/index.ts";
import { knownKind } from "../../src/interpret/report/ranges.ts";
import { signSchema, crankSchema, type ProfileEntry } from "../../src/interpret/report/schema.ts";
import { judge } from "../../src/interpret/report/sign.ts";
import { codeGroups, codeGroup } from "../../src/interpret/tables/codes.ts";

describe("the ranges", () => {
  test("each has a source, edges in order, and a channel or figure of its own", () => {
    for (const row of ranges) {
      expect([row.channel, channelInfo(row.channel) !== undefined]).toEqual([row.channel, true]);
      expect(row.low).toBeLessThan(row.high);
      expect(row.source.length).toBeGreaterThan(5);
    }
    for (const row of figures) {
      expect([row.of, isUnitId(row.unit)]).toEqual([row.of, true]);
      expect(row.source.length).toBeGreaterThan(5);
      expect(row.margin).toBeGreaterThan(0);
      if (row.low !== null && row.high !== null) expect(row.high - row.low).toBeGreaterThan(2 * row.margin);
    }
    const keys = ranges.map((r) => `${r.channel} ${r.regime}`);
    expect(new Set(keys).size).toBe(keys.length);
    expect(new Set(figures.map((f) => f.of)).size).toBe(figures.length);
  });

  test("cold and warm idle, held speed and cruise fall back on their group", () => {
    expect(rangeFor("engine-speed", "idle-warm")).toEqual(rangeFor("engine-speed", "idle"));
    expect(rangeFor("module-voltage", "cruise")).toEqual(rangeFor("module-voltage", "running"));
    for (const regime of regimes) expect(rangeFor("coolant", regime)?.regime).toBe("any");
  });

  test("a vehicle's own range stands in place of the general one, for the regime it names", () => {
    const own = new VehicleRanges({
      throttled: true,
      ranges: [{ of: "manifold", regime: "idle", low: 40, high: 60, source: "manual, page 3" }],
    });
    expect(own.channel("manifold", "idle-warm")).toMatchObject({ low: 40, replaced: true });
    expect(own.channel("manifold", "cranking")).toMatchObject({ low: 84, replaced: false });
    // ISA at 2000 m: 79.5 kPa.
    const high = new VehicleRanges({ altitudeM: 2000 }).channel("manifold", "key-on");
    expect(high?.low).toBeCloseTo(74.5, 1);
    expect(high?.high).toBeCloseTo(84.5, 1);
  });

  test("each range is told for the kind of vehicle that it holds for, and for no unknown one", () => {
    const low = (facts: VehicleFacts, channel: string, regime: Regime): number | null | undefined =>
      new VehicleRanges(facts).channel(channel, regime)?.low;
    for (const [channel, regime] of [
      ["throttle", "idle-warm"],
      ["manifold", "idle"],
      ["trim-short-b1", "cruise"],
      ["engine-speed", "cranking"],
      ["socket-voltage", "running"],
    ] as const)
      expect(low({}, channel, regime), channel).toBeUndefined();
    expect(low({}, "coolant", "idle")).toBe(-39);
    expect(low({ fuel: "petrol" }, "trim-short-b1", "cruise")).toBe(-12);
    expect(low({ fuel: "petrol" }, "manifold", "idle")).toBe(25);
    expect(low({ fuel: "diesel" }, "trim-short-b1", "cruise")).toBeUndefined();
    expect(low({ fuel: "diesel" }, "manifold", "idle")).toBeUndefined();
    expect(low({ fuel: "diesel", throttled: true }, "manifold", "idle")).toBe(25);
    expect(low({ fuel: "petrol" }, "engine-speed", "cranking")).toBe(150);
    expect(low({ fuel: "diesel" }, "engine-speed", "cranking")).toBe(180);
    expect(low({ supplyVolts: 12 }, "socket-voltage", "running")).toBe(13.2);
    expect(low({ supplyVolts: 24 }, "socket-voltage", "running")).toBe(26.4);
  });

  test("what was found of the kind counts, and what a person told goes before it", () => {
    const profile = (of: ProfileEntry["of"], value: string | null): ProfileEntry => ({
      ...{ of, value, name: of, from: "seen", sure: "likely", why: "" },
    });
    const found = knownKind([
      profile("fuel", "diesel"),
      profile("throttled", "no"),
      profile("supply", "24 V"),
    ]);
    expect(found).toEqual({ fuel: "diesel", throttled: false, supply: 24 });
    expect(new VehicleRanges({}, found).channel("module-voltage", "key-on")?.low).toBe(24);
    expect(new VehicleRanges({}, found).channel("throttle", "idle")).toBeNull();
    expect(new VehicleRanges({ fuel: "petrol" }, found).channel("throttle", "idle")?.low).toBe(8);
    expect(knownKind([profile("fuel", null)])).toEqual({ fuel: null, throttled: null, supply: null });
    expect(knownKind(undefined)).toBeUndefined();
  });
});

describe("the verdict", () => {
  const range = { low: 10, high: 20, margin: 1 };
  test.each([
    [15, 0, "within"],
    [10.5, 0, "near"],
    [19.5, 0, "near"],
    [9, 0, "outside"],
    [9, 2, "near"],
    [25, 2, "outside"],
    [Number.NaN, 0, "cannot-tell"],
  ])("%f with an uncertainty of %f is %s", (value, uncertainty, verdict) => {
    expect(judge(value, range, uncertainty).verdict).toBe(verdict);
  });

  test("an open edge is no edge", () => {
    expect(judge(1e6, { low: 10, high: null, margin: 1 }).verdict).toBe("within");
  });
});

test("groups of codes do not overlap, and each code of the start chain is known", () => {
  for (const a of codeGroups) {
    expect(a.from <= a.to).toBe(true);
    const clash = codeGroups.filter((b) => b !== a && b.from <= a.to && a.from <= b.to);
    expect([a.from, clash.map((c) => c.from)]).toEqual([a.from, []]);
  }
  // Meanings from memory of SAE J2012.
  for (const [code, family] of [
    ["P0335", "crank"],
    ["P0340", "crank"],
    ["P0513", "crank"],
    ["P0171", "mixture"],
    ["P0302", "misfire"],
    ["P0117", "sensor"],
    ["P0562", "power"],
  ] as const)
    expect([code, codeGroup(code)?.family]).toEqual([code, family]);
});

test("the description names every field of the schema", () => {
  const text = readFileSync(join(import.meta.dirname, "../../src/interpret/FINDINGS.md"), "utf8");
  for (const schema of [findingsSchema, signSchema, crankSchema])
    for (const field of Object.keys(schema.shape))
      expect([field, text.includes(`\`${field}\``)]).toEqual([field, true]);
});
