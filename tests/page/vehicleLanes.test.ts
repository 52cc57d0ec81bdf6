import { expect, test } from "vitest";
import { readSettings, usualSettings, type Settings } from "../../src/page/lib/app/settings.ts";
import { meetVehicle, vehicleMark } from "../../src/page/lib/app/vehicleLanes.ts";

const van = [
  { address: "7E9", pids: [0x0c] },
  { address: "7E8", pids: [0x0c, 0x04, 0x05] },
];
const hatch = [{ address: "10", pids: [0x0b, 0x0c] }];

function kept(part: Partial<Settings>): { current: Settings; change(wish: Partial<Settings>): void } {
  return {
    current: { ...usualSettings, ...part },
    change(wish) {
      this.current = { ...this.current, ...wish };
    },
  };
}

test("own lanes come back on the vehicle they were chosen for, and are let go on another one", () => {
  const settings = kept({ lanes: [["load"]], pinned: ["load"], folded: ["load"] });
  // Kept by a version that did not know of which vehicle they are: they stay.
  expect(meetVehicle(settings, van)).toBe(true);
  expect(settings.current.lanes).toEqual([["load"]]);
  expect(meetVehicle(settings, van.toReversed())).toBe(true);
  expect(meetVehicle(settings, [])).toBe(true);
  expect(meetVehicle(settings, hatch)).toBe(false);
  expect(settings.current).toMatchObject({ lanes: null, pinned: [], folded: [] });
  expect(meetVehicle(settings, hatch)).toBe(false);
});

test("the mark is the engine module's, and is kept like the other settings", () => {
  expect(vehicleMark(van)).toBe("04050c");
  expect(vehicleMark([])).toBe("");
  const text = JSON.stringify({ ...usualSettings, lanesOf: "04050c" });
  expect(readSettings(text).lanesOf).toBe("04050c");
  expect(readSettings(JSON.stringify({ lanesOf: 5 })).lanesOf).toBe("");
});
