import type { LogEntry } from "../../../interpret/causes/results.ts";
import { putting } from "../../../sheet/put.ts";
import type { Causes } from "./causes.svelte.ts";
import type { JobDesk } from "./jobDesk.svelte.ts";
import { scaledPhoto } from "./jobPhotos.ts";
import { newId } from "../app/newId.ts";
import { correctEntry, resultEntry, type ResultAnswer, type ResultDraft } from "./resultDraft.ts";

export interface Keeping {
  readonly check: { readonly id: string; readonly name: string };
  readonly draft: ResultDraft;
  readonly photo: File | null;
  /** The entry that is put right; left out for a new one. */
  readonly corrects?: { readonly id: string; readonly said: ResultAnswer } | undefined;
}

/** A result with its photo, in one step. False where it could not be kept; rejects where the photo is not taken. */
export async function keepResult(causes: Causes, desk: JobDesk, keeping: Keeping): Promise<boolean> {
  const { check, draft, photo, corrects } = keeping;
  return keepWithPhoto(causes, desk, {
    photo,
    caption: check.name,
    entry: (id) => {
      const shows = id ?? corrects?.said.photo ?? null;
      return corrects === undefined
        ? resultEntry(newId(), check.id, draft, shows)
        : correctEntry(newId(), corrects.id, draft, shows);
    },
  });
}

export interface WithPhoto {
  readonly photo: File | null;
  readonly caption: string;
  /** The entry, with the name that the photo is kept under; null: none was taken. */
  readonly entry: (photo: string | null) => LogEntry;
}

/** An entry of the log and the photo to it, in one step. */
export async function keepWithPhoto(causes: Causes, desk: JobDesk, one: WithPhoto): Promise<boolean> {
  const blob = one.photo === null ? null : await scaledPhoto(one.photo);
  // A photo goes into a job's folder, so that the job comes first.
  if (blob !== null) await causes.begin();
  const { job } = desk;
  const stored = blob === null || job === null ? null : await desk.api.addPhoto(job.id, blob);
  const id = stored === null ? null : newId();
  return causes.enter(one.entry(id), (to) =>
    stored === null || id === null
      ? []
      : [putting(to, "photos", id, { section: "checks", caption: one.caption, ...stored })],
  );
}
