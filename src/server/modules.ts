import type { Session } from "../../adapters/polling/session.ts";
import { CranksideError } from "../../shared/errors.ts";
import type { LiveRecording } from "./liveRecording.ts";

/**
 * Asks every module once. What it says goes into the live recording, so there must be one: throws `wrong-use`
 * without it, or what the session throws.
 */
export async function surveyInto(session: Session | null, live: LiveRecording | null): Promise<object> {
  if (session === null || live === null) {
    throw new CranksideError("wrong-use", "nothing is being recorded that the answers could go into", {
      advice: "Connect, or record again, first.",
    });
  }
  await session.survey();
  return {};
}
