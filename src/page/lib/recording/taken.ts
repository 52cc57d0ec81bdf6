import { z } from "zod/mini";
import { askedFor } from "../app/leave.ts";

const takenSchema = z.object({
  file: z.string(),
  state: z.enum(["whole", "cut-short", "altered"]),
  known: z.boolean(),
});

/** Puts a recording from elsewhere into the folder; resolves with its name there. `list`: where recordings are listed. */
export async function takenIn(list: string, name: string, body: Blob): Promise<z.infer<typeof takenSchema>> {
  const response = await askedFor(`${list}?name=${encodeURIComponent(name)}`, { method: "POST", body });
  return takenSchema.parse(await response.json());
}
