/** Hand checks by what a person types of them: part of a name, a part, a symptom, a trouble code. Pure. */
import { causes } from "./tables/causes.ts";
import { handChecks } from "./tables/checks.ts";
import { codesSay } from "./tables/codesSay.ts";
import type { CauseRow, HandCheckRow } from "./types.ts";

export interface FoundCheck {
  readonly id: string;
  readonly name: string;
}

interface Entry extends FoundCheck {
  /** Lower case, best first: what a match in each of them is worth falls. */
  readonly fields: readonly string[];
  /** How much of a code's causes it tells, by code, 0 to 1: a check of few causes tells more of each. */
  readonly codes: ReadonlyMap<string, number>;
}

/** Causes that one of its outcomes changes. */
function causesOf(row: HandCheckRow): CauseRow[] {
  const ids = new Set(row.outcomes.flatMap((o) => Object.keys(o.often ?? {})));
  return (causes as readonly CauseRow[]).filter((cause) => ids.has(cause.id));
}

const entries: readonly Entry[] = (handChecks as readonly HandCheckRow[]).map((row) => {
  const of = causesOf(row);
  const ids = new Set<string>(of.map((cause) => cause.id));
  const codes = new Map(
    codesSay.flatMap(({ code, given }) => {
      const told = Object.entries(given).reduce((sum, [cause, p]) => sum + (ids.has(cause) ? p : 0), 0);
      return told > 0 ? [[code.toLowerCase(), Math.min(0.99, told / ids.size)] as const] : [];
    }),
  );
  return {
    id: row.id,
    name: row.name,
    codes,
    fields: [
      row.name,
      of.map((cause) => `${cause.name} ${cause.place}`).join(" "),
      [...row.steps, ...row.outcomes.map((o) => o.text)].join(" "),
      [...codes.keys()].join(" "),
    ].map((text) => text.toLowerCase()),
  };
});

/** Every word has to be met, at the beginning of a word; best first, then by name. Nothing typed: none. */
export function findChecks(typed: string, most = 8): FoundCheck[] {
  const words = typed
    .toLowerCase()
    .split(/\s+/)
    .filter((w) => w !== "");
  if (words.length === 0) return [];
  return entries
    .map((entry) => ({ entry, worth: worthOf(entry, words) }))
    .filter(({ worth }) => worth > 0)
    .sort((a, b) => b.worth - a.worth || (a.entry.name < b.entry.name ? -1 : 1))
    .slice(0, most)
    .map(({ entry: { id, name } }) => ({ id, name }));
}

/** Nought where a word is met nowhere. */
function worthOf({ fields, codes }: Entry, words: readonly string[]): number {
  let sum = 0;
  for (const word of words) {
    const at = fields.findIndex((field) => beginsIn(field, word));
    if (at < 0) return 0;
    sum += fields.length - at + (codes.get(word) ?? 0);
  }
  return sum;
}

function beginsIn(text: string, word: string): boolean {
  for (let at = text.indexOf(word); at >= 0; at = text.indexOf(word, at + 1)) {
    if (at === 0 || !/[\p{L}\p{N}]/u.test(text.charAt(at - 1))) return true;
  }
  return false;
}
