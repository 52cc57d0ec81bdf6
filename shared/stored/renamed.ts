/**
 * Ids that an earlier version wrote and this one calls by another name. They stand in recordings, jobs, drafts and files
 * of people, so an id is never simply changed: its old name gets a row here, and a line in CHANGELOG.md. Stored
 * statements are not touched: they say what was said then.
 */

export interface RenamedCheck {
  /** The check that it is now; left out: the same, only outcomes are called otherwise. */
  readonly now?: string;
  /** Its outcomes by their old names; left out, they are called as before. */
  readonly outcomes?: Readonly<Record<string, string>>;
}

export interface Renamed {
  readonly causes: Readonly<Record<string, string>>;
  readonly checks: Readonly<Record<string, RenamedCheck>>;
  readonly signs: Readonly<Record<string, string>>;
  readonly channels: Readonly<Record<string, string>>;
  readonly complaints: Readonly<Record<string, string>>;
}

export const renamed: Renamed = {
  causes: {},
  // What signs once asked for by names of their own.
  checks: {
    "rev-counter": { now: "second-counter" },
    "relative-compression": { now: "compression" },
    "compression-one": { now: "compression" },
    "oil-cap": { now: "intake-sealed" },
    altitude: { now: "barometer" },
  },
  signs: {},
  channels: {},
  complaints: {},
};

/**
 * Ids without a successor, each with the reason. What was stored under them is kept, shown with the words it had, and
 * not weighed any more.
 */
export const withdrawn: Readonly<Record<keyof Renamed, Readonly<Record<string, string>>>> = {
  causes: {},
  checks: {},
  signs: {},
  channels: {},
  complaints: {},
};

/** The name that an id has today; its own where nothing else is known. */
export function currentId(kind: Exclude<keyof Renamed, "checks">, id: string, table = renamed): string {
  const rows = table[kind];
  let now = id;
  // Names that were changed twice; a ring of them would be a slip in the table.
  for (let steps = 0; steps < 20; steps++) {
    const next = Object.hasOwn(rows, now) ? rows[now] : undefined;
    if (next === undefined) return now;
    now = next;
  }
  return now;
}

/** The names that an id had before. */
export function formerIds(kind: keyof Renamed, id: string, table = renamed): string[] {
  const rows: readonly string[] = Object.keys(table[kind]);
  const now = (old: string): string =>
    kind === "checks" ? currentCheck({ check: old }, table).check : currentId(kind, old, table);
  return rows.filter((old) => old !== id && now(old) === id);
}

export interface CheckAnswer {
  readonly check: string;
  /** Left out where only the check is known. */
  readonly outcome?: string;
}

/** A check and its outcome under the names of today. */
export function currentCheck({ check, outcome }: CheckAnswer, table = renamed): CheckAnswer {
  let now = { check, outcome };
  for (let steps = 0; steps < 20; steps++) {
    const row = Object.hasOwn(table.checks, now.check) ? table.checks[now.check] : undefined;
    if (row === undefined) break;
    const { outcomes = {} } = row;
    const named = now.outcome !== undefined && Object.hasOwn(outcomes, now.outcome);
    const next = {
      check: row.now ?? now.check,
      outcome: named ? outcomes[now.outcome ?? ""] : now.outcome,
    };
    if (next.check === now.check && next.outcome === now.outcome) break;
    now = next;
  }
  return { check: now.check, ...(now.outcome === undefined ? {} : { outcome: now.outcome }) };
}
