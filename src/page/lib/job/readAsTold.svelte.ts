import { untrack } from "svelte";
import type { Page, Shown } from "../app/page.svelte.ts";
import type { Causes } from "./causes.svelte.ts";
import type { SheetFacts } from "./jobFacts.svelte.ts";

/**
 * The recording is read by what the sheet shows of its vehicle, and the next one begins with that. To be called while a
 * component is made.
 */
export function readAsTold(
  page: Page,
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
    page.facts.toldBy(() => facts.facts);
    return () => page.facts.toldBy(null);
  });
}
