/**
 * Marks that are not known to be in their recording. Each stands under its own name: what two pages keep twice is the
 * same mark.
 */
import { z } from "zod/mini";
import { KeptWords } from "../app/keptWords.ts";
import { unsaved, type Unsaved } from "./markList.ts";

const markSchema = z.pipe(
  z.object({
    id: z.string().check(z.minLength(1), z.maxLength(40)),
    at: z.number().check(z.gte(0)),
    until: z.optional(z.number().check(z.gte(0))),
    label: z.string().check(z.maxLength(400)),
    removed: z.optional(z.literal(true)),
  }),
  z.transform(unsaved),
);

export const keptMarks = (storage: () => Storage): KeptWords<Unsaved> =>
  new KeptWords<Unsaved>("markDraft", markSchema, storage);

/** The key of a mark, whose file it names. */
export const markKey = (file: string, id: string): string => `${file}/${id}`;
export const fileOfKey = (key: string): string => key.slice(0, key.lastIndexOf("/"));
