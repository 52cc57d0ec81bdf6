import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  counterSteps,
  definedValue,
  readDefinedParameters,
  replyBody,
  type DefinedParameter,
} from "../../shared/defined.ts";
import { CranksideError, isCranksideError } from "../../shared/errors.ts";
import { crankCounter, pressure } from "../support/defined.ts";

const bytes = (hex: string): Uint8Array => Uint8Array.from(hex.match(/../g) ?? [], (b) => parseInt(b, 16));

const fileOf = (...parameters: unknown[]): string => JSON.stringify({ parameters });

/** The error that reading this throws. */
function refusal(json: string): CranksideError {
  try {
    readDefinedParameters(json, "mine.json");
  } catch (error) {
    if (isCranksideError(error)) return error;
    throw error;
  }
  throw new Error("it was taken");
}

describe("the file", () => {
  test("what is right is taken as it stands", () => {
    expect(readDefinedParameters(fileOf(crankCounter, pressure), "mine.json")).toEqual([
      crankCounter,
      pressure,
    ]);
  });

  test("the example that ships is right", () => {
    const path = new URL("../../recordings/parameters/bench-signals.json", import.meta.url);
    const rows = readDefinedParameters(readFileSync(path, "utf8"), "bench-signals.json");
    expect(rows.map(({ channel }) => channel)).toEqual(["crank-signal", "cam-signal"]);
  });

  test("a module by its own addresses, and names that came into the table later, are taken", () => {
    const rows = [
      { ...pressure, to: "726", from: "72E" },
      { ...pressure, channel: "own-2", to: "18DA60F1", from: "18DAF160", divisor: 4 },
      { ...pressure, channel: "own-3", to: "750", from: "758", extension: "2A", length: 12 },
      // The first release took these: 6D and the name were free.
      { ...pressure, channel: "rail-actual-a", request: "016D" },
    ];
    expect(readDefinedParameters(fileOf(...rows), "mine.json")).toEqual(rows);
  });

  const wrong: readonly (readonly [string, string, unknown])[] = [
    ["to", "the identifier to all modules", { ...pressure, to: "7DF", from: "72E" }],
    ["to", "an identifier of the vehicle's own traffic", { ...pressure, to: "0C9", from: "72E" }],
    ["to", "an identifier of 29 bits to all", { ...pressure, to: "18DB33F1", from: "18DAF110" }],
    ["from", "a request without a reply", { ...pressure, to: "726" }],
    ["to", "a reply without a request", { ...pressure, from: "72E" }],
    ["from", "two lengths", { ...pressure, to: "726", from: "18DAF160" }],
    ["module", "two ways to name a module", { ...pressure, to: "726", from: "72E", module: "7E8" }],
    ["to", "a request of service 01", { ...pressure, request: "01E1", to: "726", from: "72E" }],
    ["extension", "an address byte by itself", { ...pressure, extension: "2A" }],
    ["divisor", "a divisor of 0", { ...pressure, divisor: 0 }],
    ["noValue", "a span without an end", { ...pressure, noValue: {} }],
    ["length", "65 bits", { ...pressure, length: 65 }],
    ["length", "a counter of 54 bits", { ...crankCounter, length: 54 }],
    ["divisor", "a counter in halves", { ...crankCounter, divisor: 2 }],
    ["channel", "a channel of the table", { ...pressure, channel: "engine-speed" }],
    ["channel", "the name of a rate", { ...pressure, channel: "own-rate" }],
    ["channel", "capitals", { ...pressure, channel: "Own" }],
    ["request", "a write by identifier", { ...pressure, request: "2E1101" }],
    ["request", "an actuator", { ...pressure, request: "2F110103" }],
    ["request", "clearing", { ...pressure, request: "04" }],
    ["request", "small letters", { ...pressure, request: "21a2" }],
    ["request", "a service 01 number that is known", { ...pressure, request: "010C" }],
    ["request", "a support map", { ...pressure, request: "01E0" }],
    ["module", "a word", { ...pressure, module: "engine" }],
    ["length", "a counter of two bits", { ...crankCounter, length: 2 }],
    ["byteOrder", "low first within a byte", { ...pressure, byteOrder: "low-first" }],
    ["factor", "nothing", { ...pressure, factor: 0 }],
    ["factor", "a counter that is scaled", { ...crankCounter, factor: 0.5 }],
    ["unit", "an unknown unit", { ...pressure, unit: "bar" }],
    ["unit", "a counter with a unit", { ...crankCounter, unit: "rpm" }],
    ["signed", "a counter with a sign", { ...crankCounter, signed: true }],
    ["plausible", "upside down", { ...pressure, plausible: { low: 5, high: 1 } }],
    ["source", "missing", { ...pressure, source: undefined }],
  ];
  test.each(wrong)("%s: %s is refused, with its place", (field, _what, row) => {
    const error = refusal(fileOf(pressure, row));
    expect(error.code).toBe("reads-invalid");
    expect(error.context.where).toContain(`parameters.1.${field}`);
  });

  test("a field that is not known is refused", () => {
    expect(refusal(fileOf({ ...pressure, header: "7E0" })).code).toBe("reads-invalid");
  });

  test("twice the same channel is refused", () => {
    expect(refusal(fileOf(pressure, pressure)).context.expected).toBe("each channel once");
  });

  test("whatever stands in a file, it is taken or refused with the one code", () => {
    const anything = fc.oneof(
      fc.json(),
      fc.string(),
      fc.jsonValue().map((v) => fileOf(v)),
    );
    fc.assert(
      fc.property(anything, (json) => {
        try {
          readDefinedParameters(json, "any");
        } catch (error) {
          expect(isCranksideError(error, "reads-invalid")).toBe(true);
        }
      }),
    );
  });
});

describe("the value, worked by hand", () => {
  const at = (row: Partial<DefinedParameter>, hex: string): number =>
    definedValue({ ...pressure, signed: false, factor: 1, offset: 0, ...row }, bytes(hex));

  test("whole bytes, the highest first: 12 34 is 4660", () => {
    expect(at({ startBit: 0, length: 16 }, "1234")).toBe(4660);
  });

  test("whole bytes, the lowest first: 34 12 is 4660", () => {
    expect(at({ startBit: 8, length: 16, byteOrder: "low-first" }, "FF3412")).toBe(4660);
  });

  test("bits across bytes: AB CD is 1010 1011 1100 1101, ten bits from the fifth are 10 1111 0011, 755", () => {
    expect(at({ startBit: 4, length: 10 }, "ABCD")).toBe(755);
  });

  test("with a sign, 755 of 1024 is -269; a tenth of it and 5 more is -21.9", () => {
    expect(definedValue(pressure, bytes("ABCD"))).toBeCloseTo(-21.9, 9);
  });

  test("32 bits do not turn negative", () => {
    expect(at({ startBit: 0, length: 32 }, "FFFFFFFF")).toBe(4_294_967_295);
  });

  test("33 to 64 bits: exact to 53, and rounded once beyond", () => {
    expect(at({ startBit: 0, length: 40 }, "0100000001")).toBe(4_294_967_297);
    expect(at({ startBit: 3, length: 53 }, "1FFFFFFFFFFFFF")).toBe(Number.MAX_SAFE_INTEGER);
    expect(at({ startBit: 0, length: 64 }, "8000000000000000")).toBe(2 ** 63);
    expect(at({ startBit: 0, length: 64, signed: true }, "FFFFFFFFFFFFFFFE")).toBe(-2);
    expect(at({ startBit: 0, length: 64, byteOrder: "low-first" }, "0200000000000000")).toBe(2);
    expect(at({ startBit: 0, length: 40, byteOrder: "low-first", signed: true }, "FEFFFFFFFF")).toBe(-2);
  });

  test("a fraction: 64 * 32 / 25 is 81.92", () => {
    expect(at({ startBit: 0, length: 8, factor: 32, divisor: 25 }, "40")).toBe(81.92);
  });

  test("where the definition says that there is none, there is no value", () => {
    const row = { startBit: 0, length: 8, offset: -40, noValue: { atOrBelow: -40, atOrAbove: 215 } };
    expect(at(row, "00")).toBeNaN();
    expect(at(row, "01")).toBe(-39);
    expect(at(row, "FF")).toBeNaN();
  });

  test("too few bytes are no value", () => {
    expect(at({ startBit: 4, length: 10 }, "AB")).toBeNaN();
  });
});

test("a reply belongs to a request when service and identifier come back", () => {
  expect(replyBody("221101", bytes("6211010A0B"))).toEqual(bytes("0A0B"));
  expect(replyBody("21A2", bytes("61A2"))).toEqual(bytes(""));
  expect(replyBody("221101", bytes("6211020A0B"))).toBeNull();
  expect(replyBody("221101", bytes("7F2231"))).toBeNull();
});

test("a counter rolls over, and a restart is no step", () => {
  expect(counterSteps(10, 14, 8)).toBe(4);
  expect(counterSteps(250, 4, 8)).toBe(10);
  expect(counterSteps(65_500, 20, 16)).toBe(56);
  expect(counterSteps(9, 9, 16)).toBe(0);
  // Back to 0 from 1000 of 65 536.
  expect(counterSteps(1000, 0, 16)).toBeNull();
});

test("any number of steps up to half the span is told, whatever the counter stood at", () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 4, max: 32 }),
      fc.nat(),
      fc.double({ min: 0, max: 0.5, noNaN: true }),
      (bits, from, part) => {
        const span = 2 ** bits;
        const before = from % span;
        const steps = Math.floor(part * span);
        expect(counterSteps(before, (before + steps) % span, bits)).toBe(steps);
      },
    ),
  );
});
