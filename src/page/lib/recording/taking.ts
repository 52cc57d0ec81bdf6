/** What this page takes in of files from elsewhere. */
import { CranksideError } from "../../../../shared/errors.ts";
import type { Taker } from "./dropped.ts";
import type { JobDesk } from "../job/jobDesk.svelte.ts";
import { useLogs } from "./logContext.ts";
import { takenIn } from "./taken.ts";
import { placesBeside } from "../connection/places.ts";
import type { Page } from "../app/page.svelte.ts";

const stateWords = {
  whole: "",
  "cut-short": " It is cut short; what is there is shown.",
  altered: " It was altered after it was made: its checksum does not match.",
} as const;

/** Each kind of file with who takes it; more kinds are added here. */
export function takersOf(page: Page, desk: () => JobDesk): readonly Taker[] {
  return [
    {
      what: "recordings (.ndjson, .ndjson.gz)",
      endings: [".ndjson", ".ndjson.gz"],
      take: (file) => takeRecording(page, file),
    },
    {
      what: "bundles of a job (.zip)",
      endings: [".zip"],
      take: (file) => takeBundle(page, desk(), file),
    },
    {
      what: "logs of other programs (looked at before anything is made of them)",
      endings: [""],
      take: (file) => useLogs(page).bring(file),
    },
  ];
}

async function takeRecording(page: Page, file: File): Promise<void> {
  const taken = await takenIn(placesBeside(document.baseURI).recordingList, file.name, file);
  await page.hookup.lookForRecordings();
  page.open(taken.file, false);
  const where = taken.known ? "is in your folder already" : "is in your folder now";
  page.say(`${taken.file} ${where}.${stateWords[taken.state]}`);
}

async function takeBundle(page: Page, desk: JobDesk, file: File): Promise<void> {
  const opened = await desk.openBundle(file);
  if (opened === null) {
    const { failure } = desk;
    throw new CranksideError("bundle-invalid", failure?.message ?? "the bundle is not opened");
  }
  page.say(`All ${opened.files} files match their checksums. The job is open, as ${opened.job.id}.`);
}
