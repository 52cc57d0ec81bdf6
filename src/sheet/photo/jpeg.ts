/** JPEG segments: ITU-T T.81, annex B. The way a camera was held stands in EXIF 2.3 (tag 0112) and is kept. */
import { joined, latin, wrong, type Sized } from "./bytes.ts";

const start = 0xd8;
const end = 0xd9;
const scan = 0xda;
const adobe = 0xee;
const exif = 0xe1;

/** Frame headers: C0 to CF without the tables C4, C8 and CC among them. */
function isFrame(marker: number): boolean {
  return marker >= 0xc0 && marker <= 0xcf && marker !== 0xc4 && marker !== 0xc8 && marker !== 0xcc;
}

/** What decoding needs: tables and restarts. Application data and comments are not among them. */
function isKept(marker: number): boolean {
  return (marker >= 0xc0 && marker <= 0xcf) || (marker >= 0xda && marker <= 0xdf);
}

/** How the colours are coded, in exactly the length that takes. */
function isAdobe(marker: number, segment: Uint8Array): boolean {
  return marker === adobe && segment.length === 16 && latin(segment, 4, 5) === "Adobe";
}

export function cleanJpeg(bytes: Uint8Array): Sized {
  const pieces: Uint8Array[] = [];
  let size: { width: number; height: number } | null = null;
  let orientation = 1;
  let sawScan = false;
  let at = 2;
  for (;;) {
    while (bytes[at] === 0xff && bytes[at + 1] === 0xff) at += 1;
    const marker = bytes[at + 1];
    if (bytes[at] !== 0xff || marker === undefined) throw wrong("a JPEG segment", `none at byte ${at}`);
    if (marker === end) break;
    if (marker === start || marker === 0x00 || (marker >= 0xd0 && marker <= 0xd7))
      throw wrong("a JPEG segment", `a stray marker at byte ${at}`);
    const length = ((bytes[at + 2] ?? 0) << 8) | (bytes[at + 3] ?? 0);
    let next = at + 2 + length;
    if (length < 2 || next > bytes.length) throw wrong("a whole JPEG", `a cut segment at byte ${at}`);
    const segment = bytes.subarray(at, next);
    if (isFrame(marker)) {
      if (size !== null || length < 9) throw wrong("one JPEG frame", `another at byte ${at}`);
      size = {
        height: ((bytes[at + 5] ?? 0) << 8) | (bytes[at + 6] ?? 0),
        width: ((bytes[at + 7] ?? 0) << 8) | (bytes[at + 8] ?? 0),
      };
    }
    if (marker === exif) orientation = orientationOf(segment) ?? orientation;
    if (marker === scan) {
      sawScan = true;
      next = scanEnd(bytes, next);
      pieces.push(bytes.subarray(at, next));
    } else if (isKept(marker) || isAdobe(marker, segment)) pieces.push(segment);
    at = next;
  }
  if (size === null || !sawScan || size.width === 0 || size.height === 0)
    throw wrong("a whole JPEG", "no picture in it");
  const turned = orientation >= 5;
  return {
    width: turned ? size.height : size.width,
    height: turned ? size.width : size.height,
    bytes: joined([
      Uint8Array.of(0xff, start),
      ...(orientation === 1 ? [] : [orientationSegment(orientation)]),
      ...pieces,
      Uint8Array.of(0xff, end),
    ]),
  };
}

/** Entropy-coded data goes on until a marker that is neither a stuffed zero nor a restart. */
function scanEnd(bytes: Uint8Array, from: number): number {
  let at = from;
  for (;;) {
    at = bytes.indexOf(0xff, at);
    const marker = at < 0 ? undefined : bytes[at + 1];
    if (marker === undefined) throw wrong("a whole JPEG", "no end of the picture");
    if (marker === 0xff) at += 1;
    else if (marker === 0x00 || (marker >= 0xd0 && marker <= 0xd7)) at += 2;
    else return at;
  }
}

/** Orientation 1 to 8 from an EXIF segment, or null. */
function orientationOf(segment: Uint8Array): number | null {
  if (latin(segment, 4, 6) !== "Exif\0\0") return null;
  const tiff = segment.subarray(10);
  const view = new DataView(tiff.buffer, tiff.byteOffset, tiff.byteLength);
  const little = latin(tiff, 0, 2) === "II";
  if (tiff.length < 8 || (!little && latin(tiff, 0, 2) !== "MM")) return null;
  const ifd = view.getUint32(4, little);
  if (ifd + 2 > tiff.length) return null;
  const count = view.getUint16(ifd, little);
  for (let i = 0; i < count; i++) {
    const entry = ifd + 2 + i * 12;
    if (entry + 12 > tiff.length) return null;
    if (view.getUint16(entry, little) !== 0x0112) continue;
    const value = view.getUint16(entry + 8, little);
    return value >= 1 && value <= 8 ? value : null;
  }
  return null;
}

/** An EXIF segment that holds the orientation and nothing else. */
function orientationSegment(orientation: number): Uint8Array {
  const tiff = [
    0x4d,
    0x4d,
    0,
    42,
    0,
    0,
    0,
    8,
    0,
    1,
    0x01,
    0x12,
    0,
    3,
    0,
    0,
    0,
    1,
    0,
    orientation,
    0,
    0,
    0,
    0,
    0,
    0,
  ];
  const body = [0x45, 0x78, 0x69, 0x66, 0, 0, ...tiff];
  return Uint8Array.of(0xff, exif, 0, body.length + 2, ...body);
}
