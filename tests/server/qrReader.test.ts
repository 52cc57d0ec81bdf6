/** The reader of QR pictures that the tests of the network door trust: against the worked example of the standard. */
import { expect, test } from "vitest";
import { addsUp, textOf } from "../support/qrReader.ts";

// ISO/IEC 18004, annex I: 01234567 as version 1-M; from memory.
const data = [0x10, 0x20, 0x0c, 0x56, 0x61, 0x80, 0xec, 0x11, 0xec, 0x11, 0xec, 0x11, 0xec, 0x11, 0xec, 0x11];
const corrections = [0xa5, 0x24, 0xd4, 0xc1, 0xed, 0x36, 0xc7, 0x87, 0x2c, 0x55];

test("the standard's example adds up and says its digits", () => {
  expect(addsUp([...data, ...corrections], corrections.length)).toBe(true);
  expect(textOf(data, 1)).toBe("01234567");
});

test("with any one bit wrong it does not add up", () => {
  const good = [...data, ...corrections];
  for (let bit = 0; bit < good.length * 8; bit++) {
    const bad = good.with(bit >> 3, (good[bit >> 3] ?? 0) ^ (1 << (bit & 7)));
    expect(addsUp(bad, corrections.length)).toBe(false);
  }
});
