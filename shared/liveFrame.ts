/**
 * Live lines as they go from server to page, in a binary frame of the socket: the byte of the file that they begin at, the
 * file's name, and behind it the recording's own bytes as they were written.
 */
import { CranksideError } from "./errors.ts";

export interface LiveLines {
  readonly file: string;
  readonly from: number;
  readonly bytes: Uint8Array<ArrayBuffer>;
}

/** The offset as a double, which is whole as far as any file is long, and the length of the name. */
const headBytes = 10;
const encoder = new TextEncoder();
const decoder = new TextDecoder("utf-8", { ignoreBOM: true });

export function liveFrame(file: string, from: number, bytes: Uint8Array): Uint8Array<ArrayBuffer> {
  const name = encoder.encode(file);
  const frame = new Uint8Array(headBytes + name.length + bytes.length);
  const head = new DataView(frame.buffer);
  head.setFloat64(0, from);
  head.setUint16(8, name.length);
  frame.set(name, headBytes);
  frame.set(bytes, headBytes + name.length);
  return frame;
}

/** Its bytes are a view on the frame. Throws `message-invalid`. */
export function readLiveFrame(frame: Uint8Array<ArrayBuffer>): LiveLines {
  const head = new DataView(frame.buffer, frame.byteOffset, frame.byteLength);
  const from = frame.length < headBytes ? Number.NaN : head.getFloat64(0);
  const begin = frame.length < headBytes ? 0 : headBytes + head.getUint16(8);
  if (!Number.isSafeInteger(from) || from < 0 || begin > frame.length) {
    throw new CranksideError("message-invalid", "not a frame of live lines", {
      expected: "an offset, a name and lines",
      found: `${frame.length} bytes`,
    });
  }
  return { file: decoder.decode(frame.subarray(headBytes, begin)), from, bytes: frame.subarray(begin) };
}
