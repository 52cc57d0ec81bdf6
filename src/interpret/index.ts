/** The room's door. */
export { Interpreter, interpret, normalOf } from "./interpreter.ts";
export { learnNormal, readNormal, type Normal } from "./normal/learn.ts";
export type { Source } from "./context.ts";
export { regimeWords } from "../../shared/ranges.ts";
export { regimeSpans } from "./regime-spans.ts";
export type { RegimeSpan } from "./regimes.ts";
export { VehicleRanges } from "./ranges.ts";
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
} from "./schema.ts";
export { findingsText } from "./text.ts";
