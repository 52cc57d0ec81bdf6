/** A zip file, written beside its place and renamed into it. */
import { createReadStream, createWriteStream } from "node:fs";
import { Readable } from "node:stream";
import { rename, rm, stat } from "node:fs/promises";
import { basename, dirname, join } from "node:path";
import { finished } from "node:stream/promises";
import { ZipFile } from "yazl";
import { unwritable } from "../problems.ts";
import { syncFolder } from "./write.ts";

export interface Packed {
  readonly name: string;
  /** Of a file its first so many bytes: it may be growing meanwhile. */
  readonly content: Buffer | { readonly path: string; readonly bytes: number };
}

/** The first so many bytes of a file. */
export function firstBytes({ path, bytes }: { readonly path: string; readonly bytes: number }): Readable {
  return bytes === 0 ? Readable.from([]) : createReadStream(path, { end: bytes - 1 });
}

/** Bytes written. Rejects with `file-unwritable`. */
export async function zip(path: string, packed: readonly Packed[]): Promise<number> {
  const temporary = join(dirname(path), `.${basename(path)}.tmp`);
  try {
    const file = new ZipFile();
    for (const { name, content } of packed) {
      // Photos are compressed as they are.
      const compress = !/\.(?:jpg|png|webp|gz)$/.test(name);
      if (Buffer.isBuffer(content)) file.addBuffer(content, name, { compress });
      else
        file.addReadStreamLazy(name, { compress, size: content.bytes }, (give) => {
          const stream = firstBytes(content);
          stream.on("error", (error) => file.emit("error", error));
          give(null, stream);
        });
    }
    const out = createWriteStream(temporary, { flags: "w", flush: true });
    file.outputStream.pipe(out);
    file.end();
    await Promise.race([finished(out), failure(file)]);
    const { size } = await stat(temporary);
    await rename(temporary, path);
    await syncFolder(dirname(path));
    return size;
  } catch (error) {
    await rm(temporary, { force: true });
    throw unwritable(path, error);
  }
}

/** The zip writer tells of a file that cannot be read on itself and not on its stream. */
function failure(file: ZipFile): Promise<never> {
  return new Promise((_, reject) => {
    file.on("error", reject);
  });
}
