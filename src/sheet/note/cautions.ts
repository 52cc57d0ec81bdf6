/** Cautions that apply to what stands on a sheet. */
import type { UnitSystem } from "../../../shared/units.ts";
import { cautionFirst } from "../../interpret/causes/tables/cautions.ts";
import { inOrder, type JobDocument } from "../job.ts";
import { statementOf } from "../statement.ts";
import { checkCautions } from "./checks.ts";

/** Those that were entered, and those of the signs and checks on the sheet, once each; one line always goes first. */
export function cautionsOf(job: JobDocument, system: UnitSystem): string[] {
  const said = [
    ...inOrder(job.cautions).map((c) => c.text),
    ...inOrder(job.entries).flatMap((e) => statementOf(e, system).cautions),
    ...checkCautions(job),
  ];
  const once = [...new Set(said.filter((text) => text.trim() !== ""))];
  return once.length === 0 ? [] : [cautionFirst, ...once];
}
