/** What was advised, and a comparison of before and after, in lines that the page and the note share. */
import { small } from "../../shared/letters.ts";
import type { UnitSystem } from "../../shared/units.ts";
import { complaintText, nextTitle, standingText } from "../interpret/causes/adviceText.ts";
import type { Advice, CauseAdvice } from "../interpret/causes/adviceSchema.ts";
import type { BeforeAfter, ComparedRow } from "../interpret/causes/beforeAfterSchema.ts";
import { difference, value } from "./values.ts";

export const proofWords = {
  suspected: "suspected",
  shown: "shown",
  proved: "proved",
  cleared: "cleared",
} as const satisfies Readonly<Record<CauseAdvice["proof"]["state"], string>>;

/** What holds for the order as a whole: one sentence each. */
export function orderLines(advice: Advice): string[] {
  const more = advice.unlisted;
  if (advice.next.kind === "ask") return [...advice.overridden];
  return [
    ...advice.overridden,
    `None of these: ${standingText(advice.none)}.`,
    ...(more === 0
      ? []
      : [`${more} more ${more === 1 ? "cause is" : "causes are"} in the tables, each unlikely.`]),
    ...(advice.together === null ? [] : [advice.together.words]),
    advice.steady.words,
  ];
}

/** "Fuel pump dead: likely (about 60 %; if our estimates are off by two: 35 to 80 %); suspected". */
export function causeLine(cause: CauseAdvice): string {
  return `${cause.name}: ${standingText(cause.standing)}; ${proofWords[cause.proof.state]}`;
}

/** The whole of it in one sentence. */
export function adviceSentence(advice: Advice): string {
  if (advice.next.kind === "ask") return advice.next.why;
  const first = advice.causes[0];
  const next = nextTitle(advice.next);
  return `${complaintText(advice)}: ${first === undefined ? "no cause in the tables fits" : `first ${causeLine(first)}`}. Next: ${small(next)}.`;
}

export const comparedHead = ["when", "what", "before", "after", "difference", ""] as const;

const saysWords: Readonly<Record<ComparedRow["says"], string>> = {
  higher: "higher",
  lower: "lower",
  "no-change-seen": "no change seen",
  "cannot-tell": "cannot tell: too few readings",
};

/** Rows under `comparedHead`; the number of readings stands in brackets. */
export function comparedRows({ rows }: BeforeAfter, system: UnitSystem): string[][] {
  return rows.map((row) => {
    const side = (one: ComparedRow["before"]): string =>
      `${value(tidy(one.value), row.unit, system)} (${one.samples})`;
    const by = (n: number): string => difference(tidy(n), row.unit, system);
    const within =
      row.interval === null
        ? ""
        : `, ${by(row.interval.low)} to ${by(row.interval.high)} at ${(row.interval.level * 100).toFixed(0)} %`;
    return [
      row.regime,
      row.what,
      side(row.before),
      side(row.after),
      `${by(row.difference)}${within}`,
      saysWords[row.says],
    ];
  });
}

/** No more digits than the readings carry; a zero without a sign. */
const tidy = (n: number): number => Math.round(n * 100) / 100 + 0;

/** What the comparison rests on: earlier signs and conditions, one line each. */
export function comparedLines(result: BeforeAfter): string[] {
  const { codes } = result;
  const told = (list: readonly string[]): string => (list.length === 0 ? "none told" : list.join(", "));
  return [
    ...result.earlier.map((e) => e.words),
    ...(codes === undefined ? [] : [`DTCs: ${told(codes.before)} before, ${told(codes.after)} after`]),
    ...result.conditions.map((c) => (c.alike ? `${c.words}, alike` : c.words)),
  ];
}
