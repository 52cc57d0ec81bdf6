import { z } from "zod/mini";
import { CranksideError } from "../../../../shared/errors.ts";
import { caseText, longestCase, readCase, type PracticeCaseFile } from "../../../sheet/practiceCase.ts";
import { formKeep, type FormKeep } from "../job/formKeep.ts";
import { takenIn } from "../recording/taken.ts";

interface Practised {
  readonly from: PracticeCaseFile;
  /** The recording of this name; null: on the bench vehicle. */
  readonly file: string | null;
}

const name = "practice";
const shape = z.object({ case: z.string(), file: z.nullable(z.string()) });

/** The case of a file that is worked on, also after a reload. */
export class Practice {
  readonly #forms: FormKeep;
  #current: Practised | null = $state.raw(null);

  constructor(forms: FormKeep) {
    this.#forms = forms;
    this.#current = this.#left();
  }

  get current(): Practised | null {
    return this.#current;
  }

  set current(now: Practised | null) {
    this.#current = now;
    this.#forms.write(name, now === null ? null : { case: caseText(withoutBytes(now.from)), file: now.file });
  }

  #left(): Practised | null {
    const left = this.#forms.read(name, shape);
    if (left === null) return null;
    try {
      return { from: readCase(left.case, "the browser"), file: left.file };
    } catch (error) {
      if (!(error instanceof CranksideError)) throw error;
      // Of another version, or cut off.
      return null;
    }
  }
}

/** Its recording lies in the folder. */
function withoutBytes(from: PracticeCaseFile): PracticeCaseFile {
  const { recording } = from;
  return recording === null ? from : { ...from, recording: { ...recording, bytes: new Uint8Array() } };
}

export const practice = new Practice(formKeep);

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
