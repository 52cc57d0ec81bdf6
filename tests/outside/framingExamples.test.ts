/**
 * Replies and sums as others have published them, byte for byte. Each row names its source; "worked out by hand"
 * means long division or addition on paper, apart from our code; "from memory" is said where it is so.
 */
import { expect, test } from "vitest";
import { checksumSum, crcJ1850, readReply, splitService01 } from "../../adapters/framing/index.ts";
import { troubleCodes } from "../../shared/codes.ts";
import { decodeParameter, supportedPids } from "../../shared/decode.ts";
import { parameterByPid } from "../../shared/parameters.ts";
import type { ProtocolId } from "../../shared/protocols.ts";
import { bytes, messagesOf } from "../framing/helpers.ts";

test("CRC-8/SAE-J1850: check value and residue of the RevEng catalogue", () => {
  expect(crcJ1850(Uint8Array.from(Buffer.from("123456789", "latin1")))).toBe(0x4b);
  // The residue is what stands in the register before the final exclusive-or, hence C4 xor FF.
  const withItsOwn = Uint8Array.from([...Buffer.from("123456789", "latin1"), 0x4b]);
  expect(crcJ1850(withItsOwn) ^ 0xff).toBe(0xc4);
});

test.each([
  ["68 6A F1 01 00", 0x17],
  ["68 6A F1 01 0C", 0x8b],
  ["61 6A F1 01 0C", 0x96],
  ["48 6B 10 41 0C 1A F8", 0xb2],
] as const)("J1850 CRC of %s (worked out by hand)", (hex, crc) => {
  expect(crcJ1850(bytes(hex))).toBe(crc);
});

test.each([
  ["68 6A F1 01 0C", 0xd0, "course text Rangkuman ISO 9141-2 dan ISO 14230"],
  ["48 6B 40 41 0C 0C 97", 0xe3, "course text Rangkuman ISO 9141-2 dan ISO 14230"],
  ["C1 33 F1 81", 0x66, "mp3car thread 147265, checked there on an oscilloscope"],
  ["C2 33 F1 01 00", 0xe7, "worked out by hand"],
  ["C2 33 F1 01 0C", 0xf3, "worked out by hand"],
  ["84 F1 10 41 0C 1A F8", 0xe4, "worked out by hand"],
  ["83 F1 10 C1 E9 8F", 0xbd, "worked out by hand"],
] as const)("sum modulo 256 of %s is %i (%s)", (hex, sum, source) => {
  expect(checksumSum(bytes(hex)), source).toBe(sum);
});

interface Reading {
  readonly line: string;
  readonly protocol: ProtocolId | null;
  readonly module: string;
  readonly channel: string;
  readonly value: number;
  readonly source: string;
}

const readings: readonly Reading[] = [
  {
    line: "41 05 7B",
    protocol: null,
    module: "",
    channel: "coolant",
    value: 83,
    source: "widely repeated, from memory",
  },
  {
    line: "41 0C 1A F8",
    protocol: null,
    module: "",
    channel: "engine-speed",
    value: 1726,
    source: "widely repeated, from memory",
  },
  {
    line: "41 0C 0E 96",
    protocol: null,
    module: "",
    channel: "engine-speed",
    value: 933.5,
    source: "course notes with a raw trace, diag.net, Binary and Hex tables",
  },
  {
    line: "41 0C 00 00",
    protocol: null,
    module: "",
    channel: "engine-speed",
    value: 0,
    source: "course notes with a raw trace, diag.net, Binary and Hex tables",
  },
  {
    line: "7E8 04 41 0C 12 13",
    protocol: "can11-500",
    module: "7E8",
    channel: "engine-speed",
    value: 1156.75,
    source: "bytes: Stack Overflow question 40826932; value worked out by hand",
  },
  {
    line: "7E8 03 41 0D 4A",
    protocol: "can11-500",
    module: "7E8",
    channel: "vehicle-speed",
    value: 74,
    source: "tutorial of 2014-05-15, acassis",
  },
  {
    line: "48 6B 40 41 0C 0C 97 E3",
    protocol: "iso9141",
    module: "40",
    channel: "engine-speed",
    value: 805.75,
    source: "course text Rangkuman ISO 9141-2 dan ISO 14230, header as its checksum demands",
  },
  {
    line: "48 6B 10 41 0C 1A F8 B2",
    protocol: "vpw",
    module: "10",
    channel: "engine-speed",
    value: 1726,
    source: "frame worked out by hand",
  },
  {
    line: "41 6B 10 41 0C 1A F8 3D",
    protocol: "pwm",
    module: "10",
    channel: "engine-speed",
    value: 1726,
    source: "frame worked out by hand",
  },
  {
    line: "84 F1 10 41 0C 1A F8 E4",
    protocol: "kwp-fast",
    module: "10",
    channel: "engine-speed",
    value: 1726,
    source: "frame worked out by hand",
  },
];

test.each(readings)("$line is $value ($source)", ({ line, protocol, module, channel, value }) => {
  for (const text of [line, line.replaceAll(" ", ""), line.toLowerCase()]) {
    const [piece, ...others] = readReply([text], protocol);
    expect(others).toEqual([]);
    if (piece?.kind !== "message") throw new Error(`no message in ${text}`);
    expect(piece.module).toBe(module);
    const { parts, leftover } = splitService01(piece.data);
    expect(leftover.length).toBe(0);
    const decoded = parts.flatMap(({ pid, data }) => {
      const row = parameterByPid.get(pid);
      return row === undefined ? [] : decodeParameter(row, data);
    });
    expect(decoded.map((d) => [d.value.channel, d.number])).toEqual([[channel, value]]);
  }
});

test("41 00 BE 3F E8 13: the parameters it announces (bytes: diag.net course notes; list by hand)", () => {
  const [piece] = readReply(["41 00 BE 3F E8 13"], null);
  if (piece?.kind !== "message") throw new Error("no message");
  const [part] = splitService01(piece.data).parts;
  expect(part?.pid).toBe(0);
  expect(supportedPids(0, part?.data ?? new Uint8Array())).toEqual([
    0x01, 0x03, 0x04, 0x05, 0x06, 0x07, 0x0b, 0x0c, 0x0d, 0x0e, 0x0f, 0x10, 0x11, 0x12, 0x13, 0x15, 0x1c,
    0x1f, 0x20,
  ]);
});

test("three modules' pending codes, one of them in two frames (bytes: Stack Overflow question 36377223)", () => {
  // The question shows the data of the frames; the identifiers are the standard's first three.
  const lines = [
    "7E8 10 0A 47 04 01 07 02 07",
    "7E9 06 47 02 01 02 D6 00",
    "7EA 04 47 01 A2 45",
    "7E8 21 03 07 43 07",
  ];
  const codes = readReply(lines, "can11-500").map((piece) =>
    piece.kind === "message" ? [piece.module, ...troubleCodes(piece.data.subarray(1), true)] : [],
  );
  expect(codes).toEqual([
    ["7E8", "P0107", "P0207", "P0307", "C0307"],
    ["7E9", "P0102", "U1600"],
    ["7EA", "B2245"],
  ]);
});

test("43 01 33 00 00 00 00: one code and padding (SAE J1979 layout, from memory)", () => {
  const [piece] = readReply(["43 01 33 00 00 00 00"], null);
  if (piece?.kind !== "message") throw new Error("no message");
  expect(troubleCodes(piece.data.subarray(1), false)).toEqual(["P0133"]);
});

test("43 01 35: the code as a forum post on Wikipedia's service 03 works it out", () => {
  const [piece] = readReply(["43 01 35 00 00 00 00"], null);
  if (piece?.kind !== "message") throw new Error("no message");
  expect(troubleCodes(piece.data.subarray(1), false)).toEqual(["P0135"]);
});

test("41 01 81 07 65 04: lamp on, one code, spark ignition (from memory; decoding by hand)", () => {
  const [piece] = readReply(["41 01 81 07 65 04"], null);
  if (piece?.kind !== "message") throw new Error("no message");
  const [part] = splitService01(piece.data).parts;
  const row = parameterByPid.get(0x01);
  if (part === undefined || row === undefined) throw new Error("no part");
  const [monitors] = decodeParameter(row, part.data);
  if (monitors === undefined) throw new Error("no value");
  expect(monitors.value.bits).toBe("monitors");
  expect(monitors.number).toBe(0x81076504);
  // Catalyst, evaporative system, oxygen sensor and heater are fitted; the evaporative one is not complete.
  expect([monitors.number >>> 31, (monitors.number >>> 24) & 0x7f, (monitors.number >>> 19) & 1]).toEqual([
    1, 1, 0,
  ]);
  expect([(monitors.number >>> 8) & 0xff, monitors.number & 0xff]).toEqual([0b0110_0101, 0b0000_0100]);
});

test("a VIN over ISO-TP (layout of Wikipedia's ISO 15765-2; VIN of Wikipedia's check digit example)", () => {
  const lines = ["7E8 10 14 49 02 01 31 4D 38", "7E8 21 47 44 4D 39 41 58 4B", "7E8 22 50 30 34 32 37 38 38"];
  for (const protocol of ["can11-500", "can11-250", null] as const) {
    const [piece, ...others] = readReply(lines, protocol);
    expect(others).toEqual([]);
    if (piece?.kind !== "message") throw new Error("no message");
    expect([...piece.data.subarray(0, 3)]).toEqual([0x49, 0x02, 0x01]);
    expect(Buffer.from(piece.data.subarray(3)).toString("latin1")).toBe("1M8GDM9AXKP042788");
    expect(piece.lines).toEqual(lines);
  }
});

test("a long reply without headers: length, then numbered lines (bytes: diag.net course notes)", () => {
  const lines = ["00A", "0: 46 3D 98 FE 00 69", "1: 80 00 0D 8A"];
  expect(messagesOf(readReply(lines, "can11-500"))).toEqual(["463D98FE006980000D8A"]);
});

test("a start of communication reply on ISO 14230 (bytes worked out by hand)", () => {
  expect(messagesOf(readReply(["83 F1 10 C1 E9 8F BD"], "kwp-fast"))).toEqual(["10 C1E98F"]);
});
