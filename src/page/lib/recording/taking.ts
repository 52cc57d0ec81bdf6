/** What this page takes in of files from elsewhere. */
import { z } from "zod/mini";
import { CranksideError, messageOf } from "../../../../shared/errors.ts";
import type { Taker } from "./dropped.ts";
import type { JobDesk } from "../job/jobDesk.svelte.ts";
import { toldIn } from "../app/leave.ts";
import { useLogs } from "./logContext.ts";
import { placesBeside } from "../connection/places.ts";
import type { Session } from "../app/session.svelte.ts";

const takenSchema = z.object({
  file: z.string(),
  state: z.enum(["whole", "cut-short", "altered"]),
  known: z.boolean(),
});

const stateWords = {
  whole: "",
  "cut-short": " It is cut short; what is there is shown.",
  altered: " It was altered after it was made: its sum does not fit.",
} as const;

/** Each kind of file with who takes it; more kinds are added here. */
export function takersOf(session: Session, desk: () => JobDesk): readonly Taker[] {
  return [
    {
      what: "recordings (.ndjson, .ndjson.gz)",
      endings: [".ndjson", ".ndjson.gz"],
      take: (file) => takeRecording(session, file),
    },
    {
      what: "bundles of a job (.zip)",
      endings: [".zip"],
      take: (file) => takeBundle(session, desk(), file),
    },
    {
      what: "logs of other programs (looked at before anything is made of them)",
      endings: [""],
      take: (file) => useLogs(session).bring(file),
    },
  ];
}

async function takeRecording(session: Session, file: File): Promise<void> {
  const url = `${placesBeside(document.baseURI).recordingList}?name=${encodeURIComponent(file.name)}`;
  let response: Response;
  try {
    response = await fetch(url, { method: "POST", body: file, cache: "no-store" });
  } catch (error) {
    throw new CranksideError(
      "link-closed",
      "Crankside itself does not answer",
      { found: messageOf(error) },
      error,
    );
  }
  const text = await response.text();
  if (!response.ok) throw toldIn(text);
  const taken = takenSchema.parse(JSON.parse(text));
  await session.hookup.lookForRecordings();
  session.open(taken.file, false);
  const where = taken.known ? "is in your folder already" : "is in your folder now";
  session.say(`${taken.file} ${where}.${stateWords[taken.state]}`);
}

async function takeBundle(session: Session, desk: JobDesk, file: File): Promise<void> {
  const opened = await desk.openBundle(file);
  if (opened === null) {
    const { failure } = desk;
    throw new CranksideError("bundle-invalid", failure?.message ?? "the bundle is not opened");
  }
  session.say(`All ${opened.files} files fit their sums. The job is open, as ${opened.job.id}.`);
}
