/**
 * What a capture would save on average, as any check: of the signs that it would judge and that are not judged yet, the one
 * that saves most by itself. Several together save as much at least: it is a lower bound.
 */
import { capturesOf, captures, type CaptureId } from "../report/captureOf.ts";
import { signRows } from "../tables/signs.ts";
import { signQuestion } from "./model.ts";
import { savings, timeCost } from "./next.ts";
import type { Considered } from "./visit.ts";

/** Minutes at the vehicle (common practice); warming up and a drive take what they take. */
const minutes: Readonly<Record<CaptureId, number>> = {
  "key-on": 1,
  crank: 1,
  start: 1,
  "idle-cold": 1,
  warm: 10,
  "idle-warm": 1,
  held: 1,
  snap: 1,
  pull: 15,
  strength: 15,
  codes: 2,
};

export interface CaptureWorth {
  readonly id: CaptureId;
  /** In the person's money, what it costs taken off; 0 where it would tell nothing new. */
  readonly saves: number;
}

export function captureWorths({ held, evidence, by, preferences, model }: Considered): CaptureWorth[] {
  const known = new Set(evidence.map((e) => e.question.id));
  const savedBy = savings(held.belief, by);
  const most = new Map<CaptureId, number>();
  for (const sign of Object.keys(signRows)) {
    const question = model.questions.get(signQuestion(sign));
    if (question === undefined || known.has(question.id)) continue;
    const of = capturesOf(sign);
    if (of.length === 0) continue;
    const saved = savedBy(question);
    for (const id of of) {
      const worth = saved - timeCost(minutes[id], preferences.perHour);
      most.set(id, Math.max(most.get(id) ?? 0, worth));
    }
  }
  return captures.map((id) => ({ id, saves: Math.round((most.get(id) ?? 0) * 10) / 10 }));
}
