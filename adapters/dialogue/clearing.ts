/**
 * The one thing that leaves the program and changes the vehicle: service 04, or 14 for the emissions group on SAE J1979-2. Neither is on a list of `allowed.ts`. It passes
 * only with a consent, which is made here, from what was kept and what a person typed, and is good for one sending.
 */
import { clearRefused, isSentence, keptForMs, notKept } from "../../shared/clearing.ts";
import { CranksideError } from "../../shared/errors.ts";
import type { Survey } from "../../shared/survey.ts";

export interface ClearEvidence {
  /** What stands in the recording of this session; null: nothing does. */
  readonly kept: Survey | null;
  /** How long ago it was told, milliseconds. */
  readonly ageMs: number;
  /** The engine neither turns nor runs: its speed was asked just now, and is none. Unknown is not at rest. */
  readonly atRest: boolean;
  readonly typed: string;
  /**
   * The vehicle speaks SAE J1979-2, where 14 FF FF 33 clears the emissions group. That is from memory and was confirmed
   * by nobody, so `unconfirmed`, which a person turns on, has to be there. Absent: service 04.
   */
  readonly identified?: { readonly unconfirmed: boolean };
}

/** Consents that were given and not used yet; one that was made up is not among them. */
const unspent = new WeakSet<ClearConsent>();

export class ClearConsent {
  readonly sentence: string;
  readonly request: "04" | "14FFFF33";

  constructor(sentence: string, request: "04" | "14FFFF33" = "04") {
    this.sentence = sentence;
    this.request = request;
  }
}

/** Throws `clear-refused` with what is missing. */
export function consentToClear({ kept, ageMs, atRest, typed, identified }: ClearEvidence): ClearConsent {
  if (identified?.unconfirmed === false)
    throw clearRefused("a vehicle on SAE J1979-2, where the form of clearing is not confirmed");
  if (kept === null) throw clearRefused("no survey in this recording since the link has stood");
  if (!(ageMs >= 0 && ageMs <= keptForMs)) throw clearRefused("a survey that is too old");
  const missing = notKept(kept);
  if (missing !== null) throw clearRefused(missing);
  if (!atRest) throw clearRefused("an engine that turns or reports no speed, or one armed for cranking");
  if (!isSentence(typed, kept)) throw clearRefused("other words");
  const consent = new ClearConsent(typed.trim(), identified === undefined ? "04" : "14FFFF33");
  unspent.add(consent);
  return consent;
}

/** The request, once for each consent; throws `request-refused` the second time, and for one that was made up. */
export function requestFor(consent: ClearConsent): string {
  if (unspent.delete(consent)) return consent.request === "04" ? "04" : "14FFFF33";
  throw new CranksideError("request-refused", "this consent was not given, or was used before");
}
