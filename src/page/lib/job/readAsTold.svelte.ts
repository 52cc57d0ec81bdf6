import { untrack } from "svelte";
import type { Session, Shown } from "../app/session.svelte.ts";
import type { Causes } from "./causes.svelte.ts";
import type { SheetFacts } from "./jobFacts.svelte.ts";

/**
 * The recording is read by what the sheet shows of its vehicle, and the next one begins with that. To be called while a
 * component is made.
 */
export function readAsTold(
  session: Session,
  { causes, facts }: { readonly causes: Causes; readonly facts: SheetFacts },
  shown: () => Shown,
): void {
  $effect(() => {
    const { vehicle } = facts.facts;
    const { recording } = shown();
    const normal = causes.normals.of(vehicle, recording.file);
    if (recording.reading.header !== null) untrack(() => recording.readBy(vehicle, normal));
  });
  $effect(() => {
    session.job.toldBy(() => facts.facts);
    return () => session.job.toldBy(null);
  });
}
