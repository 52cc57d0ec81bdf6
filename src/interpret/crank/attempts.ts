/** Signs over all attempts: one of a kind, measured on the latest attempt that shows it worst. */
import type { Context } from "../folds/context.ts";
import { round } from "../folds/figureReadings.ts";
import { verdicts, type Crank, type Sign, type SignRange, type Verdict } from "../report/schema.ts";
import { makeSign, type Side, type SignParts } from "../report/sign.ts";
import type { SignId } from "../tables/signs.ts";

export interface Found {
  readonly verdict: Verdict;
  readonly side?: Side;
  readonly value: number;
  readonly unit: string;
  readonly what: string;
  readonly samples: number;
  readonly range?: SignRange;
  readonly channels: readonly string[];
  readonly note?: string | undefined;
  readonly looksLike?: SignParts["looksLike"];
  readonly excluded?: SignParts["excluded"];
}

/** Worst verdict over the attempts; none if no attempt says anything. */
export function overCranks(id: SignId, context: Context, look: (crank: Crank) => Found | null): Sign[] {
  const found = context.cranks.flatMap((crank) => {
    const f = look(crank);
    return f === null ? [] : [{ crank, f }];
  });
  const worst = verdicts.find((v) => found.some(({ f }) => f.verdict === v));
  if (worst === undefined) return [];
  const those = found.filter(({ f }) => f.verdict === worst).reverse();
  const latest = those[0];
  if (latest === undefined) return [];
  const { f, crank } = latest;
  const seconds = (crank.to - crank.from) / 1000;
  const count = `${those.length} of ${found.length} ${found.length === 1 ? "crank" : "cranks"}`;
  return [
    makeSign(id, {
      verdict: worst,
      ...(f.side === undefined ? {} : { side: f.side }),
      windows: those.map(({ crank: c }) => ({ from: c.from, to: c.to })),
      channels: f.channels,
      measured: {
        value: round(f.value, 3),
        unit: f.unit,
        what: `${f.what}, crank ${crank.number} (${count})`,
        samples: f.samples,
        rate: seconds > 0 && f.samples > 1 ? round(f.samples / seconds, 2) : null,
      },
      range: f.range ?? null,
      note: f.note,
      ...(f.looksLike === undefined ? {} : { looksLike: f.looksLike }),
      ...(f.excluded === undefined ? {} : { excluded: f.excluded }),
    }),
  ];
}
