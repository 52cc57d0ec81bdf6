/** PNG chunks: ISO/IEC 15948 (W3C PNG), clauses 5 and 11. */
import { joined, latin, wrong, type Sized } from "./bytes.ts";

const signature = Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a);
const kept: ReadonlySet<string> = new Set(["IHDR", "PLTE", "tRNS", "gAMA", "cHRM", "sRGB", "IDAT", "IEND"]);

export function cleanPng(bytes: Uint8Array): Sized {
  if (signature.some((byte, i) => bytes[i] !== byte)) throw wrong("a PNG", "a damaged beginning");
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const pieces: Uint8Array[] = [signature];
  let size: { width: number; height: number } | null = null;
  let data = false;
  let at = signature.length;
  for (;;) {
    if (at + 12 > bytes.length) throw wrong("a whole PNG", "no end of the picture");
    const length = view.getUint32(at);
    const next = at + 12 + length;
    if (next > bytes.length) throw wrong("a whole PNG", `a cut chunk at byte ${at}`);
    const type = latin(bytes, at + 4, 4);
    if (crc32(bytes.subarray(at + 4, next - 4)) !== view.getUint32(next - 4))
      throw wrong("a PNG that fits its check sums", `chunk ${JSON.stringify(type)} at byte ${at} does not`);
    if (type === "acTL") throw wrong("a still picture", "a moving one");
    if (type === "IHDR") size = { width: view.getUint32(at + 8), height: view.getUint32(at + 12) };
    else if (size === null) throw wrong("a PNG", "a chunk before its header");
    if (type === "IDAT") data = true;
    if (kept.has(type)) pieces.push(bytes.subarray(at, next));
    at = next;
    if (type === "IEND") break;
  }
  if (!data || size.width === 0 || size.height === 0) throw wrong("a whole PNG", "no picture in it");
  return { ...size, bytes: joined(pieces) };
}

const table = Uint32Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let k = 0; k < 8; k++) c = (c & 1) === 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c >>> 0;
});

/** ISO/IEC 15948, annex D. */
export function crc32(bytes: Uint8Array): number {
  let c = 0xffffffff;
  for (const byte of bytes) c = (table[(c ^ byte) & 0xff] ?? 0) ^ (c >>> 8);
  return (c ^ 0xffffffff) >>> 0;
}
