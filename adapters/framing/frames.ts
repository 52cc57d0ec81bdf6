/**
 * One line of a reply with headers on, as one frame of the bus: source, contents, checksum verified. Layouts:
 * SAE J1850 and J1979, ISO 9141-2, ISO 14230-2/-4, ISO 15765-4, from memory where the tests name no other source.
 */
import type { ProtocolId } from "../../shared/protocols.ts";
import { protocols } from "../../shared/protocols.ts";
import { checksumSum, crcJ1850 } from "./checksums.ts";
import { bytesOf, hex2 } from "./hex.ts";

export type Transport = "pwm" | "vpw" | "iso9141" | "kwp" | "can11" | "can29";
export const transports: readonly Transport[] = ["pwm", "vpw", "iso9141", "kwp", "can11", "can29"];

export function transportOf(protocol: ProtocolId): Transport {
  const { family, idBits } = protocols[protocol];
  if (family === "can") return idBits === 29 ? "can29" : "can11";
  return family;
}

/** `data`: on CAN the frame with its ISO-TP control byte, else the message from the service byte on. */
export interface Frame {
  readonly module: string;
  readonly data: Uint8Array;
  /** On CAN: an address byte before the control byte was taken off. */
  readonly addressed?: boolean;
}

export type FrameResult = Frame | { readonly problem: string };

const tester = 0xf1;

/** Header bytes of a reply, and those of a request on the same bus. */
const headers = {
  pwm: { reply: [0x41, 0x6b], request: [0x61, 0x6a] },
  vpw: { reply: [0x48, 0x6b], request: [0x68, 0x6a] },
  iso9141: { reply: [0x48, 0x6b], request: [0x68, 0x6a] },
} as const;

/** First header byte where one module and the tester speak to each other alone (SAE J2178-1, from memory). */
const aloneFirst = { pwm: 0xc4, vpw: 0x6c, iso9141: null } as const;

/** Three header bytes, at most eight others and the checksum: the limit of J1850, kept by ISO 9141-2 as well. */
const longestThreeByteHeaderFrame = 12;

const noOthers: ReadonlySet<string> = new Set();

/** Reads one line's digits (no spaces, upper case). `others`: identifiers on CAN that replies come under as well. */
export function readFrame(transport: Transport, digits: string, others = noOthers): FrameResult {
  switch (transport) {
    case "can11":
      return can11(digits, others);
    case "can29":
      return can29(digits, others);
    case "kwp":
      return withBytes(digits, kwp);
    case "pwm":
    case "vpw":
    case "iso9141":
      return withBytes(digits, (bytes) => threeByteHeader(transport, bytes));
  }
}

/**
 * True for bytes that stand where this transport has its header, so that a line with a damaged first byte is not
 * taken for a reply without a header. Null: any transport.
 */
export function hasHeaderPlace(transport: Transport | null, bytes: Uint8Array): boolean {
  const second = bytes[1];
  const threeBytes = transport === null || transport in headers;
  if (threeBytes && (second === 0x6b || second === 0x6a)) return true;
  return (transport === null || transport === "kwp") && second === tester && bytes.length > 3;
}

function withBytes(digits: string, read: (bytes: Uint8Array) => FrameResult): FrameResult {
  const bytes = bytesOf(digits);
  return bytes === null ? { problem: "odd number of digits" } : read(bytes);
}

function threeByteHeader(transport: keyof typeof headers, bytes: Uint8Array): FrameResult {
  const [first = 0, second = 0, source = 0] = bytes;
  const { reply, request } = headers[transport];
  if (first === request[0] && second === request[1]) return { problem: "a request, not a reply" };
  const toUs = first === aloneFirst[transport] && second === tester;
  if (first === aloneFirst[transport] && source === tester) return { problem: "a request, not a reply" };
  if (!toUs && (first !== reply[0] || second !== reply[1])) {
    return { problem: `header ${hex2(first)} ${hex2(second)}, expected ${reply.map(hex2).join(" ")}` };
  }
  if (bytes.length < 5) return { problem: `${bytes.length} bytes, too few for a frame` };
  if (bytes.length > longestThreeByteHeaderFrame) {
    return { problem: `${bytes.length} bytes, at most ${longestThreeByteHeaderFrame} fit a frame` };
  }
  const check = transport === "iso9141" ? checksumSum : crcJ1850;
  const end = bytes.length - 1;
  if (check(bytes.subarray(0, end)) === bytes[end])
    return { module: hex2(source), data: bytes.slice(3, end) };
  // On PWM the receiver acknowledges inside the frame: the tester's address stands behind the checksum.
  const acknowledged = transport === "pwm" && end >= 5 && bytes[end] === tester;
  if (acknowledged && check(bytes.subarray(0, end - 1)) === bytes[end - 1]) {
    return { module: hex2(source), data: bytes.slice(3, end - 1) };
  }
  return wrongChecksum(bytes, check(bytes.subarray(0, end)));
}

/** Format byte: two bits of addressing, six of length; length 0 means that a length byte follows the addresses. */
function kwp(bytes: Uint8Array): FrameResult {
  const [format = 0, target = 0, source = 0] = bytes;
  if (bytes.length < 5) return { problem: `${bytes.length} bytes, too few for a frame` };
  if ((format & 0x80) === 0) return { problem: `format byte ${hex2(format)} carries no addresses` };
  if (source === tester) return { problem: "a request, not a reply" };
  if (target !== tester) return { problem: `addressed to ${hex2(target)}, expected ${hex2(tester)}` };
  const short = format & 0x3f;
  const start = short === 0 ? 4 : 3;
  const length = short === 0 ? (bytes[3] ?? 0) : short;
  if (length === 0) return { problem: "length 0" };
  const expected = start + length + 1;
  if (bytes.length !== expected) return { problem: `${bytes.length} bytes, expected ${expected}` };
  const end = bytes.length - 1;
  const sum = checksumSum(bytes.subarray(0, end));
  if (sum !== bytes[end]) return wrongChecksum(bytes, sum);
  return { module: hex2(source), data: bytes.slice(start, end) };
}

function wrongChecksum(bytes: Uint8Array, expected: number): FrameResult {
  return { problem: `checksum ${hex2(bytes[bytes.length - 1] ?? 0)}, expected ${hex2(expected)}` };
}

/**
 * 7E8 to 7EF are replies, 7DF and 7E0 to 7E7 requests. The serial line has no checksum of its own, so any other
 * identifier is taken for a damaged line, but for those that a person has named.
 */
function can11(digits: string, others: ReadonlySet<string>): FrameResult {
  if (digits.length < 5) return { problem: "too short for a CAN frame" };
  if (digits.length % 2 === 0) return { problem: "a digit too many or too few for an 11-bit frame" };
  const id = digits.slice(0, 3);
  if (others.has(id)) return canData(id, digits.slice(3));
  if (/^7(DF|E[0-7])$/.test(id)) return { problem: "a request, not a reply" };
  if (!/^7E[89A-F]$/.test(id)) return { problem: `identifier ${id}, expected 7E8 to 7EF` };
  return canData(id, digits.slice(3));
}

/** 18DAF1xx is module xx to the tester; 18DB33F1 and 18DAxxF1 are requests. */
function can29(digits: string, others: ReadonlySet<string>): FrameResult {
  if (digits.length < 10) return { problem: "too short for a CAN frame" };
  const id = digits.slice(0, 8);
  if (others.has(id) && !id.startsWith("18DAF1")) return canData(id, digits.slice(8));
  if (/^18(DB33|DA[0-9A-F]{2})F1$/.test(id) && id !== "18DAF1F1")
    return { problem: "a request, not a reply" };
  if (!id.startsWith("18DAF1")) return { problem: `identifier ${id}, expected 18DAF1 and the module` };
  return canData(id.slice(6), digits.slice(8));
}

function canData(module: string, digits: string): FrameResult {
  const data = bytesOf(digits);
  if (data === null) return { problem: "odd number of digits" };
  const [control = 0] = data;
  const counted = control > 0 && control < 0x10 && data.length === 1 + control;
  if (data.length > 8 && !counted) return { problem: `${data.length} data bytes, at most 8 fit a CAN frame` };
  return { module, data };
}
