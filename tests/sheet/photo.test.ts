/** Photos are told by their bytes, and lose all that is not picture. Layouts: ITU-T T.81, ISO/IEC 15948, RFC 9649. */
import fc from "fast-check";
import { deflateSync } from "node:zlib";
import { expect, test } from "vitest";
import { isCranksideError } from "../../shared/errors.ts";
import { crc32 } from "../../src/sheet/photo/png.ts";
import { cleanPhoto, photoLimits } from "../../src/sheet/photo/photo.ts";

/** The least JPEG there is: 1 by 1 pixel, grey; tables of one code each (ITU-T T.81, annex B), by hand. */
const table = [0xff, 0xdb, 0, 67, 0, ...new Array<number>(64).fill(1)];
const frame = (height: number, width: number): number[] => [
  ...[0xff, 0xc0, 0, 11, 8, height >> 8, height & 255, width >> 8, width & 255, 1, 1, 0x11, 0],
];
const huffman = (kind: number): number[] => [0xff, 0xc4, 0, 20, kind, 1, ...new Array<number>(15).fill(0), 0];
const scan = [0xff, 0xda, 0, 8, 1, 1, 0, 0, 63, 0, 0x3f, 0xff, 0x00, 0x12];
const segment = (marker: number, text: string): number[] => [
  ...[0xff, marker, (text.length + 2) >> 8, (text.length + 2) & 255],
  ...Buffer.from(text, "latin1"),
];
const exif = (orientation: number): number[] =>
  segment(
    0xe1,
    `Exif\0\0II*\0\x08\0\0\0\x02\0\x12\x01\x03\0\x01\0\0\0${String.fromCharCode(orientation)}\0\0\0\x25\x88\x04\0\x01\0\0\0SECRETPOSITION`,
  );

function jpeg(more: readonly number[] = [], height = 1, width = 1): Uint8Array {
  return Uint8Array.of(
    ...[
      0xff,
      0xd8,
      ...more,
      ...table,
      ...frame(height, width),
      ...huffman(0),
      ...huffman(0x10),
      ...scan,
      0xff,
      0xd9,
    ],
  );
}

function chunk(type: string, data: Uint8Array): Uint8Array {
  const body = Buffer.concat([Buffer.from(type, "latin1"), data]);
  const out = Buffer.alloc(body.length + 8);
  out.writeUInt32BE(data.length, 0);
  body.copy(out, 4);
  out.writeUInt32BE(crc32(body), body.length + 4);
  return out;
}

function png(more: readonly Uint8Array[] = [], width = 2, height = 1): Uint8Array {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(width, 0);
  header.writeUInt32BE(height, 4);
  header.set([8, 0, 0, 0, 0], 8);
  const data = deflateSync(Buffer.alloc((width + 1) * height));
  return Buffer.concat([
    Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
    chunk("IHDR", header),
    ...more,
    chunk("IDAT", data),
    chunk("IEND", Buffer.alloc(0)),
  ]);
}

function webp(chunks: readonly (readonly [string, readonly number[]])[]): Uint8Array {
  const body = Buffer.concat(
    chunks.map(([type, data]) => {
      const head = Buffer.alloc(8);
      head.write(type, 0, "latin1");
      head.writeUInt32LE(data.length, 4);
      return Buffer.concat([head, Buffer.from(data), Buffer.alloc(data.length & 1)]);
    }),
  );
  const head = Buffer.alloc(12);
  head.write("RIFF", 0);
  head.writeUInt32LE(body.length + 4, 4);
  head.write("WEBP", 8);
  return Buffer.concat([head, body]);
}

/** A key frame of 3 by 2: RFC 6386, clause 9.1. */
const vp8 = [0x10, 0, 0, 0x9d, 0x01, 0x2a, 3, 0, 2, 0, 1, 2];

function codeOf(bytes: Uint8Array): string {
  try {
    cleanPhoto(bytes);
  } catch (error) {
    if (isCranksideError(error)) return error.code;
    throw error;
  }
  return "taken";
}

const text = (bytes: Uint8Array): string => Buffer.from(bytes).toString("latin1");

test("the check sum of PNG is the published one", () => {
  // CRC-32/ISO-HDLC, check value of "123456789" in the catalogue of parametrised CRC algorithms.
  expect(crc32(Buffer.from("123456789"))).toBe(0xcbf43926);
});

test("a JPEG loses position, comments and what hangs behind its end, and keeps how the camera was held", () => {
  const dirty = jpeg(
    [...segment(0xe0, "JFIF\0xxxxxxxxx"), ...exif(6), ...segment(0xfe, "SECRETCOMMENT")],
    20,
    10,
  );
  const photo = cleanPhoto(Buffer.concat([dirty, Buffer.from("<script>SECRET</script>")]));
  expect(photo).toMatchObject({ type: "image/jpeg", width: 20, height: 10 });
  expect(text(photo.bytes)).not.toMatch(/SECRET|script|JFIF/);
  expect(text(photo.bytes)).toContain("Exif\0\0MM");
  // Clean already: nothing more is taken away.
  expect(cleanPhoto(photo.bytes)).toEqual(photo);
  expect(text(cleanPhoto(jpeg(exif(1))).bytes)).not.toContain("Exif");
});

test("a PNG keeps its picture chunks only", () => {
  const dirty = png([
    chunk("tEXt", Buffer.from("Author\0SECRET")),
    chunk("eXIf", Buffer.from("II*\0SECRET")),
    chunk("gAMA", Buffer.alloc(4)),
  ]);
  const photo = cleanPhoto(Buffer.concat([dirty, Buffer.from("SECRET")]));
  expect(photo).toMatchObject({ type: "image/png", width: 2, height: 1 });
  expect(text(photo.bytes)).not.toContain("SECRET");
  expect(text(photo.bytes)).toContain("gAMA");
  expect(cleanPhoto(photo.bytes)).toEqual(photo);
});

test("a WebP keeps its picture chunks only, and says so in its flags", () => {
  const dirty = webp([
    ["VP8X", [0x3c, 0, 0, 0, 2, 0, 0, 1, 0, 0]],
    ["ICCP", [...Buffer.from("SECRET")]],
    ["VP8 ", vp8],
    ["EXIF", [...Buffer.from("SECRET")]],
    ["XMP ", [...Buffer.from("SECRET")]],
  ]);
  const photo = cleanPhoto(dirty);
  expect(photo).toMatchObject({ type: "image/webp", width: 3, height: 2 });
  expect(text(photo.bytes)).not.toContain("SECRET");
  expect(photo.bytes[20]).toBe(0x10);
  expect(cleanPhoto(photo.bytes)).toEqual(photo);
});

test.each([
  ["nothing", new Uint8Array()],
  ["SVG", Buffer.from("<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>")],
  ["HTML that calls itself JPEG", Buffer.from("<html>\u00ff\u00d8")],
  ["GIF", Buffer.from("GIF89a\x01\0\x01\0\0\0\0;")],
  ["a cut JPEG", jpeg().subarray(0, 90)],
  ["a JPEG without a picture", Uint8Array.of(0xff, 0xd8, 0xff, 0xd9)],
  ["a JPEG too large", jpeg([], 10, photoLimits.side + 1)],
  ["a PNG whose check sum is wrong", Buffer.from(png()).fill(9, 40, 41)],
  ["a moving PNG", png([chunk("acTL", Buffer.alloc(8))])],
  ["a PNG too large", png([], photoLimits.side + 1)],
  [
    "a moving WebP",
    webp([
      ["VP8X", [2, 0, 0, 0, 0, 0, 0, 0, 0, 0]],
      ["VP8 ", vp8],
    ]),
  ],
  ["a WebP without a picture", webp([["EXIF", [1, 2]]])],
  ["too many bytes", new Uint8Array(photoLimits.bytes + 1)],
])("%s is refused", (_, bytes) => {
  expect(codeOf(bytes)).toBe("photo-invalid");
});

test("any damage to a picture is taken or refused with a code, never more", () => {
  const whole = [jpeg(exif(3), 9, 8), png(), webp([["VP8 ", vp8]])];
  fc.assert(
    fc.property(
      fc.constantFrom(...whole),
      fc.array(fc.tuple(fc.nat(400), fc.nat(255)), { maxLength: 8 }),
      fc.nat(400),
      (bytes, changes, cut) => {
        const damaged = Uint8Array.from(bytes);
        for (const [at, value] of changes) damaged[at % damaged.length] = value;
        const code = codeOf(damaged.subarray(0, cut % 3 === 0 ? cut : damaged.length));
        expect(["taken", "photo-invalid"]).toContain(code);
      },
    ),
    { numRuns: 2000 },
  );
});
