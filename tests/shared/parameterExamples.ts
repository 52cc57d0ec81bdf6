/**
 * One worked example or more for each row of the parameter table: data bytes as they stand on the bus and what they
 * mean, computed by hand from the formulas of the public list "OBD-II PIDs" (W) and, for the rows marked Wm there, of
 * SAE J1979-DA / ISO 15031-5 annex B from memory. None of these bytes were made with the program. Where an example is
 * published elsewhere the source stands beside it.
 */
import { laterBounds, laterExamples } from "./laterExamples.ts";

export interface Example {
  readonly pid: number;
  /** Data bytes after service and parameter number. */
  readonly data: string;
  /** Every value in it; what is not listed must not come out. */
  readonly values: Readonly<Record<string, number>>;
}

const row = (pid: number, data: string, values: Readonly<Record<string, number>>): Example => ({
  pid,
  data,
  values,
});

export const examples: readonly Example[] = [
  // Support maps: the raw bits. 41 00 BE 3F E8 13 is published in course notes (diag.net, "Binary and Hex tables").
  row(0x00, "BE 3F E8 13", { "support-00": 0xbe3fe813 }),
  row(0x20, "80 00 00 01", { "support-20": 0x80000001 }),
  row(0x40, "FE D0 00 00", { "support-40": 0xfed00000 }),
  row(0x60, "00 00 00 01", { "support-60": 1 }),
  row(0x80, "FF FF FF FF", { "support-80": 0xffffffff }),
  row(0xa0, "04 00 00 00", { "support-a0": 0x04000000 }),
  row(0xc0, "00 00 00 00", { "support-c0": 0 }),
  row(0x01, "81 07 65 04", { monitors: 0x81076504 }),
  row(0x02, "01 33", { "freeze-code": 0x0133 }),
  row(0x03, "02 00", { "fuel-system-1": 2, "fuel-system-2": 0 }),
  row(0x04, "80", { load: 12800 / 255 }), // 128 * 100 / 255 = 50.196
  row(0x05, "7B", { coolant: 83 }), // 123 - 40; widely repeated example
  row(0x06, "90", { "trim-short-b1": 12.5 }), // (144 - 128) * 100 / 128: fuel is added
  row(0x07, "78", { "trim-long-b1": -6.25 }), // (120 - 128) * 100 / 128: fuel is taken away
  row(0x08, "80", { "trim-short-b2": 0 }),
  row(0x09, "00", { "trim-long-b2": -100 }),
  row(0x0a, "64", { "fuel-pressure": 300 }), // 3 * 100
  row(0x0b, "65", { manifold: 101 }),
  row(0x0c, "1A F8", { "engine-speed": 1726 }), // 6904 / 4; widely repeated example
  row(0x0c, "0E 96", { "engine-speed": 933.5 }), // 3734 / 4; trace in course notes, diag.net
  row(0x0c, "00 00", { "engine-speed": 0 }), // key on, engine stopped; same notes
  row(0x0c, "12 13", { "engine-speed": 1156.75 }), // 4627 / 4; bytes: Stack Overflow question 40826932
  row(0x0c, "0C 97", { "engine-speed": 805.75 }), // 3223 / 4; bytes: "Rangkuman ISO 9141-2 dan ISO 14230"
  row(0x0d, "4A", { "vehicle-speed": 74 }), // tutorial blog acassis, 2014-05-15
  row(0x0e, "94", { advance: 10 }), // 148 / 2 - 64
  row(0x0f, "3C", { "intake-air": 20 }), // 60 - 40
  row(0x10, "01 2C", { "air-flow": 3 }), // 300 / 100
  row(0x11, "26", { throttle: 3800 / 255 }), // 38 * 100 / 255 = 14.9
  row(0x12, "04", { "secondary-air": 4 }),
  row(0x13, "33", { "sensors-2-bank": 0x33 }),
  row(0x14, "5A 80", { "oxygen-b1s1": 0.45, "oxygen-trim-b1s1": 0 }), // 90 / 200
  row(0x15, "6E FF", { "oxygen-b1s2": 0.55 }), // FF: not used for trim
  row(0x16, "14 84", { "oxygen-b1s3": 0.1, "oxygen-trim-b1s3": 3.125 }), // (132 - 128) * 100 / 128
  row(0x17, "B4 7C", { "oxygen-b1s4": 0.9, "oxygen-trim-b1s4": -3.125 }),
  row(0x18, "64 80", { "oxygen-b2s1": 0.5, "oxygen-trim-b2s1": 0 }),
  row(0x19, "00 00", { "oxygen-b2s2": 0, "oxygen-trim-b2s2": -100 }),
  row(0x1a, "FF FE", { "oxygen-b2s3": 1.275, "oxygen-trim-b2s3": 98.4375 }),
  row(0x1b, "28 A0", { "oxygen-b2s4": 0.2, "oxygen-trim-b2s4": 25 }),
  row(0x1c, "06", { "obd-rule": 6 }),
  row(0x1d, "15", { "sensors-4-bank": 0x15 }),
  row(0x1e, "01", { auxiliary: 1 }),
  row(0x1f, "01 68", { "run-time": 360 }),
  row(0x21, "00 7D", { "distance-mil": 125 }),
  row(0x22, "03 E8", { "rail-relative": 79 }), // 0.079 * 1000
  row(0x23, "0B B8", { "rail-gauge": 30000 }), // 10 * 3000: 300 bar
  // Lambda: 8000h * 2 / 65536 = 1. Voltage: 4000h * 8 / 65536 = 2 V.
  row(0x24, "80 00 40 00", { "lambda-b1s1": 1, "wide-volts-b1s1": 2 }),
  row(0x25, "70 00 20 00", { "lambda-b1s2": 0.875, "wide-volts-b1s2": 1 }),
  row(0x26, "90 00 60 00", { "lambda-b2s1": 1.125, "wide-volts-b2s1": 3 }),
  row(0x27, "80 00 00 00", { "lambda-b2s2": 1, "wide-volts-b2s2": 0 }),
  row(0x28, "40 00 80 00", { "lambda-b3s1": 0.5, "wide-volts-b3s1": 4 }),
  row(0x29, "C0 00 A0 00", { "lambda-b3s2": 1.5, "wide-volts-b3s2": 5 }),
  row(0x2a, "00 00 C0 00", { "lambda-b4s1": 0, "wide-volts-b4s1": 6 }),
  row(0x2b, "88 00 E0 00", { "lambda-b4s2": 1.0625, "wide-volts-b4s2": 7 }),
  row(0x2c, "33", { egr: 20 }), // 51 * 100 / 255
  row(0x2d, "88", { "egr-error": 6.25 }), // (136 - 128) * 100 / 128
  row(0x2e, "66", { purge: 40 }), // 102 * 100 / 255
  row(0x2f, "99", { "fuel-level": 60 }), // 153 * 100 / 255
  row(0x30, "FF", { "warm-ups": 255 }),
  row(0x31, "09 18", { "distance-clear": 2328 }),
  row(0x32, "FF 38", { vapour: -50 }), // FF38h = -200; / 4
  row(0x33, "63", { barometric: 99 }),
  // Pump current: 8000h / 256 - 128 = 0 mA.
  row(0x34, "80 00 80 00", { "lambda-current-b1s1": 1, "wide-current-b1s1": 0 }),
  row(0x35, "80 00 81 00", { "lambda-current-b1s2": 1, "wide-current-b1s2": 1 }),
  row(0x36, "80 00 7F 00", { "lambda-current-b2s1": 1, "wide-current-b2s1": -1 }),
  row(0x37, "80 00 80 80", { "lambda-current-b2s2": 1, "wide-current-b2s2": 0.5 }),
  row(0x38, "40 00 00 00", { "lambda-current-b3s1": 0.5, "wide-current-b3s1": -128 }),
  row(0x39, "C0 00 90 00", { "lambda-current-b3s2": 1.5, "wide-current-b3s2": 16 }),
  row(0x3a, "80 00 70 00", { "lambda-current-b4s1": 1, "wide-current-b4s1": -16 }),
  row(0x3b, "80 00 80 40", { "lambda-current-b4s2": 1, "wide-current-b4s2": 0.25 }),
  row(0x3c, "11 94", { "catalyst-b1s1": 410 }), // 4500 / 10 - 40
  row(0x3d, "01 90", { "catalyst-b2s1": 0 }), // 400 / 10 - 40
  row(0x3e, "0F A0", { "catalyst-b1s2": 360 }), // 4000 / 10 - 40
  row(0x3f, "00 00", { "catalyst-b2s2": -40 }),
  row(0x41, "00 07 E1 01", { "monitors-cycle": 0x0007e101 }),
  row(0x42, "36 B0", { "module-voltage": 14 }), // 14000 / 1000
  row(0x43, "00 33", { "absolute-load": 20 }), // 51 * 100 / 255
  row(0x44, "80 00", { "lambda-commanded": 1 }),
  row(0x45, "1A", { "throttle-relative": 2600 / 255 }), // 10.196
  row(0x46, "3E", { ambient: 22 }),
  row(0x47, "80", { "throttle-b": 12800 / 255 }),
  row(0x48, "FF", { "throttle-c": 100 }),
  row(0x49, "33", { "pedal-d": 20 }),
  row(0x4a, "66", { "pedal-e": 40 }),
  row(0x4b, "99", { "pedal-f": 60 }),
  row(0x4c, "CC", { "throttle-commanded": 80 }), // 204 * 100 / 255
  row(0x4d, "00 3C", { "minutes-mil": 60 }),
  row(0x4e, "1E 48", { "minutes-clear": 7752 }),
  row(0x4f, "02 08 80 32", {
    "scale-lambda": 2,
    "scale-oxygen-volts": 8,
    "scale-oxygen-current": 128,
    "scale-manifold": 500, // 10 * 50
  }),
  row(0x50, "41 00 00 00", { "scale-air-flow": 650 }), // 10 * 65
  row(0x51, "01", { "fuel-type": 1 }),
  row(0x52, "33", { ethanol: 20 }),
  row(0x53, "4E 20", { "vapour-absolute": 100 }), // 20000 / 200
  row(0x54, "FC 18", { "vapour-wide": -1000 }), // FC18h = -1000
  row(0x55, "88 78", { "secondary-trim-short-b1": 6.25, "secondary-trim-short-b3": -6.25 }),
  row(0x56, "80 90", { "secondary-trim-long-b1": 0, "secondary-trim-long-b3": 12.5 }),
  row(0x57, "84 7C", { "secondary-trim-short-b2": 3.125, "secondary-trim-short-b4": -3.125 }),
  row(0x58, "00 80", { "secondary-trim-long-b2": -100, "secondary-trim-long-b4": 0 }),
  row(0x59, "01 F4", { "rail-absolute": 5000 }), // 10 * 500
  row(0x5a, "33", { "pedal-relative": 20 }),
  row(0x5b, "CC", { "hybrid-battery": 80 }),
  row(0x5c, "87", { oil: 95 }), // 135 - 40
  row(0x5d, "69 80", { "injection-timing": 1 }), // 27008 / 128 - 210 = 211 - 210
  row(0x5e, "00 1E", { "fuel-rate": 1.5 }), // 30 / 20
  row(0x61, "A0", { "torque-demanded": 35 }), // 160 - 125
  row(0x62, "7D", { "torque-actual": 0 }),
  row(0x63, "00 FA", { "torque-reference": 250 }),
  row(0x64, "8C 96 A0 AA B4", {
    "torque-idle": 15,
    "torque-point-1": 25,
    "torque-point-2": 35,
    "torque-point-3": 45,
    "torque-point-4": 55,
  }),
  row(0x66, "03 00 60 01 00", { "air-flow-a": 3, "air-flow-b": 8 }), // 96 / 32; 256 / 32
  row(0x66, "01 00 60 01 00", { "air-flow-a": 3 }),
  row(0x67, "03 7B 50", { "coolant-1": 83, "coolant-2": 40 }),
  row(0x67, "02 7B 50", { "coolant-2": 40 }),
  row(0x68, "3F 3C 3D 3E 3F 40 41", {
    "intake-air-b1s1": 20,
    "intake-air-b1s2": 21,
    "intake-air-b1s3": 22,
    "intake-air-b2s1": 23,
    "intake-air-b2s2": 24,
    "intake-air-b2s3": 25,
  }),
  row(0x68, "09 3C 00 00 46 00 00", { "intake-air-b1s1": 20, "intake-air-b2s1": 30 }),
  row(0x6c, "0F 33 66 99 CC", {
    "throttle-commanded-a": 20,
    "throttle-relative-a": 40,
    "throttle-commanded-b": 60,
    "throttle-relative-b": 80,
  }),
  // 0C80h / 32 = 3200 / 32 = 100 kPa; the last byte is a status.
  row(0x70, "03 0C 80 0C 60 00 00 00 00 02", { "boost-commanded-a": 100, "boost-a": 99 }),
  // Captured (OBDb): 0C6Ah / 32; bit 2 is the state of control A, no value of B.
  row(0x70, "07 0C 6A 0C 60 00 00 00 00 01", { "boost-commanded-a": 99.3125, "boost-a": 99 }),
  row(0x70, "18 00 00 00 00 0C 80 0C 60 04", { "boost-commanded-b": 100, "boost-b": 99 }),
  row(0x7c, "05 11 94 00 00 0F A0 00 00", { "filter-in-b1": 410, "filter-in-b2": 360 }),
  row(0x83, "03 00 64 01 2C 00 00 00 00", { "nox-b1s1": 100, "nox-b1s2": 300 }),
  row(0x8d, "33", { "throttle-g": 20 }),
  row(0x8e, "87", { "friction-torque": 10 }), // 135 - 125
  row(0x9d, "00 32 00 64", { "fuel-mass-engine": 1, "fuel-mass-vehicle": 2 }), // 50 / 50; 100 / 50
  row(0x9e, "00 7D", { "exhaust-flow": 25 }), // 125 / 5
  row(0xa2, "01 40", { "cylinder-fuel": 10 }), // 320 / 32
  row(0xa4, "02 00 0D AC", { "gear-ratio": 3.5 }), // 3500 / 1000
  row(0xa4, "00 00 0D AC", {}), // bit 1 clear: not valid
  row(0xa6, "00 01 86 A0", { odometer: 10000 }), // 100000 / 10
  ...laterExamples,
];

/** Lowest and highest value of each channel, from the same lists' columns of minimum and maximum. */
export const bounds: Readonly<Record<string, readonly [low: number, high: number]>> = {
  ...each(
    [
      ...["load", "throttle", "egr", "purge", "fuel-level", "throttle-relative", "throttle-b", "throttle-c"],
      ...[
        "pedal-d",
        "pedal-e",
        "pedal-f",
        "throttle-commanded",
        "ethanol",
        "pedal-relative",
        "hybrid-battery",
      ],
      ...[
        "throttle-commanded-a",
        "throttle-relative-a",
        "throttle-commanded-b",
        "throttle-relative-b",
        "throttle-g",
      ],
    ],
    [0, 100],
  ),
  ...each(
    [
      ...["coolant", "intake-air", "ambient", "oil", "coolant-1", "coolant-2"],
      ...["b1s1", "b1s2", "b1s3", "b2s1", "b2s2", "b2s3"].map((s) => `intake-air-${s}`),
    ],
    [-40, 215],
  ),
  ...each(
    [
      ...["trim-short-b1", "trim-long-b1", "trim-short-b2", "trim-long-b2", "egr-error"],
      ...["b1", "b2", "b3", "b4"].flatMap((b) => [`secondary-trim-short-${b}`, `secondary-trim-long-${b}`]),
    ],
    [-100, 99.21875],
  ),
  "fuel-pressure": [0, 765],
  ...each(["manifold", "vehicle-speed", "barometric", "warm-ups"], [0, 255]),
  "engine-speed": [0, 16383.75],
  advance: [-64, 63.5],
  "air-flow": [0, 655.35],
  ...each(
    ["b1s1", "b1s2", "b1s3", "b1s4", "b2s1", "b2s2", "b2s3", "b2s4"].map((s) => `oxygen-${s}`),
    [0, 1.275],
  ),
  // The highest code, FF, means that the sensor is not used for trim.
  ...each(
    ["b1s1", "b1s2", "b1s3", "b1s4", "b2s1", "b2s2", "b2s3", "b2s4"].map((s) => `oxygen-trim-${s}`),
    [-100, 98.4375],
  ),
  ...each(
    ["run-time", "distance-mil", "distance-clear", "minutes-mil", "minutes-clear", "torque-reference"],
    [0, 65535],
  ),
  ...each(
    ["b1s1", "b1s2", "b2s1", "b2s2"].map((s) => `nox-${s}`),
    [0, 65535],
  ),
  "rail-relative": [0, 5177.265],
  ...each(["rail-gauge", "rail-absolute"], [0, 655350]),
  // "Below 2", "below 8", "below 128": the highest codes are one step less.
  ...each(
    wide().flatMap((s) => [`lambda-${s}`, `lambda-current-${s}`]),
    [0, 2 - 2 / 65536],
  ),
  "lambda-commanded": [0, 2 - 2 / 65536],
  ...each(
    wide().map((s) => `wide-volts-${s}`),
    [0, 8 - 8 / 65536],
  ),
  ...each(
    wide().map((s) => `wide-current-${s}`),
    [-128, 128 - 1 / 256],
  ),
  vapour: [-8192, 8191.75],
  ...each(["catalyst-b1s1", "catalyst-b2s1", "catalyst-b1s2", "catalyst-b2s2"], [-40, 6513.5]),
  ...each(["filter-in-b1", "filter-out-b1", "filter-in-b2", "filter-out-b2"], [-40, 6513.5]),
  "module-voltage": [0, 65.535],
  "absolute-load": [0, 25700],
  ...each(["scale-lambda", "scale-oxygen-volts", "scale-oxygen-current"], [0, 255]),
  ...each(["scale-manifold", "scale-air-flow"], [0, 2550]),
  "vapour-absolute": [0, 327.675],
  "vapour-wide": [-32768, 32767],
  "injection-timing": [-210, 301.9921875],
  "fuel-rate": [0, 3276.75],
  ...each(
    [
      ...["torque-demanded", "torque-actual", "friction-torque", "torque-idle"],
      ...[1, 2, 3, 4].map((n) => `torque-point-${n}`),
    ],
    [-125, 130],
  ),
  ...each(
    [
      "air-flow-a",
      "air-flow-b",
      "boost-commanded-a",
      "boost-a",
      "boost-commanded-b",
      "boost-b",
      "cylinder-fuel",
    ],
    [0, 2047.96875],
  ),
  ...each(["fuel-mass-engine", "fuel-mass-vehicle"], [0, 1310.7]),
  "exhaust-flow": [0, 13107],
  "gear-ratio": [0, 65.535],
  odometer: [0, 429496729.5],
  ...laterBounds,
};

function wide(): string[] {
  return [1, 2, 3, 4].flatMap((bank) => [`b${bank}s1`, `b${bank}s2`]);
}

function each(
  channels: readonly string[],
  range: readonly [number, number],
): Record<string, readonly [number, number]> {
  return Object.fromEntries(channels.map((channel) => [channel, range]));
}
