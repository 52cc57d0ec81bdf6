/** WebP containers: RFC 9649. */
import { joined, latin, wrong, type Sized } from "./bytes.ts";

const kept: ReadonlySet<string> = new Set(["VP8X", "ALPH", "VP8 ", "VP8L"]);
/** Flags of VP8X that stay: alpha. Colour profile, EXIF, XMP and animation go. */
const alphaFlag = 0x10;
const movingFlag = 0x02;

export function cleanWebp(bytes: Uint8Array): Sized {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const end = Math.min(bytes.length, 8 + view.getUint32(4, true));
  if (8 + view.getUint32(4, true) > bytes.length) throw wrong("a whole WebP", "a cut file");
  const pieces: Uint8Array[] = [];
  let size: { width: number; height: number } | null = null;
  let at = 12;
  while (at + 8 <= end) {
    const type = latin(bytes, at, 4);
    const length = view.getUint32(at + 4, true);
    const data = at + 8;
    const next = data + length + (length & 1);
    if (data + length > end) throw wrong("a whole WebP", `a cut chunk at byte ${at}`);
    if (type === "ANMF" || type === "ANIM") throw wrong("a still picture", "a moving one");
    if (kept.has(type)) {
      const piece = Uint8Array.from(bytes.subarray(at, Math.min(next, end)));
      if (type === "VP8X") {
        if (((piece[8] ?? 0) & movingFlag) !== 0) throw wrong("a still picture", "a moving one");
        piece[8] = (piece[8] ?? 0) & alphaFlag;
      } else if (type !== "ALPH") size = sizeOf(type, bytes.subarray(data, data + length));
      pieces.push(piece);
    }
    at = next;
  }
  if (size === null || size.width === 0 || size.height === 0) throw wrong("a whole WebP", "no picture in it");
  const body = joined(pieces);
  const head = new Uint8Array(12);
  head.set(bytes.subarray(0, 12));
  new DataView(head.buffer).setUint32(4, body.length + 4, true);
  return { ...size, bytes: joined([head, body]) };
}

/** RFC 6386, clause 9.1 (lossy); RFC 9649, clause 3.4 (lossless). */
function sizeOf(type: string, data: Uint8Array): { width: number; height: number } {
  const b = (i: number): number => data[i] ?? 0;
  if (type === "VP8L") {
    if (b(0) !== 0x2f) throw wrong("a WebP", "a damaged lossless picture");
    const bits = (b(1) | (b(2) << 8) | (b(3) << 16) | (b(4) << 24)) >>> 0;
    return { width: (bits & 0x3fff) + 1, height: ((bits >>> 14) & 0x3fff) + 1 };
  }
  if (b(3) !== 0x9d || b(4) !== 0x01 || b(5) !== 0x2a) throw wrong("a WebP", "a damaged picture");
  return { width: (b(6) | (b(7) << 8)) & 0x3fff, height: (b(8) | (b(9) << 8)) & 0x3fff };
}
