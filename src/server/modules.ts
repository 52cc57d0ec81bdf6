/** What a page asks of the modules beside their readings. */
import type { Session } from "../../adapters/polling/session.ts";
import { clearRefused } from "../../shared/clearing.ts";
import { CranksideError } from "../../shared/errors.ts";
import type { LiveRecording } from "./liveRecording.ts";

/**
 * Asks every module once. What it says goes into the live recording, so there must be one: throws `wrong-use`
 * without it, or what the session throws.
 */
export async function surveyInto(session: Session | null, live: LiveRecording | null): Promise<object> {
  if (session === null || live === null) throw nothingRecorded();
  await session.survey();
  return {};
}

/**
 * Clears codes in the words that a person typed: the session looks after all but one thing, that what is kept of
 * them is on the disk and not in memory only. Throws `wrong-use` or `clear-refused`.
 */
export async function clearWith(
  typed: string,
  session: Session | null,
  live: LiveRecording | null,
): Promise<object> {
  if (session === null || live === null) throw nothingRecorded();
  const status = live.status;
  if (status === null || status.failure !== null || status.lost > 0)
    throw clearRefused("a recording that is not safe on the disk");
  await session.clearCodes(typed);
  return {};
}

/** Longest time that a person waits for the questions at the end, milliseconds. */
const lastQuestionsMs = 10_000;

/** Every module is asked once more before a recording ends; whoever asks to end it a second time does not wait. */
export class LastQuestions {
  #asking: Session | null = null;

  async ask(session: Session | null): Promise<void> {
    if (this.#asking !== null) {
      this.#asking.cutLastSurvey();
      return;
    }
    this.#asking = session;
    await session?.lastSurvey(lastQuestionsMs);
    this.#asking = null;
  }
}

function nothingRecorded(): CranksideError {
  return new CranksideError("wrong-use", "nothing is being recorded that the answers could go into", {
    advice: "Connect, or record again, first.",
  });
}
