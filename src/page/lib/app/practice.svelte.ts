import { CranksideError, messageOf } from "../../../../shared/errors.ts";
import { longestCase, readCase, type PracticeCaseFile } from "../../../sheet/practiceCase.ts";
import { toldIn } from "./leave.ts";

/** The case that is worked on: of a file, on the bench vehicle or on the recording of this name. */
export const practice: { current: { readonly from: PracticeCaseFile; readonly file: string | null } | null } =
  $state({ current: null });

/** Rejects with `case-invalid` or `newer-format`. */
export async function caseIn(file: File): Promise<PracticeCaseFile> {
  if (file.size > longestCase)
    throw new CranksideError("case-invalid", "this is no case to practise on", {
      found: `${file.size} bytes`,
    });
  return readCase(await file.text(), file.name);
}

/** Puts the recording of a case into the folder, as one that comes from elsewhere; resolves with its name there. */
export async function layOut(
  { file, bytes }: NonNullable<PracticeCaseFile["recording"]>,
  list: string,
): Promise<string> {
  let response: Response;
  try {
    const url = `${list}?name=${encodeURIComponent(file)}`;
    response = await fetch(url, { method: "POST", body: new Blob([bytes]), cache: "no-store" });
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
  const taken: unknown = JSON.parse(text);
  if (typeof taken === "object" && taken !== null && "file" in taken && typeof taken.file === "string")
    return taken.file;
  throw new CranksideError("server-failed", "the recording was not named", { found: text.slice(0, 80) });
}
