import { expect, test } from "vitest";
import {
  channelInfo,
  channels,
  decodeParameter,
  inWords,
  parameterOf,
  scale,
  supportedPids,
  unscale,
} from "../../shared/decode.ts";
import { narrowSensorsFourBanks, parameterByPid, parameters } from "../../shared/parameters.ts";
import { isUnitId } from "../../shared/units.ts";
import { bounds, examples } from "./parameterExamples.ts";

function bytes(hex: string): Uint8Array {
  return Uint8Array.from(hex.split(" ").map((byte) => parseInt(byte, 16)));
}

const hex = (pid: number): string => pid.toString(16).toUpperCase().padStart(2, "0");
const values = parameters.flatMap((p) => p.values.map((value) => ({ parameter: p, value })));

test("parameter numbers and channels are unique, and every parameter of the lists is there", () => {
  expect(parameterByPid.size).toBe(parameters.length);
  expect(new Set(values.map(({ value }) => value.channel)).size).toBe(values.length);
  // 00 to 64, then what the lists share beyond; the rows left out are named in laterParameters.ts.
  const wanted: number[] = [];
  for (let pid = 0; pid <= 0x7c; pid++) wanted.push(pid);
  wanted.push(0x7f, 0x80, 0x83, 0x84, 0x87, 0x8d, 0x8e, 0x98, 0x99, 0x9a, 0x9d, 0x9e, 0x9f);
  wanted.push(0xa0, 0xa1, 0xa2, 0xa4, 0xa5, 0xa6, 0xaa, 0xb2, 0xc0);
  expect(parameters.map((p) => p.pid).sort((a, b) => a - b)).toEqual(wanted.sort((a, b) => a - b));
});

test("units are known, and values lie within their parameter's bytes", () => {
  for (const { parameter, value } of values) {
    expect(isUnitId(value.unit), value.channel).toBe(true);
    expect(value.at + value.len, value.channel).toBeLessThanOrEqual(parameter.bytes);
    if (value.when !== undefined) expect(value.when.at).toBeLessThan(parameter.bytes);
    expect(value.unit === "state", value.channel).toBe(value.enumeration !== undefined);
    expect(value.name.length * value.short.length, value.channel).toBeGreaterThan(0);
  }
});

test("every row has a worked example", () => {
  const shown = new Set(examples.map((e) => e.pid));
  expect(parameters.filter((p) => !shown.has(p.pid)).map((p) => hex(p.pid))).toEqual([]);
});

test.each(examples.map((e) => [`${hex(e.pid)} ${e.data}`, e] as const))(
  "41 %s",
  (_, { pid, data, values: expected }) => {
    const parameter = parameterByPid.get(pid);
    if (parameter === undefined) throw new Error("not in the table");
    expect(bytes(data)).toHaveLength(parameter.bytes);
    const decoded = decodeParameter(parameter, bytes(data));
    expect(decoded.map((d) => d.value.channel).sort()).toEqual(Object.keys(expected).sort());
    for (const { value, number } of decoded)
      expect(number, value.channel).toBeCloseTo(expected[value.channel] ?? Number.NaN, 9);
  },
);

test("the same bytes further on in a longer reply mean the same", () => {
  for (const { pid, data, values: expected } of examples) {
    const parameter = parameterByPid.get(pid);
    if (parameter === undefined) throw new Error("not in the table");
    const decoded = decodeParameter(parameter, Uint8Array.from([0xaa, 0xbb, 0xcc, ...bytes(data), 0xdd]), 3);
    expect(decoded.map((d) => d.value.channel).sort()).toEqual(Object.keys(expected).sort());
    for (const { value, number } of decoded)
      expect(number).toBeCloseTo(expected[value.channel] ?? Number.NaN, 9);
  }
});

test("values whose bytes are missing are left out", () => {
  const sensor = parameterByPid.get(0x14);
  const speed = parameterByPid.get(0x0c);
  if (sensor === undefined || speed === undefined) throw new Error("not in the table");
  expect(decodeParameter(sensor, bytes("5A")).map((d) => d.value.channel)).toEqual(["oxygen-b1s1"]);
  expect(decodeParameter(speed, bytes("1A"))).toEqual([]);
  expect(decodeParameter(speed, new Uint8Array())).toEqual([]);
});

test("lowest and highest codes give the lists' minimum and maximum", () => {
  const scaled = values.filter(({ value }) => !["bits", "state", "code"].includes(value.unit));
  expect(Object.keys(bounds).sort()).toEqual(scaled.map(({ value }) => value.channel).sort());
  for (const { parameter, value } of scaled) {
    const ends = [false, true].map((high) => {
      const data = new Uint8Array(parameter.bytes).fill(high ? 0xff : 0x00);
      if (value.signed === true) data[value.at] = high ? 0x7f : 0x80;
      if (value.absent === 0xff && high) data[value.at] = 0xfe;
      if (value.when !== undefined) data[value.when.at] = 0xff;
      return decodeParameter(parameter, data).find((d) => d.value === value)?.number ?? Number.NaN;
    });
    const [low, high] = bounds[value.channel] ?? [Number.NaN, Number.NaN];
    expect(ends[0], value.channel).toBeCloseTo(low, 6);
    expect(ends[1], value.channel).toBeCloseTo(high, 6);
  }
});

test("scaling back gives the code again", () => {
  for (const { value } of values) {
    for (const code of [0, 1, 0x5a, 0xff, ...(value.len > 1 ? [0x1234, 0xfffe] : [])]) {
      expect(unscale(value, scale(value, code)), value.channel).toBeCloseTo(code, 6);
    }
  }
});

test("the published support map announces the published parameters", () => {
  // 41 00 BE 3F E8 13: course notes, diag.net; the list was worked out by hand.
  const expected = [
    0x01, 0x03, 0x04, 0x05, 0x06, 0x07, 0x0b, 0x0c, 0x0d, 0x0e, 0x0f, 0x10, 0x11, 0x12, 0x13, 0x15, 0x1c,
  ];
  expect(supportedPids(0, bytes("BE 3F E8 13"))).toEqual([...expected, 0x1f, 0x20]);
  expect(supportedPids(0x20, bytes("80 00 00 01"))).toEqual([0x21, 0x40]);
  expect(supportedPids(0xc0, bytes("00 00 00 00"))).toEqual([]);
});

test("over four banks the eight narrow-range sensors have other places and the same bytes", () => {
  expect(narrowSensorsFourBanks.map((p) => p.values[0]?.channel)).toEqual(
    ["b1s1", "b1s2", "b2s1", "b2s2", "b3s1", "b3s2", "b4s1", "b4s2"].map((s) => `oxygen-${s}`),
  );
  const third = narrowSensorsFourBanks[2];
  if (third === undefined) throw new Error("not in the table");
  expect(third.pid).toBe(0x16);
  expect(decodeParameter(third, bytes("5A 80")).map((d) => [d.value.channel, d.number])).toEqual([
    ["oxygen-b2s1", 0.45],
    ["oxygen-trim-b2s1", 0],
  ]);
});

test("every channel can be looked up, with the parameter that carries it", () => {
  for (const { channel, pid } of channels) {
    expect(channelInfo(channel)?.channel).toBe(channel);
    if (pid !== undefined) expect(parameterOf(channel)?.pid).toBe(pid);
  }
  for (const { value } of values) expect(channelInfo(value.channel)?.value).toBe(value);
  expect(channelInfo("socket-voltage")).toMatchObject({ unit: "V" });
  expect(channelInfo("no-such-channel")).toBeUndefined();
});

test("numbers in words", () => {
  const say = (channel: string, number: number): string => {
    const info = channelInfo(channel);
    if (info === undefined) throw new Error("no such channel");
    return inWords(info, number, "metric");
  };
  expect(say("engine-speed", 933.5)).toBe("934 rpm");
  expect(say("fuel-system-1", 2)).toBe("closed loop");
  expect(say("freeze-code", 0x0133)).toBe("P0133");
  expect(say("freeze-code", 0)).toBe("none");
  expect(say("support-00", 0xbe3fe813)).toBe("BE3FE813");
  expect(say("auxiliary", 1)).toBe("power take-off active");
  expect(say("coolant", Number.NaN)).toBe("no answer");
});
