/** What the browser keeps beside the page, in whatever version it was kept. Pure. */
import { forms, isNewer, migrated, type Form } from "../../../../shared/stored/forms.ts";

export type Draft = "jobDraft" | "factsDraft" | "markDraft" | "formDraft" | "settings";

/** As it would be kept today; null for nothing, for what is not ours, and for what a later version kept. */
export function openDraft(kind: Draft, text: string | null, form: Form = forms[kind]): unknown {
  const value = parsed(text);
  return isNewer(form, value) ? null : migrated(form, value, "the browser");
}

/** A later version kept it: it stays as it is until that one is there again. */
export function isOfLaterVersion(kind: Draft, text: string | null, form: Form = forms[kind]): boolean {
  return isNewer(form, parsed(text));
}

function parsed(text: string | null): unknown {
  try {
    return JSON.parse(text ?? "null");
  } catch {
    // Not ours, or cut off.
    return null;
  }
}
