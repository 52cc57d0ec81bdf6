import { expect, test } from "vitest";
import { isLikely, portWords } from "../../src/page/lib/connection/portWords.ts";

const port = (path: string, about = ""): { path: string; about: string } => ({ path, about });

test.each([
  [null, "looking for ports…"],
  [[], "no serial port found"],
  [[port("/dev/ttyS0"), port("COM1")], "no port looks like an adapter (other ports here: 2)"],
  [[port("/dev/ttyS0"), port("/dev/ttyUSB0", "a bridge")], "seen: /dev/ttyUSB0 (a bridge)"],
  [[port("COM4"), port("COM5"), port("COM6"), port("COM10")], "seen: COM4, COM5 and 2 more"],
] as const)("what the system knows, in words: %j", (ports, words) => {
  expect(portWords(ports)).toBe(words);
});

test("a machine's own ports are no likely place for an adapter", () => {
  expect([port("/dev/ttyS3"), port("COM1")].some(isLikely)).toBe(false);
  expect([port("/dev/ttyACM0"), port("/dev/rfcomm0"), port("COM11")].every(isLikely)).toBe(true);
});
