/** What ties a clip to its recording: the digest of the bytes that were there when it was put on the sheet. */
import { createHash } from "node:crypto";
import { basename } from "node:path";
import type { TieState } from "../../sheet/tied.ts";
import type { Tie } from "../../sheet/job.ts";
import { isCranksideError } from "../../../shared/errors.ts";
import { eachPiece } from "../bytes.ts";

/** Of the recording's text as it is now, up to its last whole line; inflated where it is compressed. */
export async function tieOf(path: string): Promise<Tie> {
  const whole = createHash("sha256");
  let rest: Buffer[] = [];
  let bytes = 0;
  await eachPiece(path, (piece) => {
    const at = piece.lastIndexOf(0x0a);
    if (at < 0) {
      rest.push(Buffer.from(piece));
      return;
    }
    for (const part of [...rest, piece.subarray(0, at + 1)]) {
      whole.update(part);
      bytes += part.length;
    }
    rest = [Buffer.from(piece.subarray(at + 1))];
  });
  return { file: basename(path), bytes, sha256: whole.digest("hex") };
}

/** Whether the file still begins with what the ties speak of, read once for all of them. */
export async function tieStates(path: string, ties: readonly Tie[]): Promise<TieState[]> {
  const open = ties.map((tie) => ({ tie, hash: createHash("sha256"), taken: 0 }));
  let read = 0;
  try {
    await eachPiece(path, (piece) => {
      read += piece.length;
      for (const one of open) {
        const take = Math.min(piece.length, one.tie.bytes - one.taken);
        if (take <= 0) continue;
        one.hash.update(piece.subarray(0, take));
        one.taken += take;
      }
    });
  } catch (error) {
    if (isCranksideError(error, "file-missing")) return ties.map(() => "missing");
    if (isCranksideError(error, "file-unreadable")) return ties.map(() => "unreadable");
    throw error;
  }
  return open.map(({ tie, hash }) =>
    read >= tie.bytes && hash.digest("hex") === tie.sha256 ? "fits" : "altered",
  );
}
