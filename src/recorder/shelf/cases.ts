/** Cases that were taken from others lie in the folder `cases`, a file each; nothing of them is changed. */
import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { basename, join } from "node:path";
import { messageOf } from "../../../shared/errors.ts";
import {
  casesFile,
  casesOf,
  readCases,
  together,
  type LocalCase,
  type SharedCase,
} from "../../sheet/shelf/cases.ts";
import { slug } from "../names.ts";
import { unreadable, unwritable } from "../problems.ts";
import { listed } from "../shelfSources.ts";
import type { Shelf, ShelfProblem } from "./shelf.ts";

const idOf = (text: string): string => createHash("sha256").update(text).digest("hex").slice(0, 20);

export function localCases(shelf: Shelf): LocalCase[] {
  return casesOf(shelf.all, idOf);
}

export interface AllCases {
  readonly cases: ReturnType<typeof together>;
  readonly problems: readonly ShelfProblem[];
}

/** Own cases and those that were taken from others; a file that cannot be read is told and left out. */
export function allCases(shelf: Shelf): AllCases {
  const problems: ShelfProblem[] = [];
  const others: SharedCase[] = [];
  for (const name of taken(shelf.folder)) {
    const path = join(shelf.folder, "cases", name);
    try {
      others.push(...readCasesFile(path));
    } catch (error) {
      problems.push({ source: path, why: messageOf(error) });
    }
  }
  return { cases: together(localCases(shelf), others), problems };
}

function taken(folder: string): string[] {
  return listed(join(folder, "cases"))
    .filter((name) => name.endsWith(".json"))
    .sort();
}

function readCasesFile(path: string): SharedCase[] {
  let text: string;
  try {
    text = readFileSync(path, "utf8");
  } catch (error) {
    throw unreadable(path, error);
  }
  return readCases(text, path);
}

/** Takes a file of cases into the folder. Throws `cases-invalid`, `newer-format`, or what the disk says. */
export function takeCases(folder: string, path: string): number {
  const cases = readCasesFile(path);
  const target = join(folder, "cases", `${slug(basename(path).replace(/\.json$/, ""))}.json`);
  try {
    mkdirSync(join(folder, "cases"), { recursive: true });
    writeFileSync(target, casesFile(cases), { flag: "wx" });
  } catch (error) {
    throw unwritable(target, error);
  }
  return cases.length;
}
