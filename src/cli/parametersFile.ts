import { readFileSync } from "node:fs";
import { readDefinedParameters, type DefinedParameter } from "../../shared/defined.ts";
import { unreadable } from "../recorder/problems.ts";

/** What the option says, wherever it stands. */
export const parametersOption = [
  "--parameters <file>",
  "parameters of your own, JSON (recordings/parameters/README.md describes it)",
] as const;

/** Parameters that a person defined in a file; throws `file-missing`, `file-unreadable` or `reads-invalid`. */
export function parametersFrom(path: string | undefined): readonly DefinedParameter[] {
  if (path === undefined) return [];
  let text: string;
  try {
    text = readFileSync(path, "utf8");
  } catch (error) {
    throw unreadable(path, error);
  }
  return readDefinedParameters(text, path);
}
