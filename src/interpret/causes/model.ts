import type { VehicleFacts } from "../../../shared/vehicle.ts";
import { ownCounts, withOwn, type OwnCases } from "./own.ts";
import { causes } from "./tables/causes.ts";
import { handChecks } from "./tables/checks.ts";
import { codesSay } from "./tables/codesSay.ts";
import { startLevels, startsSeen } from "./tables/seen.ts";
import { signRow, signRows } from "../tables/signs.ts";
import type { SignSays } from "../tables/signs/row.ts";
import type { CauseRow, Complaint, HandCheckRow, Only, OutcomeRow } from "./types.ts";

/** Something that can be asked of the vehicle, and how often each answer comes under each cause. */
export interface Question {
  readonly id: string;
  readonly group: string;
  readonly outcomes: readonly string[];
  /** What a vehicle without a fault in this respect shows. */
  readonly normal: readonly boolean[];
  /** A healthy outcome speaks for a cause only where its row says why. */
  readonly why: readonly (string | undefined)[];
  /** Distributions over the outcomes; the first holds for every cause that has none of its own. */
  readonly rows: readonly Float64Array[];
  /** Which row, by the cause's place in the model. */
  readonly rowOf: Int16Array;
  /** The distribution when it is none of the causes. */
  readonly none: Float64Array;
}

/** The tables, made ready for arithmetic. Causes are told by their place; the place after the last is "none of these". */
export interface Model {
  readonly causes: readonly CauseRow[];
  readonly place: ReadonlyMap<string, number>;
  readonly checks: ReadonlyMap<string, HandCheckRow>;
  readonly questions: ReadonlyMap<string, Question>;
  /** Factor on each cause's weight; 1 unless the tables were shaken. */
  readonly weightFactor: Float64Array;
}

/** Share that is kept for what no row of the tables describes. An estimate. */
export const noneShare = 0.05;
/** How much of "none of these" behaves like a healthy part, the rest like anything. An estimate. */
const noneHealthy = 0.9;

export const checkQuestion = (id: string): string => `check:${id}`;
export const signQuestion = (id: string): string => `sign:${id}`;
/** How far starting got in a recording. */
export const seenQuestion = "seen:start";
export const codeQuestion = (code: string): string => `code:${code}`;
/** A change at this repair, and what came of it; then its undoing. */
export const changedQuestion = (act: string): string => `changed:${act}`;
export const reversedQuestion = (act: string): string => `reversed:${act}`;

export const actOf = (cause: CauseRow): string => cause.repair.act ?? cause.id;

/** What a change shows; estimates, common practice. An intermittent fault may vanish because something was touched. */
const changes = {
  gone: { itself: 0.97, intermittent: 0.25, otherwise: 0.03 },
  back: { itself: 0.93, intermittent: 0.45, otherwise: 0.12 },
} as const;

function question(parts: {
  readonly id: string;
  readonly group: string;
  readonly outcomes: readonly string[];
  readonly normal: readonly boolean[];
  readonly why?: readonly (string | undefined)[];
  readonly otherwise: readonly number[];
  readonly given: ReadonlyMap<number, readonly number[]>;
  readonly count: number;
}): Question {
  const rows = [Float64Array.from(parts.otherwise)];
  const rowOf = new Int16Array(parts.count);
  for (const [at, row] of parts.given) {
    rowOf[at] = rows.length;
    rows.push(Float64Array.from(row));
  }
  return {
    id: parts.id,
    group: parts.group,
    outcomes: parts.outcomes,
    normal: parts.normal,
    why: parts.why ?? parts.outcomes.map(() => undefined),
    rows,
    rowOf,
    none: noneRow(rows[0] ?? new Float64Array()),
  };
}

export function noneRow(otherwise: Float64Array): Float64Array {
  return otherwise.map((p) => noneHealthy * p + (1 - noneHealthy) / otherwise.length);
}

function placed(
  given: Readonly<Partial<Record<string, readonly number[]>>>,
  place: ReadonlyMap<string, number>,
): Map<number, readonly number[]> {
  const out = new Map<number, readonly number[]>();
  for (const [cause, row] of Object.entries(given)) {
    const at = place.get(cause);
    if (at !== undefined && row !== undefined) out.set(at, row);
  }
  return out;
}

/** Figures of the outcomes in their order, otherwise and for each cause that is named; the one without any is the rest. */
export function saidByOutcomes(outcomes: readonly Pick<OutcomeRow, "id" | "often">[]): {
  readonly otherwise: readonly number[];
  readonly given: Readonly<Record<string, readonly number[]>>;
} {
  const row = (cause: string): number[] => {
    const told = outcomes.map(({ often }) => often?.[cause] ?? often?.otherwise ?? 0);
    const rest = 1 - told.reduce((a, b) => a + b, 0);
    return outcomes.map(({ often }, k) => (often === undefined ? rest : (told[k] ?? 0)));
  };
  const named = new Set(outcomes.flatMap(({ often }) => Object.keys(often ?? {})));
  named.delete("otherwise");
  return { otherwise: row("otherwise"), given: Object.fromEntries([...named].map((c) => [c, row(c)])) };
}

/** A sign's sides as outcomes, and "within", which is what is left. */
export function outcomesOf({ often }: SignSays): Pick<OutcomeRow, "id" | "often">[] {
  return [...Object.entries(often).map(([id, of]) => ({ id, often: of })), { id: "within" }];
}

const withRest = (row: readonly number[]): number[] => [...row, 1 - row.reduce((a, b) => a + b, 0)];

/** The model of the tables as they are written. */
export function buildModel(): Model {
  const rows: readonly CauseRow[] = causes;
  const place = new Map(rows.map((c, i) => [c.id, i]));
  const count = rows.length;
  const questions = new Map<string, Question>();
  const add = (parts: Omit<Parameters<typeof question>[0], "count">): void => {
    questions.set(parts.id, question({ ...parts, count }));
  };
  for (const check of handChecks as readonly HandCheckRow[]) {
    const says = saidByOutcomes(check.outcomes);
    add({
      id: checkQuestion(check.id),
      group: check.group,
      outcomes: check.outcomes.map((o) => o.id),
      normal: check.outcomes.map((o) => o.normal === true),
      why: check.outcomes.map((o) => o.why),
      otherwise: says.otherwise,
      given: placed(says.given, place),
    });
  }
  for (const id of Object.keys(signRows)) {
    const row = signRow(id)?.says;
    if (row === undefined) continue;
    const outcomes = outcomesOf(row);
    const says = saidByOutcomes(outcomes);
    add({
      id: signQuestion(id),
      group: row.group,
      outcomes: outcomes.map((o) => o.id),
      normal: outcomes.map((o) => o.id === "within"),
      otherwise: says.otherwise,
      given: placed(says.given, place),
    });
  }
  add({
    id: seenQuestion,
    group: startsSeen.group,
    outcomes: startLevels,
    normal: startLevels.map((level) => level === "ran"),
    otherwise: startsSeen.otherwise,
    given: placed(startsSeen.given, place),
  });
  for (const row of codesSay) {
    const given = Object.fromEntries(Object.entries(row.given).map(([c, p]) => [c, withRest([p])]));
    add({
      id: codeQuestion(row.code),
      group: row.group,
      outcomes: ["stored", "absent"],
      normal: [false, true],
      otherwise: withRest([row.otherwise]),
      given: placed(given, place),
    });
  }
  for (const act of new Set(rows.map(actOf))) {
    for (const [id, outcomes, p] of [
      [changedQuestion(act), ["gone", "stays"], changes.gone],
      [reversedQuestion(act), ["back", "still-gone"], changes.back],
    ] as const) {
      const given = new Map<number, readonly number[]>();
      rows.forEach((c, i) => {
        if (actOf(c) === act) given.set(i, withRest([p.itself]));
        else if (c.intermittent === true) given.set(i, withRest([p.intermittent]));
      });
      add({ id, group: id, outcomes, normal: [false, true], otherwise: withRest([p.otherwise]), given });
    }
  }
  const checks = new Map((handChecks as readonly HandCheckRow[]).map((c) => [c.id, c]));
  return { causes: rows, place, checks, questions, weightFactor: new Float64Array(count).fill(1) };
}

/**
 * The tables shaken: each weight and each probability times a factor drawn between 1/most and most (uniform in its
 * logarithm), rows made to sum to one again.
 */
export function shaken(model: Model, random: () => number, most = 2): Model {
  const factor = (): number => most ** (2 * random() - 1);
  const questions = new Map<string, Question>();
  for (const [id, q] of model.questions) {
    const rows = q.rows.map((row) => {
      const out = row.map((p) => p * factor());
      const sum = out.reduce((a, b) => a + b, 0);
      return out.map((p) => p / sum);
    });
    questions.set(id, { ...q, rows, none: noneRow(rows[0] ?? new Float64Array()) });
  }
  return { ...model, questions, weightFactor: model.weightFactor.map((f) => f * factor()) };
}

/** Whether a row is for this vehicle. What nobody entered excludes nothing, but a diesel is one only when it is said. */
export function fits(only: Only | undefined, facts: VehicleFacts): boolean {
  if (only === undefined) return true;
  const fuel = facts.fuel ?? "petrol";
  if (only.fuel !== undefined && !only.fuel.includes(fuel)) return false;
  if (only.metering !== undefined && facts.metering !== undefined && only.metering !== facts.metering)
    return false;
  if (only.banksAtLeast !== undefined && facts.banks !== undefined && facts.banks < only.banksAtLeast)
    return false;
  return true;
}

/**
 * Shares of the causes before anything is known of this vehicle, the last place being "none of these". Several
 * complaints count alike. Sums to one.
 */
export function priorShares(
  model: Model,
  told: readonly Complaint[],
  facts: VehicleFacts,
  own?: OwnCases,
): Float64Array {
  const out = new Float64Array(model.causes.length + 1);
  for (const complaint of told) {
    const weights = model.causes.map((c, i) =>
      fits(c.only, facts) ? (c.weight[complaint] ?? 0) * (model.weightFactor[i] ?? 1) : 0,
    );
    const sum = weights.reduce((a, b) => a + b, 0);
    if (sum === 0) continue;
    const table = weights.map((w) => w / sum);
    const fitsAt = (place: number): boolean => fits(model.causes[place]?.only, facts);
    const shares =
      own === undefined ? table : withOwn(table, ownCounts(model, complaint, own, fitsAt), own.worth);
    shares.forEach((share, i) => (out[i] = (out[i] ?? 0) + share / told.length));
  }
  const total = out.reduce((a, b) => a + b, 0);
  for (let i = 0; i < model.causes.length; i++) {
    out[i] = total === 0 ? 0 : ((out[i] ?? 0) / total) * (1 - noneShare);
  }
  out[model.causes.length] = total === 0 ? 1 : noneShare;
  return out;
}

const columns = new WeakMap<Question, readonly Float64Array[]>();

/** Probability of each outcome under each cause, "none of these" last: one list an outcome. */
export function columnsOf(q: Question): readonly Float64Array[] {
  const known = columns.get(q);
  if (known !== undefined) return known;
  const made = q.outcomes.map((_, k) =>
    Float64Array.from({ length: q.rowOf.length + 1 }, (_unused, h) => likelihood(q, k, h)),
  );
  columns.set(q, made);
  return made;
}

/** Probability of an outcome under the cause at this place, or under "none of these" at the place after the last. */
export function likelihood(q: Question, outcome: number, at: number): number {
  const row = at >= q.rowOf.length ? q.none : q.rows[q.rowOf[at] ?? 0];
  return row?.[outcome] ?? 0;
}

/**
 * Probability of an outcome when two causes are there at once: what is not normal is seen if either shows it, with
 * what others show taken out once (noisy-or with a leak: Pearl 1988, from memory). Sums to one over the outcomes.
 */
export function likelihoodOfBoth(q: Question, outcome: number, a: number, b: number): number {
  const rowA = q.rows[q.rowOf[a] ?? 0];
  const rowB = q.rows[q.rowOf[b] ?? 0];
  const rest = q.rows[0];
  if (rowA === undefined || rowB === undefined || rest === undefined) return 0;
  if (rowA === rest) return rowB[outcome] ?? 0;
  if (rowB === rest || rowA === rowB) return rowA[outcome] ?? 0;
  let sum = 0;
  let wanted = 0;
  for (let k = 0; k < rest.length; k++) {
    const x = rowA[k] ?? 0;
    const y = rowB[k] ?? 0;
    const r = rest[k] ?? 0;
    const both =
      q.normal[k] === true ? (x * y) / Math.max(r, 1e-9) : 1 - ((1 - x) * (1 - y)) / Math.max(1 - r, 1e-9);
    const p = Math.min(1, Math.max(1e-6, both));
    sum += p;
    if (k === outcome) wanted = p;
  }
  return wanted / sum;
}
