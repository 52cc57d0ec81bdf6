/**
 * Worked examples of the rows in laterParameters.ts. Where "captured" stands the bytes came from a real module and the
 * figures from the open collection OBDb (CC BY-SA 4.0); the rest is computed by hand from the formula as the row says it.
 */
import type { Example } from "./parameterExamples.ts";

const row = (pid: number, data: string, values: Readonly<Record<string, number>>): Example => ({
  pid,
  data,
  values,
});

export const laterExamples: readonly Example[] = [
  row(0x5f, "11", { "emission-rule": 17 }),
  row(0x65, "10 00", { "gear-recommended": 0 }), // captured
  row(0x65, "08 00", { "glow-lamp": 0 }), // captured
  // Nibble 5: fifth gear; bits 3, 1 and 0 set.
  row(0x65, "1F 5B", {
    "power-take-off": 1,
    "neutral-drive": 1,
    "neutral-gear": 0,
    "glow-lamp": 1,
    "gear-recommended": 5,
  }),
  // Captured: 38h * 100 / 255, 39h * 100 / 255, (82h - 80h) * 100 / 128.
  row(0x69, "3F 38 39 82 00 00 80", {
    "egr-commanded-a": 5600 / 255,
    "egr-actual-a": 5700 / 255,
    "egr-error-a": 1.5625,
    "egr-commanded-b": 0,
    "egr-actual-b": 0,
    "egr-error-b": 0,
  }),
  row(0x6a, "0F 33 66 99 CC", {
    "intake-control-a": 20,
    "intake-position-a": 40,
    "intake-control-b": 60,
    "intake-position-b": 80,
  }),
  row(0x6b, "20 00 1B 00 00", { "egr-temp-b1s2": -13 }), // captured, with its figure
  row(0x6b, "01 31 00 00 00", { "egr-temp-b1s1": 9 }),
  // Captured: 10 * 09C4h and 10 * 09C3h.
  row(0x6d, "03 09 C4 09 C3 00 00 00 00 00 00", { "rail-commanded-a": 25000, "rail-actual-a": 24990 }),
  row(0x6d, "3F 09 C4 09 C3 50 00 01 00 02 28", {
    "rail-commanded-a": 25000,
    "rail-actual-a": 24990,
    "rail-temperature-a": 40,
    "rail-commanded-b": 10,
    "rail-actual-b": 20,
    "rail-temperature-b": 0,
  }),
  row(0x6e, "0F 01 F4 01 F3 00 01 00 02", {
    "injection-commanded-a": 5000,
    "injection-pressure-a": 4990,
    "injection-commanded-b": 10,
    "injection-pressure-b": 20,
  }),
  row(0x6f, "03 65 64", { "compressor-inlet-a": 101, "compressor-inlet-b": 100 }),
  row(0x71, "1B 33 66 99 CC 00", {
    "vanes-commanded-a": 20,
    "vanes-a": 40,
    "vanes-commanded-b": 60,
    "vanes-b": 80,
  }),
  // Captured: 83h * 100 / 255 and FFh.
  row(0x72, "03 83 FF 00 00", { "wastegate-commanded-a": 13100 / 255, "wastegate-a": 100 }),
  row(0x72, "0C 00 00 33 66", { "wastegate-commanded-b": 20, "wastegate-b": 40 }),
  row(0x73, "03 27 10 28 A0", { "exhaust-pressure-b1": 100, "exhaust-pressure-b2": 104 }), // 10000 / 100
  row(0x74, "03 1F 40 00 64", { "turbo-speed-a": 80000, "turbo-speed-b": 1000 }),
  row(0x75, "0F 3C 8C 1F 40 19 00", {
    "turbo-compressor-in-a": 20,
    "turbo-compressor-out-a": 100,
    "turbo-turbine-in-a": 760, // 8000 / 10 - 40
    "turbo-turbine-out-a": 600, // 6400 / 10 - 40
  }),
  row(0x76, "05 3C 00 1F 40 00 00", { "turbo-compressor-in-b": 20, "turbo-turbine-in-b": 760 }),
  row(0x77, "0F 3C 3D 3E 3F", {
    "charge-air-b1s1": 20,
    "charge-air-b1s2": 21,
    "charge-air-b2s1": 22,
    "charge-air-b2s2": 23,
  }),
  row(0x78, "05 11 94 00 00 0F A0 00 00", { "exhaust-temp-b1s1": 410, "exhaust-temp-b1s3": 360 }),
  row(0x79, "0A 00 00 01 90 00 00 11 94", { "exhaust-temp-b2s2": 0, "exhaust-temp-b2s4": 410 }),
  row(0x7a, "07 FF 9C 27 10 28 A0", {
    "filter-drop-b1": -1, // FF9Ch = -100; / 100
    "filter-inlet-pressure-b1": 100,
    "filter-outlet-pressure-b1": 104,
  }),
  row(0x7b, "01 01 F4 00 00 00 00", { "filter-drop-b2": 5 }),
  // Captured: 0022DFB2h and 0004E260h seconds.
  row(0x7f, "03 00 22 DF B2 00 04 E2 60 00 00 00 00", {
    "total-run-time": 2285490,
    "total-idle-time": 320096,
  }),
  row(0x7f, "04 00 00 00 00 00 00 00 00 00 00 0E 10", { "total-pto-time": 3600 }),
  row(0x84, "5A", { "manifold-surface": 50 }), // 90 - 40
  row(0x87, "03 0C 80 19 00", { "manifold-a": 100, "manifold-b": 200 }), // 3200 / 32; 6400 / 32
  row(0x98, "01 11 94 00 00 00 00 00 00", { "exhaust-temp-b1s5": 410 }),
  row(0x99, "08 00 00 00 00 00 00 11 94", { "exhaust-temp-b2s8": 410 }),
  // Captured: 3779h / 64 and 0009h / 10; byte B is 00.
  row(0x9a, "07 00 37 79 00 09", {
    "hybrid-charging": 0,
    "traction-volts": 221.890625,
    "traction-current": 0.9,
  }),
  // Captured: 3C93h / 64; FFCBh = -53, / 10.
  row(0x9a, "07 00 3C 93 FF CB", {
    "hybrid-charging": 0,
    "traction-volts": 242.296875,
    "traction-current": -5.3,
  }),
  row(0x9a, "08 04 00 00 00 00", { "hybrid-charging-enhanced": 2 }), // bits 2 and 1: 10b
  // Captured.
  row(0x9f, "05 FF 00 FF 00 00 00 00 00", { "fuel-share-a-b1": 100, "fuel-share-a-b2": 100 }),
  row(0x9f, "FA 00 33 00 66 99 CC FF 33", {
    "fuel-share-b-b1": 20,
    "fuel-share-b-b2": 40,
    "fuel-share-a-b3": 60,
    "fuel-share-b-b3": 80,
    "fuel-share-a-b4": 100,
    "fuel-share-b-b4": 20,
  }),
  row(0xa1, "03 00 64 01 2C 00 00 00 00", { "nox-corrected-b1s1": 100, "nox-corrected-b1s2": 300 }),
  row(0xa5, "01 64 00 00", { "reagent-dosing": 50 }), // 100 / 2
  row(0xaa, "82", { "speed-limit": 130 }),
  row(0xb2, "CC", { "traction-health": 80 }), // 204 * 100 / 255
];

type Range = readonly [low: number, high: number];

const ab = (name: string): string[] => [`${name}-a`, `${name}-b`];
const b12 = (name: string): string[] => [`${name}-b1`, `${name}-b2`];
const places = ["b1s1", "b1s2", "b2s1", "b2s2"];

function each(channels: readonly string[], range: Range): Record<string, Range> {
  return Object.fromEntries(channels.map((channel) => [channel, range]));
}

export const laterBounds: Readonly<Record<string, Range>> = {
  "gear-recommended": [0, 15],
  ...each(
    [
      ...["egr-commanded", "egr-actual", "intake-control", "intake-position"].flatMap(ab),
      ...["vanes-commanded", "vanes", "wastegate-commanded", "wastegate"].flatMap(ab),
      ...[1, 2, 3, 4].flatMap((bank) => [`fuel-share-a-b${bank}`, `fuel-share-b-b${bank}`]),
      "traction-health",
    ],
    [0, 100],
  ),
  ...each(ab("egr-error"), [-100, 99.21875]),
  ...each(
    [
      ...places.flatMap((place) => [`egr-temp-${place}`, `charge-air-${place}`]),
      ...["rail-temperature", "turbo-compressor-in", "turbo-compressor-out"].flatMap(ab),
      "manifold-surface",
    ],
    [-40, 215],
  ),
  ...each(
    [
      ...["turbo-turbine-in", "turbo-turbine-out"].flatMap(ab),
      ...[1, 2, 3, 4, 5, 6, 7, 8].flatMap((s) => [`exhaust-temp-b1s${s}`, `exhaust-temp-b2s${s}`]),
    ],
    [-40, 6513.5],
  ),
  ...each(
    ["rail-commanded", "rail-actual", "injection-commanded", "injection-pressure", "turbo-speed"].flatMap(ab),
    [0, 655350],
  ),
  ...each(ab("compressor-inlet"), [0, 255]),
  ...each(
    [...b12("exhaust-pressure"), ...b12("filter-inlet-pressure"), ...b12("filter-outlet-pressure")],
    [0, 655.35],
  ),
  ...each(b12("filter-drop"), [-327.68, 327.67]),
  ...each(["total-run-time", "total-idle-time", "total-pto-time"], [0, 4294967295]),
  ...each(ab("manifold"), [0, 2047.96875]),
  "traction-volts": [0, 1023.984375],
  "traction-current": [-3276.8, 3276.7],
  ...each(
    places.map((place) => `nox-corrected-${place}`),
    [0, 65535],
  ),
  "reagent-dosing": [0, 127.5],
  "speed-limit": [0, 255],
};
