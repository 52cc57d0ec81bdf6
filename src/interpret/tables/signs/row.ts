/** The form of a sign's row: all that is known of a sign but the code that judges it. */
import type { Figure, Regime } from "../../../../shared/ranges.ts";
import type { CauseId } from "../../causes/tables/causes.ts";
import type { HandCheckId } from "../../causes/tables/checks.ts";
import type { Complaint, Often } from "../../causes/types.ts";
import type { Crank, Family } from "../../report/schema.ts";
import type { CircumstanceId } from "../circumstances.ts";
import type { Kind } from "../kinds.ts";
import type { NextRecordingId } from "../nextRecordings.ts";

export const estimates = "common practice: estimates, to be corrected by counted visits";

/** Of a sign with sides: what holds for each of them; "neither": outside, and on no side. */
export type BySide<T> = Readonly<Partial<Record<"low" | "high" | "neither", T>>>;

/**
 * The complaint that a sign outside its range states, and when.
 * "always": it is the complaint. "it-starts": what makes an engine that does start start hardly; it goes under "does not
 * start", since the same parts are behind both, and few vehicles go from one to the other in a day. "no-mixture": where
 * nothing else speaks of the mixture; a module without a sensor that answers fuels by its table, and that errs on the
 * rich side. "nothing-else": where nothing else is complained of, what it comes to when it is left alone (a battery that
 * is low at rest will not start the engine; a sensor that reads cold makes it burn more; one module that falls silent is
 * looked for on the path of all of them). All common practice.
 */
export interface States {
  readonly complaint: Complaint | BySide<Complaint>;
  readonly when: "always" | "it-starts" | "no-mixture" | "nothing-else";
}

/**
 * Some signs are told only while they are there: nothing says of them "within". Which other sign, or which crank, shows
 * afterwards that it was looked at again. A sign without this is answered by itself alone.
 */
export type Again =
  | {
      readonly by: "sign";
      readonly ids: readonly `${Family}.${string}`[];
      /**
       * "verdict": what the other sign says of its range holds for this one. "judged": the readings that would show
       * this one were there, whatever they came to.
       */
      readonly how: "verdict" | "judged";
      /** Which part of the key has to be the same: the bank and where it was driven, the bank, or none. */
      readonly of: "place" | "bank" | "any";
    }
  /** Every crank, or one at least, of those that ended. */
  | { readonly by: "crank"; readonly all: boolean; readonly shows: (crank: Crank) => boolean };

/**
 * How often it is outside its range, by its side where it has sides: under each cause that changes it, and otherwise.
 * What is left is within. A sign that cannot tell says nothing.
 */
export type SaysOften =
  | { readonly outside: Often<CauseId> }
  | { readonly low: Often<CauseId>; readonly high: Often<CauseId>; readonly neither?: Often<CauseId> };

export interface SignSays {
  /** Evidence of one group tells one story: the strongest counts full, the second half, the third a third. */
  readonly group: string;
  /** This sign is that complaint seen in the data: it says nothing new then. */
  readonly sameAs?: Complaint;
  readonly often: SaysOften;
  readonly source: string;
}

interface Shared {
  readonly title: string;
  /** What it would mean, in one plain sentence; by side of the range where that matters. */
  readonly outside: string;
  readonly low?: string;
  readonly high?: string;
  readonly within: string;
  /** What would be enough to judge. */
  readonly needs: string;
  /** Its ranges: rows of `figures` in `shared/ranges.ts`; none where it is an event that counts. */
  readonly figures: readonly Figure[];
  /** Where it is judged: ways of running, what was asked once, marked intervals, or anywhere. */
  readonly judged: readonly (Regime | "survey" | "marks" | "any")[];
  /** Vehicles that it holds for. A sign of another kind is not stated; where it is unknown, it cannot tell. */
  readonly kind: Kind;
  readonly states?: readonly States[];
  readonly again?: Again;
  /** What it points to beside the causes that it speaks of. */
  readonly causes?: readonly CauseId[];
  /** What looks like it and is no fault. */
  readonly also: readonly CircumstanceId[];
  /** What tells them apart, best first. */
  readonly checks: readonly (HandCheckId | NextRecordingId)[];
}

/** A sign speaks of causes, or is silent of them and says why. */
export type SignRow = Shared &
  (
    | { readonly says: SignSays; readonly silent?: undefined }
    | { readonly silent: string; readonly says?: undefined }
  );

export type FamilyRows<F extends Family> = Readonly<Record<`${F}.${string}`, SignRow>>;

export const idling = ["idle", "idle-cold", "idle-warm"] as const;
export const running = [...idling, "held", "cruise", "load", "overrun", "running"] as const;
