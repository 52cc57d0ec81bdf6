/** What is still to hear of a recording, for its list and for who refers to it. Pure. */
import { complaintsInWords } from "../../../interpret/causes/complaint.ts";
import type { Advice } from "../../../interpret/causes/adviceSchema.ts";
import type { Findings } from "../../../interpret/index.ts";
import { stillToHear, type Capture } from "../../../interpret/report/stillToHear.ts";

type Source = Parameters<typeof stillToHear>[0];

export interface RecordingSoFar {
  readonly reading: Source & { readonly facts: { readonly complaint?: string | undefined } };
  readonly findings: Findings | null;
  /** The job's word goes over the recording's. */
  readonly complaint: string | undefined;
  readonly advice: Advice | null;
}

export function heardSoFar({ reading, findings, complaint, advice }: RecordingSoFar): Capture[] {
  if (findings === null) return [];
  const complaints = complaintsInWords(complaint ?? reading.facts.complaint ?? "");
  return stillToHear(reading, findings, complaints, advice?.captures);
}

/** The place of a capture in the list, to go to. */
export const placeOf = (capture: string): string => `hear-${capture}`;

/** Under the pointer, and read out: what it would decide, save and judge. */
export function captureAbout({ decides, saves, tells }: Capture): string {
  const worth = saves === null || saves <= 0 ? "" : `; saves about ${saves.toFixed(0)} on average`;
  const signs = tells.length === 0 ? "" : `. Cannot tell without it: ${tells.join(", ")}`;
  return `${decides}${worth}${signs}`;
}
