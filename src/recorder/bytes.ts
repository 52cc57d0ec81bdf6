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

/**
 * Recordings inflate to some 10 to 30 times their compressed size. One that inflates to more than so many times
 * what was read of it, and some, is made to fill memories.
 */
const mostInflation = 200;
const freeInflation = 1 << 20;

/** Thrown by what passes the inflated bytes on; the code is that of damaged gzip. */
function tooInflated(): Error {
  const text = `it inflates to more than ${mostInflation} times its size`;
  return Object.assign(new Error(text), { code: "Z_DATA_ERROR" });
}

type Through = (source: AsyncIterable<Buffer>) => AsyncGenerator<Buffer>;

/** Two things to stream through, before and behind inflating; the second one breaks off where it is too much. */
export function inflationGuard(): { readonly raw: Through; readonly inflated: Through } {
  let raw = 0;
  let inflated = 0;
  return {
    raw: async function* (source: AsyncIterable<Buffer>): AsyncGenerator<Buffer> {
      for await (const chunk of source) {
        raw += chunk.length;
        yield chunk;
      }
    },
    inflated: async function* (source: AsyncIterable<Buffer>): AsyncGenerator<Buffer> {
      for await (const chunk of source) {
        inflated += chunk.length;
        if (inflated > freeInflation + mostInflation * raw) throw tooInflated();
        yield chunk;
      }
    },
  };
}

/** By its first two bytes, whatever the file is called. */
export async function isGzip(path: string): Promise<boolean> {
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
  let inflated = 0;
  try {
    await pour(gunzip, (bytes) => {
      inflated += bytes.length;
      if (inflated > freeInflation + mostInflation * source.bytesRead) throw tooInflated();
      take(bytes);
    });
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
