import { basename } from "node:path";
import { Analyst, type ReadBy } from "../analyst/index.ts";
import { readByJob } from "../sheet/readByJob.ts";
import { eachPiece } from "./bytes.ts";
import { gzipDamage, type ReadOptions } from "./read.ts";

export interface OpenOptions extends ReadOptions {
  /** Without it: by the recording's own facts, as they are meant today. */
  readonly by?: ReadBy;
}

/** A whole recording from the disk, with its analyst; rejects as `readRecording` does. */
export async function openRecording(path: string, { by, onProgress }: OpenOptions = {}): Promise<Analyst> {
  const analyst = new Analyst(path, by ?? readByJob(null, basename(path)));
  const end = await eachPiece(path, (piece) => analyst.push(piece), onProgress);
  analyst.finish();
  const damage = gzipDamage(end);
  if (damage !== null) analyst.notice(damage);
  return analyst;
}
