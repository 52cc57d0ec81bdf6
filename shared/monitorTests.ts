/**
 * Names and scalings of service 06 (CAN form) and names of service 09 counters. Monitor ids A1 to AD: "OBD System
 * Operation Summary" of one maker (2005) and a service manual (2012, mode 06); unit ids 06, 0A, 10, 20, 2B, 90:
 * another maker's CAN mode 06 definitions, after ISO 15031-5; unit id 24: the 2012 service manual; all others from
 * memory of ISO 15031-5 annexes D and E.
 */

interface IdRange {
  readonly from: number;
  readonly to: number;
  readonly name: (index: number) => string;
}

const position = (index: number): string => `bank ${(index >> 2) + 1} sensor ${(index & 3) + 1}`;
const banked = (name: string) => (index: number) => `${name} bank ${index + 1}`;

const monitorRanges: readonly IdRange[] = [
  { from: 0x01, to: 0x10, name: (i) => `oxygen sensor ${position(i)}` },
  { from: 0x21, to: 0x24, name: banked("catalyst") },
  { from: 0x31, to: 0x34, name: banked("exhaust gas recirculation") },
  { from: 0x35, to: 0x38, name: banked("valve timing") },
  {
    from: 0x39,
    to: 0x3c,
    name: (i) => `evaporative leak, ${["cap off", "large", "small", "very small"][i] ?? ""}`,
  },
  { from: 0x3d, to: 0x3d, name: () => "purge flow" },
  { from: 0x41, to: 0x50, name: (i) => `oxygen sensor heater ${position(i)}` },
  { from: 0x61, to: 0x64, name: banked("heated catalyst") },
  { from: 0x71, to: 0x74, name: (i) => `secondary air ${i + 1}` },
  { from: 0x81, to: 0x84, name: banked("fuel system") },
  { from: 0x85, to: 0x86, name: banked("boost pressure") },
  { from: 0xa1, to: 0xa1, name: () => "misfire, whole engine" },
  { from: 0xa2, to: 0xad, name: (i) => `misfire cylinder ${i + 1}` },
];

/** The monitor's name, or its number where no list known to us names it. */
export function monitorName(id: number): string {
  const range = monitorRanges.find(({ from, to }) => id >= from && id <= to);
  return range === undefined ? `monitor ${hex(id)}` : range.name(id - range.from);
}

const oxygenTests: Readonly<Record<number, string>> = {
  0x01: "threshold rich to lean",
  0x02: "threshold lean to rich",
  0x03: "low voltage for switch time",
  0x04: "high voltage for switch time",
  0x05: "switch time rich to lean",
  0x06: "switch time lean to rich",
  0x07: "lowest voltage",
  0x08: "highest voltage",
  0x09: "time between transitions",
  0x0a: "sensor period",
};

/** Scaling of service 05 (not on CAN) by test: public list "OBD-II PIDs"; 07 to 0A from memory. */
export const oxygenTestScales: Readonly<Record<number, { readonly factor: number; readonly unit: string }>> =
  {
    0x01: { factor: 0.005, unit: "V" },
    0x02: { factor: 0.005, unit: "V" },
    0x03: { factor: 0.005, unit: "V" },
    0x04: { factor: 0.005, unit: "V" },
    0x05: { factor: 0.004, unit: "s" },
    0x06: { factor: 0.004, unit: "s" },
    0x07: { factor: 0.005, unit: "V" },
    0x08: { factor: 0.005, unit: "V" },
    0x09: { factor: 0.04, unit: "s" },
    0x0a: { factor: 0.04, unit: "s" },
  };

export const misfireMeanTest = 0x0b;
export const misfireCountTest = 0x0c;

/** The test's name, or its number: most are the maker's own. */
export function testName(monitor: number, test: number): string {
  if (test === misfireMeanTest) return "mean count over the last ten drive cycles";
  if (test === misfireCountTest) return "count in the last or this drive cycle";
  if (monitor <= 0x10 || (monitor >= 0x41 && monitor <= 0x50)) {
    const name = oxygenTests[test];
    if (name !== undefined) return name;
  }
  return `test ${hex(test)}`;
}

export function oxygenTestName(test: number): string {
  return oxygenTests[test] ?? `test ${hex(test)}`;
}

export interface TestScale {
  readonly factor: number;
  readonly offset: number;
  readonly unit: string;
  readonly signed: boolean;
}

const scales: ReadonlyMap<number, TestScale> = new Map(
  (
    [
      [0x01, 1, ""],
      [0x04, 0.001, ""],
      [0x06, 0.000305, ""],
      [0x07, 0.25, "rpm"],
      [0x0a, 0.000122, "V"],
      [0x0b, 0.001, "V"],
      [0x0e, 0.001, "A"],
      [0x10, 0.001, "s"],
      [0x11, 0.1, "s"],
      [0x12, 1, "s"],
      [0x14, 1, "ohm"],
      [0x16, 0.1, "°C", -40],
      [0x17, 0.01, "kPa"],
      [0x1c, 0.01, "°"],
      [0x1e, 0.0000305, "lambda"],
      [0x20, 0.00390625, ""],
      [0x24, 1, "counts"],
      [0x25, 1, "km"],
      [0x27, 0.01, "g/s"],
      [0x2b, 1, "switches"],
      [0x2f, 0.01, "%"],
      [0x30, 0.001526, "%"],
      [0x34, 1, "min"],
      [0x81, 1, "", 0, true],
      [0x84, 0.001, "", 0, true],
      [0x8b, 0.001, "V", 0, true],
      [0x8e, 0.001, "A", 0, true],
      [0x90, 0.001, "s", 0, true],
      [0x96, 0.1, "°C", 0, true],
      [0x9c, 0.01, "°", 0, true],
      [0xaf, 0.01, "%", 0, true],
      [0xfd, 0.001, "kPa", 0, true],
      [0xfe, 0.25, "Pa", 0, true],
    ] as const
  ).map(([id, factor, unit, offset = 0, signed = false]) => [id, { factor, unit, offset, signed }]),
);

/** null for a unit and scaling id that we do not know: then the raw number is shown as such. */
export function testScale(id: number): TestScale | null {
  return scales.get(id) ?? null;
}

/** In-use counters of service 09 type 08 (spark), in order of their two-byte places; from memory of SAE J1979-DA. */
export const sparkCounters = [
  "OBD conditions met",
  "ignition cycles",
  "catalyst bank 1 completed",
  "catalyst bank 1 conditions",
  "catalyst bank 2 completed",
  "catalyst bank 2 conditions",
  "oxygen sensor bank 1 completed",
  "oxygen sensor bank 1 conditions",
  "oxygen sensor bank 2 completed",
  "oxygen sensor bank 2 conditions",
  "EGR or valve timing completed",
  "EGR or valve timing conditions",
  "secondary air completed",
  "secondary air conditions",
  "evaporative system completed",
  "evaporative system conditions",
  "second oxygen sensor bank 1 completed",
  "second oxygen sensor bank 1 conditions",
  "second oxygen sensor bank 2 completed",
  "second oxygen sensor bank 2 conditions",
] as const;

/** The same for compression ignition, type 0B; from memory. */
export const compressionCounters = [
  "OBD conditions met",
  "ignition cycles",
  "NMHC catalyst completed",
  "NMHC catalyst conditions",
  "NOx catalyst completed",
  "NOx catalyst conditions",
  "NOx adsorber completed",
  "NOx adsorber conditions",
  "particle filter completed",
  "particle filter conditions",
  "exhaust gas sensor completed",
  "exhaust gas sensor conditions",
  "EGR or valve timing completed",
  "EGR or valve timing conditions",
  "boost pressure completed",
  "boost pressure conditions",
] as const;

function hex(value: number): string {
  return value.toString(16).toUpperCase().padStart(2, "0");
}
