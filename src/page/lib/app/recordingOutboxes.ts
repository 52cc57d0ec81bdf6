/** What is typed and marked of recordings, on its way into them. */
import type { Failure } from "../../../../shared/messages.ts";
import { jobFactsSchema, type JobFacts } from "../../../../shared/vehicle.ts";
import type { Clock } from "../../../../shared/clock.ts";
import type { Answer, Ask } from "../connection/server.svelte.ts";
import { fileOfKey, keptMarks } from "../marks/markKeep.ts";
import type { Unsaved } from "../marks/markList.ts";
import { mayPass } from "./failure.ts";
import { KeptWords } from "./keptWords.ts";
import { Outbox } from "./outbox.svelte.ts";

const factsSettleMs = 700;

type What =
  { readonly type: "facts"; readonly facts: JobFacts } | { readonly type: "mark"; readonly mark: Unsaved };

interface Work {
  readonly clock: Clock;
  readonly storage: () => Storage;
  readonly ask: (ask: Ask) => Promise<Answer>;
  readonly isLive: (file: string) => boolean;
  /** Something was written into it: whoever shows it reads on. */
  readonly written: (file: string) => Promise<void>;
  readonly say: (text: string) => void;
}

interface RecordingOutboxes {
  readonly facts: Outbox<JobFacts>;
  readonly marks: Outbox<Unsaved>;
}

export function keptFacts(storage: () => Storage): KeptWords<JobFacts> {
  return new KeptWords("factsDraft", jobFactsSchema, storage);
}

export function recordingOutboxes(work: Work): RecordingOutboxes {
  const { clock, storage, say } = work;
  const into = async (file: string, what: What): Promise<Answer> => {
    const answer = await work.ask({ ...what, recording: work.isLive(file) ? null : file });
    if (answer.ok) await work.written(file);
    return answer;
  };
  const facts = new Outbox<JobFacts>({
    ...{ clock, kept: keptFacts(storage), settleMs: factsSettleMs },
    send: (file, words) => into(file, { type: "facts", facts: words }),
    failed: (failure) => (mayPass(failure) ? "soon" : "held"),
  });
  const marks = new Outbox<Unsaved>({
    ...{ clock, kept: keptMarks(storage), settleMs: 0 },
    send: (key, mark) => into(fileOfKey(key), { type: "mark", mark: { ...mark } }),
    failed: (failure: Failure, first) => {
      const waits = mayPass(failure);
      if (!waits || first) say(`The mark ${waits ? "is not kept yet" : "was not kept"}: ${failure.message}`);
      return waits ? "soon" : "taken back";
    },
  });
  return { facts, marks };
}
