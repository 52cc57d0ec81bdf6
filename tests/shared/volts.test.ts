import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { asciiBytes } from "../../shared/ascii.ts";
import { shapedVolts, SocketVolts, type VoltsExchange } from "../../shared/volts.ts";

const told = (...lines: string[]): VoltsExchange => ({ ask: "ATRV", lines, end: 8 });
const cut = (ask: string, ...lines: string[]): VoltsExchange => ({ ask, lines, end: null, err: "cut" });
const engineSpeed: VoltsExchange = { ask: "010C1", lines: ["7E804410C0000"], end: 12 };

/** What is read of exchanges in a row; `stray`: bytes that nobody asked for. */
function read(...all: readonly (VoltsExchange | "stray")[]): (number | null)[] {
  const fold = new SocketVolts();
  return all.flatMap((each) => {
    if (each !== "stray") return [fold.take(each)];
    fold.stray();
    return [];
  });
}

describe("a voltage is one whole reading in the adapter's own form", () => {
  test("as it comes from most adapters, at two decimals, and with the echo before it", () => {
    expect(read(told("12.4V"), told("9.6V"), told("ATRV", "11.0V"))).toEqual([12.4, 9.6, 11]);
    expect(read(told("12.43V"))).toEqual([12.43]);
  });

  test("what was left of a reply that stalled is none: as it stood in recordings", () => {
    expect(read(told("12.5V"), cut("010C1"), told("00"))).toEqual([12.5, null, null]);
    expect(read(told("12.5V"), cut("010C1"), told("16", "7E82206680000000000"))).toEqual([12.5, null, null]);
    expect(read(told("12.5V"), cut("ATRV", "1"), told("2.5V"), engineSpeed, told("12.5V"))).toEqual([
      ...[12.5, null, null, null, 12.5],
    ]);
  });

  test("nor is the half behind a prompt that stood in the middle of it", () => {
    expect(read(told("12.5V"), told("1"), told("2.6V"), told("12.6V"))).toEqual([12.5, null, null, 12.6]);
    expect(read(told("12.5V"), told("1"), engineSpeed, told("12.6V"))).toEqual([12.5, null, null, 12.6]);
  });

  test("behind an exchange without a prompt nothing is, until something else was asked and answered", () => {
    const readings = [told("11.9V"), told("12.1V"), told("12.2V")];
    expect(read(told("12.5V"), cut("010C1"), ...readings, engineSpeed, told("12.6V"))).toEqual([
      ...[12.5, null, null, null, null, null, 12.6],
    ]);
    const misplaced: VoltsExchange = { ask: "0105", lines: ["12.4V"], end: 4 };
    expect(read(cut("010C1"), told("11.9V"), misplaced, told("12.1V"))).toEqual([null, null, null, null]);
    const probe: VoltsExchange = { ask: "ATDPN", lines: ["A6"], end: 4 };
    const setting: VoltsExchange = { ask: "ATE0", lines: ["OK"], end: 4 };
    expect(read(cut("010C1"), setting, told("12.1V"))).toEqual([null, null, null]);
    expect(read(cut("010C1"), probe, told("12.1V"))).toEqual([null, null, 12.1]);
    // Where nothing else is ever asked, the ninth whole one in a row.
    expect(read(cut("ATRV"), ...Array.from({ length: 9 }, () => told("12.1V"))).at(-1)).toBe(12.1);
  });

  test.each(["64", "6", "126V", "12.V", ".6V", "12,6V", "12.6 V x", "?", "12.6V>", "99.6V"])(
    "%s is none",
    (line) => {
      expect(read(told("12.5V"), told(line))).toEqual([12.5, null]);
    },
  );

  test("two lines are none, and neither is one with an error word", () => {
    expect(read(told("12.5V"), told("12.5V", "12.6V"))).toEqual([12.5, null]);
    expect(read(told("12.5V"), { ...told("12.6V"), err: "late" })).toEqual([12.5, null]);
  });

  test("bytes that nobody asked for throw doubt on the next one alone", () => {
    expect(read(told("12.5V"), "stray", told("12.6V"), told("12.7V"))).toEqual([12.5, null, 12.7]);
    expect(read(told("12.5V"), "stray", engineSpeed, told("12.7V"))).toEqual([12.5, null, 12.7]);
  });

  test("a lost letter or decimal is told by the form", () => {
    expect(read(told("12.5V"), told("12.5"), told("12.55V"), told("12.6V"))).toEqual([
      12.5,
      null,
      null,
      12.6,
    ]);
  });

  test("an adapter that says no V is believed from the third on, and one that was misheard first too", () => {
    expect(read(told("12.5"), told("12.5"), told("12.6"))).toEqual([null, null, 12.6]);
    expect(read(told("12.55V"), told("12.5V"), told("12.5V"), told("12.6V"))).toEqual([
      ...[12.55, null, null, 12.6],
    ]);
  });
});

describe("a first digit that was lost", () => {
  test.each([["2.6V"], ["1.6V"], ["0.1V"], ["5.9V"]])("%s out of 12 V is not believed by itself", (line) => {
    expect(read(told("12.6V"), told(line), told("12.6V"), told(line))).toEqual([12.6, null, 12.6, null]);
  });

  test("a supply that goes down step by step is, however deep", () => {
    expect(read(told("12.1V"), told("9.1V"), told("6.2V"), told("4.4V"))).toEqual([12.1, 9.1, 6.2, 4.4]);
  });

  test("a socket without supply is, once it is said three times", () => {
    const none = [told("0.2V"), told("0.2V"), told("0.3V"), told("0.2V")];
    expect(read(told("12.1V"), ...none)).toEqual([12.1, null, null, 0.3, 0.2]);
    expect(read(...none)).toEqual([null, null, 0.3, 0.2]);
  });

  test("of 24 V nothing below 10 is believed by itself", () => {
    expect(read(told("28.6V"), told("8.6V"), told("28.5V"))).toEqual([28.6, null, 28.5]);
    expect(read(told("12.6V"), told("8.6V"), told("12.5V"))).toEqual([12.6, 8.6, 12.5]);
  });
});

test("a reading where it stands in a file's bytes is the one that its line tells", () => {
  const pieces = fc.constantFrom("1", "2", "12", "0", ".", "V", "v", " ", "\u00b0");
  const digits = fc.constantFrom("1", "09", "12", "123");
  const usual = fc.tuple(digits, fc.constant("."), digits, fc.constantFrom("", "V", "v", "VV"));
  let shaped = 0;
  fc.assert(
    fc.property(fc.oneof(fc.array(pieces, { maxLength: 6 }), usual), (parts) => {
      const line = parts.join("");
      const around = asciiBytes(`1${line}5`);
      const found = shapedVolts(around, 1, around.length - 1);
      const wanted = /^(\d{1,2})\.(\d{1,2})(V?)$/i.exec(line);
      if (wanted !== null) shaped += 1;
      expect(found?.volts ?? null).toBe(wanted === null ? null : Number(`${wanted[1]}.${wanted[2]}`));
      expect(found?.wholeDigits ?? 0).toBe(wanted?.[1]?.length ?? 0);
    }),
    { numRuns: 4000 },
  );
  expect(shaped).toBeGreaterThan(50);
});
