import type { HandCheckRow } from "../../types.ts";
import type { CauseId } from "../causes.ts";
import type { CautionId } from "../cautions.ts";
import type { ToolId } from "../tools.ts";

/** A row of the tables of hand checks: every name in it is one that the other tables know. */
export type CheckTableRow = HandCheckRow<CauseId> & {
  readonly tools: readonly ToolId[];
  readonly caution: readonly CautionId[] | "none needed";
};
