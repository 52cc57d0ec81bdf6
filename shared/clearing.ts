/**
 * Clearing codes erases evidence in every module that obeys: stored and pending codes, freeze frames, the progress of
 * readiness, test results and some counters (SAE J1979 service 04, from memory). What a person must have kept and
 * must type before it is done is decided here, for page, server and command line alike.
 */
import { CranksideError } from "./errors.ts";
import type { Survey } from "./survey.ts";

/** What was kept is believed to be all there is for this long, milliseconds. */
export const keptForMs = 600_000;

/** What clearing takes away, as the survey tells it. */
export interface Losses {
  /** Each with its module, stored and pending. */
  readonly codes: readonly string[];
  /** Codes that have a freeze frame. */
  readonly frames: readonly string[];
  /** Modules whose monitors would begin anew. */
  readonly readiness: readonly string[];
}

export function lossesOf({ modules }: Survey): Losses {
  return {
    codes: [...new Set(modules.flatMap((m) => [...(m.stored ?? []), ...(m.pending ?? [])]))].sort(),
    frames: modules.flatMap((m) =>
      m.freezeFrame === null || m.freezeFrame.code === null ? [] : [m.freezeFrame.code],
    ),
    readiness: modules.filter((m) => m.readiness !== null).map((m) => m.module),
  };
}

/** The words that a person types: they name what will be lost. */
export function clearSentence(survey: Survey): string {
  const { codes, frames } = lossesOf(survey);
  const lost = [
    codes.length === 0 ? "no code" : codes.join(" "),
    ...(frames.length === 0 ? [] : ["the freeze frame"]),
    "readiness",
  ];
  return `erase ${lost.join(", ")}`;
}

/** Small and capital letters, and how many blanks, make no difference. */
export function isSentence(typed: string, survey: Survey): boolean {
  const plain = (text: string): string => text.trim().replace(/\s+/g, " ").toLowerCase();
  return plain(typed) === plain(clearSentence(survey));
}

/** Why nothing may be cleared yet, in words; null when all that would be lost was kept. */
export function notKept({ modules }: Survey): string | null {
  const codes = modules.filter((m) => m.stored !== null);
  if (codes.length === 0) return "no module reported its codes";
  // On SAE J1979-2 the progress of each test stands in the status of its code.
  if (!modules.some((m) => m.readiness !== null || m.details !== undefined))
    return "no module reported its readiness";
  const without = codes.find((m) => (m.stored ?? []).length > 0 && m.freezeFrame === null);
  return without === undefined ? null : `module ${without.module} has codes and reported no freeze frame`;
}

/** Before anything is sent. */
export function clearRefused(found: string): CranksideError {
  return new CranksideError("clear-refused", "codes are not cleared, and nothing was sent", {
    expected:
      "a fresh survey in this recording, an engine at rest, and the words that name what will be lost",
    found,
  });
}
