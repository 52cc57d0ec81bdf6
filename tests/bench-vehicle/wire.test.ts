/** The sending side's own framing and bus times, against published bytes and arithmetic. */
import { expect, test } from "vitest";
import { frameMs, replyFrames, requestFrame, type WireFrame } from "../../adapters/bench/bus/frames.ts";

const hex = (bytes: readonly number[]): string =>
  bytes.map((b) => b.toString(16).toUpperCase().padStart(2, "0")).join(" ");
const whole = (f: WireFrame): string => hex([...f.header, ...f.data, ...f.check]);
const example = [0x41, 0x0c, 0x1a, 0xf8];

test("J1850 frames carry CRC-8/SAE-J1850 (worked by hand from the catalogue's polynomial)", () => {
  expect(whole(requestFrame("vpw", [0x01, 0x00]))).toBe("68 6A F1 01 00 17");
  expect(whole(requestFrame("vpw", [0x01, 0x0c]))).toBe("68 6A F1 01 0C 8B");
  expect(whole(requestFrame("pwm", [0x01, 0x0c]))).toBe("61 6A F1 01 0C 96");
  expect(replyFrames("vpw", { address: 0x10, padding: 0 }, example).map(whole)).toEqual([
    "48 6B 10 41 0C 1A F8 B2",
  ]);
});

test("ISO 9141-2 and ISO 14230-4 frames carry the sum (published examples, re-added)", () => {
  expect(whole(requestFrame("iso9141", [0x01, 0x0c]))).toBe("68 6A F1 01 0C D0");
  expect(replyFrames("iso9141", { address: 0x40, padding: 0 }, [0x41, 0x0c, 0x0c, 0x97]).map(whole)).toEqual([
    "48 6B 40 41 0C 0C 97 E3",
  ]);
  expect(whole(requestFrame("kwp-fast", [0x01, 0x00]))).toBe("C2 33 F1 01 00 E7");
  expect(whole(requestFrame("kwp-fast", [0x01, 0x0c]))).toBe("C2 33 F1 01 0C F3");
  expect(replyFrames("kwp-slow", { address: 0x10, padding: 0 }, example).map(whole)).toEqual([
    "84 F1 10 41 0C 1A F8 E4",
  ]);
});

test("a long CAN answer is split as ISO 15765-2 says (identification number worked by hand)", () => {
  const vin = Array.from("1M8GDM9AXKP042788", (c) => c.charCodeAt(0));
  const frames = replyFrames("can11-500", { address: 0x7e8, padding: 0 }, [0x49, 0x02, 0x01, ...vin]);
  expect(frames.map((f) => hex(f.data))).toEqual([
    "10 14 49 02 01 31 4D 38",
    "21 47 44 4D 39 41 58 4B",
    "22 50 30 34 32 37 38 38",
  ]);
  expect(frames.every((f) => f.id === 0x7e8)).toBe(true);
});

test("VPW: request 5.30 ms and reply 6.77 ms for the 1726 rpm example, worked bit by bit", () => {
  expect(frameMs("vpw", requestFrame("vpw", [0x01, 0x0c]), 0)).toBeCloseTo(5.3, 2);
  const [reply] = replyFrames("vpw", { address: 0x10, padding: 0 }, example);
  expect(reply === undefined ? 0 : frameMs("vpw", reply, 0)).toBeCloseTo(6.77, 2);
});

test("PWM: request 1.54 ms and reply 1.92 ms", () => {
  expect(frameMs("pwm", requestFrame("pwm", [0x01, 0x0c]), 0)).toBeCloseTo(1.54, 2);
  const [reply] = replyFrames("pwm", { address: 0x10, padding: 0 }, example);
  expect(reply === undefined ? 0 : frameMs("pwm", reply, 0)).toBeCloseTo(1.92, 2);
});

test("K-line: a request of 6 bytes with 5 ms between them takes 30.77 ms", () => {
  expect(frameMs("iso9141", requestFrame("iso9141", [0x01, 0x0c]), 5)).toBeCloseTo(30.77, 2);
});

test("CAN: a frame lies between its unstuffed length and the worst of bit stuffing", () => {
  const short = frameMs("can11-500", requestFrame("can11-500", [0x01, 0x0c]), 0) * 500;
  expect(short).toBeGreaterThanOrEqual(111);
  expect(short).toBeLessThanOrEqual(135);
  const long = frameMs("can29-250", requestFrame("can29-250", [0x01, 0x0c]), 0) * 250;
  expect(long).toBeGreaterThanOrEqual(131);
  expect(long).toBeLessThanOrEqual(160);
});
