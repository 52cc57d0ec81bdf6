/** Takes a recording from elsewhere into the person's own folder. */
import { createReadStream } from "node:fs";
import { link, mkdir, rm } from "node:fs/promises";
import { createHash, randomBytes } from "node:crypto";
import { join } from "node:path";
import { CranksideError } from "../../shared/errors.ts";
import { isGzip } from "./bytes.ts";
import { syncFolder, writeNew } from "./jobs/write.ts";
import { systemCode, unreadable, unwritable } from "./problems.ts";
import { verifyRecording, type VerifyState } from "./verify.ts";

export interface Taken {
  /** Under which name it is in the folder now. */
  readonly file: string;
  readonly state: VerifyState;
  /** The same file was there already. */
  readonly known: boolean;
}

/** Names beyond this are cut. */
const longestStem = 150;

/**
 * Keeps the bytes as they come, whole or cut short, under its name or the next free one. Rejects with
 * `not-a-recording` or `newer-format`, and then nothing is kept; with `file-unwritable`; and as `source` does.
 */
export async function takeRecording(
  own: string,
  name: string,
  source: AsyncIterable<Uint8Array>,
): Promise<Taken> {
  const temporary = join(own, `.taken-${randomBytes(6).toString("hex")}.tmp`);
  try {
    try {
      await mkdir(own, { recursive: true });
      await writeNew(temporary, source);
    } catch (error) {
      throw error instanceof CranksideError ? error : unwritable(own, error);
    }
    const { state } = await checked(temporary, name);
    const ending = (await isGzip(temporary)) ? ".ndjson.gz" : ".ndjson";
    return { ...(await placed(own, temporary, { stem: stemOf(name), ending })), state };
  } finally {
    await rm(temporary, { force: true });
  }
}

/** The errors name the file as the person knows it. */
async function checked(path: string, name: string): Promise<{ readonly state: VerifyState }> {
  try {
    return await verifyRecording(path);
  } catch (error) {
    if (!(error instanceof CranksideError)) throw error;
    const summary =
      error.code === "newer-format" ? "the recording is of a later version" : "this is no recording";
    throw new CranksideError(error.code, summary, { ...error.context, where: name }, error);
  }
}

/** What a job may point to: no folders, no leading dot. */
function stemOf(name: string): string {
  const plain = name
    .replace(/^.*[\\/]/, "")
    .replace(/\.ndjson(?:\.gz)?$|\.gz$|\.jsonl?$|\.txt$/i, "")
    .normalize("NFKD")
    .replace(/[^A-Za-z0-9._ ()+@=-]+/g, "-")
    .replace(/^[^A-Za-z0-9_]+/, "")
    .slice(0, longestStem);
  return plain === "" ? "recording" : plain;
}

/** A link is made whole or not at all, and never over another file. */
async function placed(
  own: string,
  temporary: string,
  { stem, ending }: { readonly stem: string; readonly ending: string },
): Promise<Pick<Taken, "file" | "known">> {
  for (let n = 1; ; n++) {
    const file = `${stem}${n === 1 ? "" : `-${n}`}${ending}`;
    const path = join(own, file);
    try {
      await link(temporary, path);
      await syncFolder(own);
      return { file, known: false };
    } catch (error) {
      if (systemCode(error) !== "EEXIST") throw unwritable(path, error);
      if ((await sumOf(path)) === (await sumOf(temporary))) return { file, known: true };
    }
  }
}

async function sumOf(path: string): Promise<string> {
  const hash = createHash("sha256");
  try {
    for await (const piece of createReadStream(path) as AsyncIterable<Buffer>) hash.update(piece);
  } catch (error) {
    throw unreadable(path, error);
  }
  return hash.digest("hex");
}
