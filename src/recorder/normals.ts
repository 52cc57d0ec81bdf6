/**
 * What was learned of vehicles lies in the folder `normal`, a file each; nothing in them is changed or overwritten. Beside
 * them stands which is used for which vehicle.
 */
import { createHash } from "node:crypto";
import { existsSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import { CranksideError, isCranksideError, messageOf } from "../../shared/errors.ts";
import { usedSchema, type UseRequest } from "../../shared/normalMessages.ts";
import { forms, isFields, migrated, versionOf, type Fields } from "../../shared/stored/forms.ts";
import { learnNormal, readNormal, type NamedNormal, type Normal } from "../sheet/normal.ts";
import { writeWhole } from "./jobs/write.ts";
import { slug } from "./names.ts";
import { openRecording } from "./open.ts";
import { systemCode, unreadable, unwritable } from "./problems.ts";
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

export type UsedNormals = Readonly<Record<string, string>>;

/** Which is used for which vehicle, by `vehicleKey`; null where nobody ever chose. Throws `newer-format`. */
export function usedNormals(own: string): UsedNormals | null {
  const stored = storedUse(own);
  const used = usedSchema.safeParse(stored?.["used"]);
  return stored === null ? null : used.success ? used.data : {};
}

/** Uses one for a vehicle, or none. Rejects with `file-missing` for one that is not there. */
export async function useNormal(own: string, { vehicle, id }: UseRequest): Promise<UsedNormals> {
  if (id !== null) keptNormalText(own, id);
  const others = Object.entries(usedNormals(own) ?? {}).filter(([of]) => of !== vehicle);
  const used = Object.fromEntries(id === null ? others : [...others, [vehicle, id]]);
  const path = usePath(own);
  try {
    mkdirSync(dirname(path), { recursive: true });
  } catch (error) {
    throw unwritable(path, error);
  }
  const stored = { ...storedUse(own), version: versionOf(forms.normalsUsed), used };
  await writeWhole(path, `${JSON.stringify(stored, null, 2)}\n`);
  return used;
}

export interface InUse {
  readonly normal: Normal;
  /** Which it is, and in which state its file is. */
  readonly state: string;
}

/** By `vehicleKey`: those that are used and can be read, as the page has them. */
export function normalsInUse(own: string): ReadonlyMap<string, InUse> {
  const found = new Map<string, InUse>();
  let used: UsedNormals;
  try {
    used = usedNormals(own) ?? {};
  } catch (error) {
    if (isCranksideError(error, "newer-format")) return found;
    throw error;
  }
  for (const [vehicle, id] of Object.entries(used)) {
    try {
      const text = keptNormalText(own, id);
      const sum = createHash("sha256").update(text).digest("hex").slice(0, 16);
      found.set(vehicle, { normal: normalFromText(text, id), state: `${id} ${sum}` });
    } catch (error) {
      // Gone, spoiled, or a newer program's: the trade's ranges alone, as on the page.
      if (!(error instanceof CranksideError)) throw error;
    }
  }
  return found;
}

/** No name of a file of what was learned begins with a dot. */
const usePath = (own: string): string => join(own, "normal", ".used.json");

/** Null where there is none; without fields where it was spoiled. */
function storedUse(own: string): Fields | null {
  const path = usePath(own);
  try {
    const stored = migrated(forms.normalsUsed, JSON.parse(readFileSync(path, "utf8")), path);
    return isFields(stored) ? stored : {};
  } catch (error) {
    if (error instanceof SyntaxError) return {};
    if (systemCode(error) === "ENOENT") return null;
    throw error instanceof CranksideError ? error : unreadable(path, error);
  }
}
