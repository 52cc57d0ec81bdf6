import { actOf, checkQuestion, fits, type Model } from "./model.ts";
import { able, complaints, states, type CauseRow, type Complaint, type Only } from "./types.ts";
import type { VehicleFacts } from "../../../shared/vehicle.ts";

/** Two causes are told apart when the outcomes of one check differ by this much in total variation. An estimate. */
export const toldApart = 0.3;

/** Vehicles that differ in what rows are for. */
const vehicles: readonly VehicleFacts[] = (["petrol", "diesel"] as const).flatMap((fuel) =>
  (["air-flow", "manifold-pressure"] as const).map((metering) => ({ fuel, metering, banks: 2 })),
);

const both = (a: Only | undefined, b: Only | undefined, v: VehicleFacts): boolean => fits(a, v) && fits(b, v);

export interface Unseparated {
  readonly a: string;
  readonly b: string;
  readonly complaint: Complaint;
  /** The best check there is, and how far it tells them apart. */
  readonly best: string;
  readonly apart: number;
}

/** Neighbours (causes of one complaint in one vehicle, mended by different acts) that no single check tells apart. */
export function unseparated(model: Model, least = toldApart): Unseparated[] {
  const out: Unseparated[] = [];
  model.causes.forEach((a, i) => {
    model.causes.slice(i + 1).forEach((b) => {
      const complaint = shared(a, b);
      for (const v of vehicles) {
        if (complaint === null || actOf(a) === actOf(b) || !both(a.only, b.only, v)) continue;
        const best = bestCheck(model, a, b, { complaint, v });
        if (best.apart >= least) continue;
        if (!out.some((u) => u.a === a.id && u.b === b.id))
          out.push({ a: a.id, b: b.id, complaint, ...best });
      }
    });
  });
  return out;
}

/** The complaint they share in which an engine can do least. */
function shared(a: CauseRow, b: CauseRow): Complaint | null {
  return complaints.find((c) => (a.weight[c] ?? 0) > 0 && (b.weight[c] ?? 0) > 0) ?? null;
}

function bestCheck(
  model: Model,
  a: CauseRow,
  b: CauseRow,
  where: { readonly complaint: Complaint; readonly v: VehicleFacts },
): { best: string; apart: number } {
  let best = { best: "", apart: 0 };
  for (const check of model.checks.values()) {
    if (check.asks === true || !fits(check.only, where.v)) continue;
    if (check.for !== undefined && !check.for.includes(where.complaint)) continue;
    if (states.indexOf(check.state) > states.indexOf(able[where.complaint])) continue;
    const q = model.questions.get(checkQuestion(check.id));
    const x = q?.rows[q.rowOf[model.place.get(a.id) ?? 0] ?? 0];
    const y = q?.rows[q.rowOf[model.place.get(b.id) ?? 0] ?? 0];
    if (x === undefined || y === undefined) continue;
    const apart = x.reduce((sum, p, k) => sum + Math.abs(p - (y[k] ?? 0)), 0) / 2;
    if (apart > best.apart) best = { best: check.id, apart };
  }
  return best;
}
