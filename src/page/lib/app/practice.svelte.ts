import { CranksideError } from "../../../../shared/errors.ts";
import { longestCase, readCase, type PracticeCaseFile } from "../../../sheet/practiceCase.ts";
import { takenIn } from "../recording/taken.ts";

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
  return (await takenIn(list, file, new Blob([bytes]))).file;
}
