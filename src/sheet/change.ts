/**
 * Changes to a job, field by field. A change says what stood there before, so that two pages on one job can be merged:
 * fields that only one of them changed are kept from both, and a field that both changed takes the later one and
 * the other's words are handed back. Undoing is the same change the other way round.
 */
import { z } from "zod/mini";
import { CranksideError } from "../../shared/errors.ts";
import { withCurrentIds } from "../../shared/stored/jobIds.ts";
import { renamed, type Renamed } from "../../shared/stored/renamed.ts";
import { vehicleFactsSchema } from "../../shared/vehicle.ts";
import { checkJob, choicesSchema, frontSchema, lists, whoSchema, type JobDocument } from "./job.ts";
import { sections } from "./sections.ts";

export type Json = null | boolean | number | string | readonly Json[] | { readonly [key: string]: Json };

const key = z.string().check(z.minLength(1), z.maxLength(60), z.regex(/^[A-Za-z0-9][A-Za-z0-9-]*$/));

/**
 * `path` is a field ("archived"), a field of a group ("who", "plate"), a whole new item ("clips", ID) or one field of
 * an item ("clips", ID, "caption"). Left out `before` or `after`: the field is not there.
 */
export const changeSchema = z.strictObject({
  path: z.array(key).check(z.minLength(1), z.maxLength(3)),
  before: z.optional(z.json()),
  after: z.optional(z.json()),
});
export interface Change {
  readonly path: readonly string[];
  readonly before?: Json | undefined;
  readonly after?: Json | undefined;
}

/** Fields that a change may reach, and how deep. Format, id and counters are not among them. */
const groups: Readonly<Record<string, ReadonlySet<string>>> = {
  who: new Set(Object.keys(whoSchema.shape)),
  vehicle: new Set(Object.keys(vehicleFactsSchema.shape)),
  unsaid: new Set(Object.keys(vehicleFactsSchema.shape)),
  texts: new Set(sections),
  leftOut: new Set(sections),
  advice: new Set(Object.keys(choicesSchema.shape)),
  front: new Set(Object.keys(frontSchema.shape)),
};
const single: ReadonlySet<string> = new Set(["archived", "vinFrom"]);
const itemLists: ReadonlySet<string> = new Set(lists);

/** What another page had written meanwhile, where both changed one field; the later one stands. */
export interface Conflict {
  readonly path: readonly string[];
  readonly theirs?: Json | undefined;
  readonly yours?: Json | undefined;
}

export interface Merged {
  readonly job: JobDocument;
  readonly conflicts: readonly Conflict[];
  /** False when the job already says all of it: a save that is asked for twice is kept once. */
  readonly changed: boolean;
}

type Fields = Record<string, Json | undefined>;

/** A change that was made with an earlier version, with the ids of today. */
export function currentChange(change: Change, table: Renamed = renamed): Change {
  const { path, before, after } = change;
  const current = (value: Json | undefined): Json | undefined => {
    if (value === undefined) return undefined;
    const nested = path.reduceRight<Json>((inner, name) => ({ [name]: inner }), value);
    return valueIn(withCurrentIds(nested as Fields, table) as Fields, path);
  };
  return changeOf(path, current(before), current(after));
}

/** Applies changes to the job as it stands. Throws `job-invalid`, and then nothing was applied. */
export function applyChanges(job: JobDocument, changes: readonly Change[], changedAt: string): Merged {
  // A job is JSON, and this room has no other way to copy deeply.
  const copy = JSON.parse(JSON.stringify(job)) as Fields;
  const conflicts: Conflict[] = [];
  let changed = false;
  for (const change of changes) {
    const { holder, name } = place(copy, change);
    const found = Object.hasOwn(holder, name) ? holder[name] : undefined;
    if (same(found, change.after)) continue;
    if (!same(found, change.before))
      conflicts.push({ path: change.path, theirs: found, yours: change.after });
    changed = true;
    if (change.after === undefined) Reflect.deleteProperty(holder, name);
    else holder[name] = change.after;
  }
  if (!changed) return { job, conflicts, changed };
  copy["revision"] = job.revision + 1;
  copy["changed"] = changedAt;
  return { job: checkJob(copy, `job ${job.id}`), conflicts, changed };
}

/** Changes that take these back, in the order in which they are to be applied. */
export function reversed(changes: readonly Change[]): Change[] {
  return changes.map(({ path, before, after }) => undoing(path, after, before)).reverse();
}

/** An item is never deleted, so that both pages can go on with it: undoing its making takes it off the sheet. */
function undoing(path: readonly string[], before: Json | undefined, after: Json | undefined): Change {
  if (path.length === 2 && itemLists.has(path[0] ?? "") && after === undefined)
    return { path: [...path, "removed"], after: true };
  return changeOf(path, before, after);
}

/** The change that sets one field of the job to this, or null when it says so already. */
export function setting(job: JobDocument, path: readonly string[], after: Json | undefined): Change | null {
  const before = valueAt(job, path);
  if (same(before, after)) return null;
  return changeOf(path, before, after);
}

export function valueAt(job: JobDocument, path: readonly string[]): Json | undefined {
  return valueIn(job as unknown as Fields, path);
}

function valueIn(holder: Fields, path: readonly string[]): Json | undefined {
  let value: Json | undefined = holder as Json;
  for (const name of path) {
    if (typeof value !== "object" || value === null || Array.isArray(value)) return undefined;
    const fields = value as Fields;
    value = Object.hasOwn(fields, name) ? fields[name] : undefined;
  }
  return value;
}

/**
 * Changes to one field one after the other are one: the first's before, the last's after. Keeps what waits to be saved
 * short while a person types.
 */
export function folded(changes: readonly Change[]): Change[] {
  const byPath = new Map<string, Change>();
  for (const change of changes) {
    const path = change.path.join("/");
    const earlier = byPath.get(path);
    byPath.set(path, earlier === undefined ? change : changeOf(change.path, earlier.before, change.after));
  }
  return [...byPath.values()].filter((c) => !same(c.before, c.after));
}

/** Without the fields that are not there. */
export function changeOf(path: readonly string[], before: Json | undefined, after: Json | undefined): Change {
  return { path, ...(before === undefined ? {} : { before }), ...(after === undefined ? {} : { after }) };
}

function place(copy: Fields, { path, after }: Change): { holder: Fields; name: string } {
  const [first = "", second, third] = path;
  if (path.length === 2 && itemLists.has(first) && after === undefined) {
    throw new CranksideError("job-invalid", "an item is taken off the sheet, not deleted", {
      expected: "removed set to true",
      found: path.join("."),
    });
  }
  if (path.length === 1 && single.has(first)) return { holder: copy, name: first };
  // A group that came later is not in every job.
  if (path.length === 2 && Object.hasOwn(groups, first)) copy[first] ??= {};
  const group = copy[first] as Fields | undefined;
  if (group !== undefined && second !== undefined) {
    if (path.length === 2 && (itemLists.has(first) || isOfGroup(first, second, group)))
      return { holder: group, name: second };
    const item = group[second] as Fields | undefined;
    if (path.length === 3 && third !== undefined && itemLists.has(first) && Object.hasOwn(group, second))
      return { holder: item ?? {}, name: third };
  }
  throw new CranksideError("job-invalid", "not a field of a job", { found: path.join(".") });
}

/** A field that a later version put there may be changed too, and taken back. */
function isOfGroup(name: string, field: string, group: Fields): boolean {
  const known = Object.hasOwn(groups, name) ? groups[name] : undefined;
  return known !== undefined && (known.has(field) || Object.hasOwn(group, field));
}

/** Equal as JSON, whatever the order of keys. */
export function same(a: Json | undefined, b: Json | undefined): boolean {
  if (a === b) return true;
  if (typeof a !== "object" || typeof b !== "object" || a === null || b === null) return false;
  if (Array.isArray(a) || Array.isArray(b)) {
    if (!Array.isArray(a) || !Array.isArray(b) || a.length !== b.length) return false;
    return a.every((value: Json, i) => same(value, b[i] as Json | undefined));
  }
  const left = definedEntries(a as Fields);
  const right = new Map(definedEntries(b as Fields));
  return (
    left.length === right.size &&
    left.every(([name, value]) => right.has(name) && same(value, right.get(name)))
  );
}

function definedEntries(fields: Fields): [string, Json | undefined][] {
  return Object.entries(fields).filter(([, value]) => value !== undefined);
}
