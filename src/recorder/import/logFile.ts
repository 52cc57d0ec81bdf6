/** A log from elsewhere on disk: its beginning, for looking at it, and what was kept of logs like it. */
import { createHash } from "node:crypto";
import { existsSync, mkdirSync, readFileSync, renameSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { CranksideError, isCranksideError } from "../../../shared/errors.ts";
import type { LogLook } from "../../../shared/logLook.ts";
import { forms, isFields, isNewer, versionOf } from "../../../shared/stored/forms.ts";
import { eachPiece } from "../bytes.ts";
import { unwritable } from "../problems.ts";
import { encodingOf } from "./encoding.ts";
import { lookAt } from "./look.ts";
import { headerName, readMapFile, type ReadMap } from "./map.ts";

/** So much of a log is looked at, bytes: enough rows to see what is held, also of one with many columns. */
const lookedAt = 1 << 18;
/** Logs of replies are read whole. */
const longestReplies = 256 << 20;

class Enough extends Error {}

async function beginningOf(path: string, most: number): Promise<Uint8Array> {
  const pieces: Uint8Array[] = [];
  let bytes = 0;
  try {
    await eachPiece(path, (piece) => {
      // A piece is only good until the next one.
      pieces.push(Uint8Array.from(piece));
      bytes += piece.length;
      if (bytes >= most) throw new Enough();
    });
  } catch (error) {
    if (!(error instanceof Enough)) throw error;
  }
  return Buffer.concat(pieces);
}

/** The whole text of a log. Rejects with `file-missing`, `file-unreadable`, or `too-much`. */
export async function textOf(path: string): Promise<string> {
  const bytes = await beginningOf(path, longestReplies);
  if (bytes.length >= longestReplies) {
    const expected = `at most ${longestReplies >> 20} MB`;
    throw new CranksideError("too-much", "the log is too long", { expected, where: path });
  }
  return new TextDecoder(encodingOf(bytes)).decode(bytes);
}

/**
 * What a log is, by its beginning. `maps`: the folder of kept maps, whose choices come before guesses. Rejects with
 * `file-missing`, `file-unreadable` or `csv-columns`.
 */
export async function lookAtFile(path: string, maps: string | null, shown = path): Promise<LogLook> {
  const bytes = await beginningOf(path, lookedAt);
  const encoding = encodingOf(bytes);
  const look = lookAt(new TextDecoder(encoding).decode(bytes), { where: shown, encoding });
  const kept = maps === null ? null : keptMap(maps, look);
  return kept === null ? look : withKept(look, kept);
}

/** One name for all logs with this header. */
function mapPath(folder: string, { header, form }: LogLook): string {
  const sum = createHash("sha256")
    .update(JSON.stringify([form, header]))
    .digest("hex");
  return join(folder, `${sum.slice(0, 16)}.json`);
}

/** What was kept for this header; null where nothing was, or a person made it wrong since. */
function keptMap(folder: string, look: LogLook): ReadMap | null {
  const path = mapPath(folder, look);
  if (!existsSync(path)) return null;
  try {
    return readMapFile(path);
  } catch (error) {
    if (isCranksideError(error, "map-invalid") || isCranksideError(error, "newer-format")) return null;
    throw error;
  }
}

function withKept(look: LogLook, map: ReadMap): LogLook {
  return {
    ...look,
    time:
      map.time.column === headerName(look.time.column)
        ? {
            ...look.time,
            unit: map.time.unit,
            sure: true,
            rows: map.time.rows,
            held: map.time.round !== null,
            // Which order unclear days are in, a person may have said in the map.
            ...(map.time.date !== null && map.time.date.order !== "unclear" ? { date: map.time.date } : {}),
          }
        : look.time,
    columns: look.columns.map((column) => {
      const name = headerName(column.name);
      const mapped = map.columns.find((one) => one.column === name);
      if (mapped !== undefined)
        return { ...column, how: "kept", channel: mapped.channel, unit: mapped.given, about: "" };
      if (!map.ignored.includes(name)) return column;
      return { ...column, how: "kept", channel: null, unit: null, about: column.about };
    }),
  };
}

/** Keeps a map for the next log with this header; one of a later version stays as it is. Throws `file-unwritable`. */
export function keepMap(folder: string, look: LogLook, map: object): void {
  const path = mapPath(folder, look);
  if (existsSync(path) && isNewer(forms.columnMap, storedAt(path))) return;
  const stored = { version: versionOf(forms.columnMap), ...withoutDay(map) };
  try {
    mkdirSync(folder, { recursive: true });
    writeFileSync(`${path}.new`, `${JSON.stringify(stored, null, 2)}\n`);
    renameSync(`${path}.new`, path);
  } catch (error) {
    throw unwritable(path, error);
  }
}

/** The day of one log is not that of the next. */
function withoutDay(map: object): object {
  if (!("time" in map) || !isFields(map.time)) return map;
  const { day, ...time } = map.time;
  return day === undefined ? map : { ...map, time };
}

function storedAt(path: string): unknown {
  try {
    return JSON.parse(readFileSync(path, "utf8"));
  } catch {
    // What cannot be read is no later version, and is replaced.
    return null;
  }
}
