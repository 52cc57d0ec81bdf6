/** Archives with whatever in them, written by hand after the public ZIP format description (APPNOTE 6.3, stored). */
import { crc32, deflateRawSync } from "node:zlib";

export interface ZipEntry {
  readonly name: string;
  readonly content: Uint8Array;
  /** What the archive claims the unpacked size is, in the wide field where it takes one (4.5.3); else the truth. */
  readonly claims?: number;
  readonly deflate?: boolean;
  /** Unix mode of the entry, for links. */
  readonly mode?: number;
}

export function rawZip(entries: readonly ZipEntry[]): Buffer {
  const parts: Buffer[] = [];
  const central: Buffer[] = [];
  let at = 0;
  for (const { name, content, claims, deflate, mode } of entries) {
    const data = deflate === true ? deflateRawSync(content) : Buffer.from(content);
    const shared = Buffer.alloc(26);
    shared.writeUInt16LE(20, 0);
    shared.writeUInt16LE(0x0800, 2);
    shared.writeUInt16LE(deflate === true ? 8 : 0, 4);
    shared.writeUInt32LE(sumOf(content), 10);
    shared.writeUInt32LE(data.length, 14);
    const size = claims ?? content.length;
    const wide = size > 0xffff_ffff ? Buffer.from([1, 0, 8, 0, 0, 0, 0, 0, 0, 0, 0, 0]) : Buffer.alloc(0);
    if (wide.length > 0) wide.writeBigUInt64LE(BigInt(size), 4);
    shared.writeUInt32LE(Math.min(size, 0xffff_ffff), 18);
    shared.writeUInt16LE(Buffer.byteLength(name), 22);
    const local = Buffer.concat([Buffer.from("PK\x03\x04", "latin1"), shared, Buffer.from(name)]);
    const rest = Buffer.alloc(14);
    rest.writeUInt32LE(((mode ?? 0o100644) << 16) >>> 0, 6);
    rest.writeUInt32LE(at, 10);
    const madeBy = Buffer.from([20, 3]);
    const listed = Buffer.from(shared);
    listed.writeUInt16LE(wide.length, 24);
    central.push(
      Buffer.concat([Buffer.from("PK\x01\x02", "latin1"), madeBy, listed, rest, Buffer.from(name), wide]),
    );
    parts.push(local, data);
    at += local.length + data.length;
  }
  const listed = Buffer.concat(central);
  const end = Buffer.alloc(22);
  end.write("PK\x05\x06", "latin1");
  end.writeUInt16LE(entries.length, 8);
  end.writeUInt16LE(entries.length, 10);
  end.writeUInt32LE(listed.length, 12);
  end.writeUInt32LE(at, 16);
  return Buffer.concat([...parts, listed, end]);
}

function sumOf(bytes: Uint8Array): number {
  return crc32(bytes);
}
