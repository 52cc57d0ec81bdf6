/** A zip file, written beside its place and renamed into it. */
import { createWriteStream } from "node:fs";
import { rename, rm, stat } from "node:fs/promises";
import { basename, dirname, join } from "node:path";
import { finished } from "node:stream/promises";
import { ZipFile } from "yazl";
import { unwritable } from "../problems.ts";
import { syncFolder } from "./write.ts";

export interface Packed {
  readonly name: string;
  readonly content: Buffer | { readonly path: string };
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
      else file.addFile(content.path, name, { compress });
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
