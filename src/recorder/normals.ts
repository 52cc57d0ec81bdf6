/** What was learned of vehicles lies in the folder `normal`, a file each; nothing in it is changed or overwritten. */
import { existsSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { basename, join } from "node:path";
import { CranksideError, messageOf } from "../../shared/errors.ts";
import { learnNormal, readNormal, type NamedNormal, type Normal } from "../sheet/normal.ts";
import { slug } from "./names.ts";
import { openRecording } from "./open.ts";
import { unreadable, unwritable } from "./problems.ts";
import { listed } from "./shelfSources.ts";

export interface KeptNormal {
  /** Name of its file, without the ending. */
  readonly id: string;
  readonly normal: Normal;
}

const isId = (id: string): boolean => /^[a-z0-9][a-z0-9-]{0,50}$/.test(id);
const pathOf = (own: string, id: string): string => join(own, "normal", `${id}.json`);

/** Reads each recording whole. Rejects as reading does, and with `wrong-use` where there are none. */
export async function learnFromFiles(
  paths: readonly string[],
  name?: string,
  onFile: (path: string) => void = () => undefined,
): Promise<Normal> {
  const learned: NamedNormal[] = [];
  for (const path of paths) {
    onFile(path);
    learned.push({ name: basename(path), normal: (await openRecording(path)).normal() });
  }
  return learnNormal(learned, name);
}

export function normalText(normal: Normal): string {
  return `${JSON.stringify(normal, null, 2)}\n`;
}

/** What was learned of a vehicle; throws `normal-invalid` or `newer-format`. */
export function normalFromText(text: string, where: string): Normal {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    throw new CranksideError(
      "normal-invalid",
      "this is not what was learned of a vehicle",
      { found: messageOf(error), where },
      error,
    );
  }
  return readNormal(value, where);
}

/** Those that can be read, by name. */
export function keptNormals(own: string): KeptNormal[] {
  return listed(join(own, "normal"))
    .filter((name) => name.endsWith(".json"))
    .map((name) => name.slice(0, -".json".length))
    .filter(isId)
    .sort()
    .flatMap((id) => {
      try {
        return [{ id, normal: normalFromText(keptNormalText(own, id), id) }];
      } catch (error) {
        // A newer program's, or a file that was spoiled: it stays, and serves nobody here.
        if (error instanceof CranksideError) return [];
        throw error;
      }
    });
}

/** The file as it lies there. Throws `file-missing` or `file-unreadable`. */
export function keptNormalText(own: string, id: string): string {
  const path = pathOf(own, id);
  if (!isId(id)) throw new CranksideError("file-missing", "there is no such file", { found: id });
  try {
    return readFileSync(path, "utf8");
  } catch (error) {
    throw unreadable(path, error);
  }
}

/** Keeps such a file's text, with all that it holds, under a free name. Throws as reading and writing do. */
export function keepNormal(own: string, text: string, name: string): KeptNormal {
  const normal = normalFromText(text, name);
  const stem = slug(normal.name ?? name.replace(/\.json$/i, ""));
  const free = (n: number): string => {
    const id = n === 1 ? stem : `${stem}-${n}`;
    return existsSync(pathOf(own, id)) ? free(n + 1) : id;
  };
  const id = free(1);
  try {
    mkdirSync(join(own, "normal"), { recursive: true });
    writeFileSync(pathOf(own, id), text, { flag: "wx" });
  } catch (error) {
    throw unwritable(pathOf(own, id), error);
  }
  return { id, normal };
}
