/** A file's bytes in pieces, inflated where they are gzip. */
import { createReadStream } from "node:fs";
import { open } from "node:fs/promises";
import { createGunzip } from "node:zlib";
import { messageOf } from "../../shared/errors.ts";
import { systemCode, unreadable } from "./problems.ts";

export interface FileEnd {
  readonly gzip: boolean;
  /** The compressed file ends too early; all that could be inflated was handed over. */
  readonly truncated: boolean;
  /** The compressed file is damaged from some place on, in words; what came before was handed over. */
  readonly damage: string | null;
}

/** By its first two bytes, whatever the file is called. */
async function isGzip(path: string): Promise<boolean> {
  const file = await open(path, "r");
  try {
    const { bytesRead, buffer } = await file.read(Buffer.alloc(2), 0, 2, 0);
    return bytesRead === 2 && buffer[0] === 0x1f && buffer[1] === 0x8b;
  } finally {
    await file.close();
  }
}

/**
 * Hands over the file in pieces of up to 64 KiB, in order. `take` may throw: that ends it and rejects. Rejects
 * with `file-missing` or `file-unreadable`. `onRaw` hears how many bytes of the file itself were read so far.
 */
export async function eachPiece(
  path: string,
  take: (bytes: Uint8Array) => void,
  onRaw?: (bytes: number) => void,
): Promise<FileEnd> {
  try {
    const gzip = await isGzip(path);
    const source = createReadStream(path);
    let raw = 0;
    source.on("data", (piece) => {
      raw += piece.length;
      onRaw?.(raw);
    });
    try {
      if (gzip) return { gzip, ...(await inflate(source, take)) };
      await pour(source, take);
      return { gzip, truncated: false, damage: null };
    } finally {
      source.destroy();
    }
  } catch (error) {
    if (systemCode(error) === "") throw error;
    throw unreadable(path, error);
  }
}

/** By events and not by iteration, which would lose what was inflated before an error. */
function pour(stream: NodeJS.ReadableStream, take: (bytes: Uint8Array) => void): Promise<void> {
  return new Promise((resolve, reject) => {
    stream.on("data", (piece: Uint8Array) => {
      try {
        take(piece);
      } catch (error) {
        stream.removeAllListeners("data");
        stream.pause();
        reject(error instanceof Error ? error : new Error(messageOf(error)));
      }
    });
    stream.on("end", resolve);
    stream.on("error", reject);
  });
}

async function inflate(
  source: ReturnType<typeof createReadStream>,
  take: (bytes: Uint8Array) => void,
): Promise<Omit<FileEnd, "gzip">> {
  const gunzip = createGunzip();
  source.on("error", (error) => gunzip.destroy(error));
  source.pipe(gunzip);
  try {
    await pour(gunzip, take);
    return { truncated: false, damage: null };
  } catch (error) {
    switch (systemCode(error)) {
      case "Z_BUF_ERROR":
        return { truncated: true, damage: null };
      case "Z_DATA_ERROR":
        return { truncated: false, damage: messageOf(error) };
      default:
        throw error;
    }
  } finally {
    gunzip.destroy();
  }
}
