/**
 * Frames as they go over the wire, and how long they take there. The sending side's own code. Sources: SAE J1850
 * symbol times (MPC5200B user guide; MC68HC08AS20 data sheet), ISO 9141-2 and ISO 14230 byte times, ISO 15765-2 /-4.
 */
import { protocols, type ProtocolId } from "../../../shared/protocols.ts";

export interface WireFrame {
  /** CAN identifier; absent on the other buses. */
  readonly id?: number;
  readonly idBits?: 11 | 29;
  /** Three header bytes (not CAN), data with ISO-TP control bytes and padding (CAN), checksum (not CAN). */
  readonly header: readonly number[];
  readonly data: readonly number[];
  readonly check: readonly number[];
  /** Bytes of `data` that are not padding. */
  readonly used: number;
}

/** CRC-8/SAE-J1850: polynomial 1D, begun with FF, inverted at the end. */
function crc(bytes: readonly number[]): number {
  let value = 0xff;
  for (const byte of bytes) {
    value ^= byte;
    for (let bit = 0; bit < 8; bit++) value = value & 0x80 ? ((value << 1) ^ 0x1d) & 0xff : value << 1;
  }
  return value ^ 0xff;
}

const sum = (bytes: readonly number[]): number => bytes.reduce((a, b) => (a + b) & 0xff, 0);

/** Frames of one message from a module; `alone`: to a tester that asked it alone (SAE J2178-1, from memory). */
export function replyFrames(
  protocol: ProtocolId,
  { address, padding }: { readonly address: number; readonly padding: number },
  message: readonly number[],
  alone = false,
): WireFrame[] {
  const { family, idBits } = protocols[protocol];
  switch (family) {
    case "can":
      return canFrames(address, idBits ?? 11, message, padding);
    case "pwm":
      return [plain(alone ? [0xc4, 0xf1, address] : [0x41, 0x6b, address], message, crc)];
    case "vpw":
      return [plain(alone ? [0x6c, 0xf1, address] : [0x48, 0x6b, address], message, crc)];
    case "iso9141":
      return [plain([0x48, 0x6b, address], message, sum)];
    case "kwp":
      return [plain([0x80 + message.length, 0xf1, address], message, sum)];
  }
}

/** The frame of a request to all modules. */
export function requestFrame(protocol: ProtocolId, message: readonly number[]): WireFrame {
  const { family, idBits } = protocols[protocol];
  switch (family) {
    case "can":
      return single(idBits === 29 ? 0x18db33f1 : 0x7df, idBits ?? 11, message, 0);
    case "pwm":
      return plain([0x61, 0x6a, 0xf1], message, crc);
    case "vpw":
      return plain([0x68, 0x6a, 0xf1], message, crc);
    case "iso9141":
      return plain([0x68, 0x6a, 0xf1], message, sum);
    case "kwp":
      return plain([0xc0 + message.length, 0x33, 0xf1], message, sum);
  }
}

function plain(
  header: readonly number[],
  data: readonly number[],
  check: (bytes: readonly number[]) => number,
): WireFrame {
  return { header, data, check: [check([...header, ...data])], used: data.length };
}

function single(id: number, idBits: 11 | 29, message: readonly number[], padding: number): WireFrame {
  return canFrame(id, idBits, [message.length, ...message], padding);
}

function canFrame(id: number, idBits: 11 | 29, bytes: readonly number[], padding: number): WireFrame {
  const data = [...bytes, ...Array.from({ length: 8 - bytes.length }, () => padding)];
  return { id, idBits, header: [], data, check: [], used: bytes.length };
}

function canFrames(id: number, idBits: 11 | 29, message: readonly number[], padding: number): WireFrame[] {
  if (message.length <= 7) return [single(id, idBits, message, padding)];
  const first = [0x10 | (message.length >> 8), message.length & 255, ...message.slice(0, 6)];
  const frames = [canFrame(id, idBits, first, padding)];
  for (let at = 6, n = 1; at < message.length; at += 7, n++) {
    frames.push(canFrame(id, idBits, [0x20 | (n & 15), ...message.slice(at, at + 7)], padding));
  }
  return frames;
}

/** Milliseconds a frame occupies the bus, with the pause that must follow it. `gapMs` is the K-line's inter-byte time. */
export function frameMs(protocol: ProtocolId, frame: WireFrame, gapMs: number): number {
  const { family, bitsPerSecond, idBits } = protocols[protocol];
  const bytes = [...frame.header, ...frame.data, ...frame.check];
  switch (family) {
    case "vpw":
      return (200 + vpwBits(bytes) + 300) / 1000;
    case "pwm":
      // Start, 24 µs a bit, end of data, one in-frame response byte, inter-frame.
      return (48 + bytes.length * 8 * 24 + 48 + 192 + 96) / 1000;
    case "iso9141":
    case "kwp":
      return (bytes.length * 10_000) / bitsPerSecond + (bytes.length - 1) * gapMs;
    case "can": {
      // Between the unstuffed length and the worst case of bit stuffing: half of the latter.
      const long = idBits === 29;
      const bits = (long ? 67 : 47) + 64 + Math.floor(((long ? 54 : 34) + 63) / 4) / 2;
      return (bits * 1000) / bitsPerSecond;
    }
  }
}

/** Microseconds of the data bits of a VPW frame: level and length together carry the bit. */
function vpwBits(bytes: readonly number[]): number {
  let time = 0;
  let active = false;
  for (const byte of bytes) {
    for (let bit = 7; bit >= 0; bit--) {
      const one = ((byte >> bit) & 1) === 1;
      time += one === active ? 64 : 128;
      active = !active;
    }
  }
  return time;
}
