/** Causes that one repair mends, told as one part once it is shown or proved; and shares in words. */
import { capital } from "../../../shared/letters.ts";
import type { shareWords, Standing } from "./adviceSchema.ts";
import { nameAt } from "./explain.ts";
import { actOf } from "./model.ts";
import type { Proof } from "./proof.ts";
import type { CauseRow } from "./types.ts";
import type { Considered } from "./visit.ts";

export const rounded = (share: number): number => Math.round(share * 20) / 20;

export function wordOf(share: number): (typeof shareWords)[number] {
  if (share >= 0.85) return "nearly certain";
  if (share >= 0.5) return "likely";
  if (share >= 0.2) return "possible";
  return share >= 0.05 ? "less likely" : "unlikely";
}

export const isFirm = (proof: Proof): boolean => proof.state === "shown" || proof.state === "proved";

/** What was changed, where it may have failed in several ways: "Relay (relay box)". */
export function partName({ repair, place }: CauseRow): string {
  const part = repair.part ?? place;
  const name = capital(part);
  return part === place ? name : `${name} (${place})`;
}

/** Places of the causes that one repair mends, likeliest first. */
function sameAct(place: number, { model, held }: Considered): number[] {
  const row = model.causes[place];
  if (row === undefined) return [];
  return model.causes
    .map((_, h) => h)
    .filter((h) => (held.shares[h] ?? 0) > 0 && actOf(model.causes[h] ?? row) === actOf(row))
    .sort((a, b) => (held.shares[b] ?? 0) - (held.shares[a] ?? 0) || a - b);
}

/** Ways in which the part may have failed, each with its share of them. */
export function modesOf(
  place: number,
  considered: Considered,
): { id: string; name: string; share: number }[] {
  const { held, model } = considered;
  const places = sameAct(place, considered);
  const all = places.reduce((sum, h) => sum + (held.shares[h] ?? 0), 0);
  return places
    .map((h) => ({
      id: model.causes[h]?.id ?? "",
      name: nameAt(model, h),
      share: rounded(all === 0 ? 0 : (held.shares[h] ?? 0) / all),
    }))
    .filter((m) => m.share > 0);
}

/** "How it failed: relay does not close, about 80 %; relay comes and goes, about 20 %." */
export function modesText(modes: readonly { readonly name: string; readonly share: number }[]): string {
  const each = modes.map((m) => `${m.name.toLowerCase()}, about ${(m.share * 100).toFixed(0)} %`);
  return `How it failed: ${each.join("; ")}.`;
}

export function standingOfAct(place: number, considered: Considered): Standing {
  const { held, steady } = considered;
  const places = sameAct(place, considered);
  const sum = (of: (h: number) => number): number =>
    Math.min(
      1,
      places.reduce((s, h) => s + of(h), 0),
    );
  const share = sum((h) => held.shares[h] ?? 0);
  return {
    share: rounded(share),
    low: rounded(
      Math.min(
        sum((h) => steady.bands[h]?.low ?? 0),
        share,
      ),
    ),
    high: rounded(
      Math.max(
        sum((h) => steady.bands[h]?.high ?? 0),
        share,
      ),
    ),
    word: wordOf(share),
  };
}

/** What was changed and helped is one part, however it failed: told once, by its likeliest way. */
export function onePart(places: readonly number[], considered: Considered): number[] {
  return places.filter((h) => {
    if (!isFirm(considered.proof(h))) return true;
    return sameAct(h, considered).find((one) => places.includes(one)) === h;
  });
}
