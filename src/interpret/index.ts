/** The room's door. */
export { Interpreter, interpret, normalOf } from "./interpreter.ts";
export { learnNormal, readNormal, type Normal } from "./normal/learn.ts";
export type { Source } from "./folds/source.ts";
export { regimeWords } from "../../shared/ranges.ts";
export { regimeSpans } from "./folds/regimeSpans.ts";
export type { RegimeSpan } from "./folds/regimes.ts";
export { VehicleRanges } from "./report/ranges.ts";
export {
  findingsSchema,
  findingsVersion,
  type Balance,
  type Comparison,
  type Crank,
  type Findings,
  type Fit,
  type Sign,
  type Verdict,
} from "./report/schema.ts";
export { findingsText } from "./report/text.ts";
