/** The room's door. */
export { Analyst, type AdviceOf, type ReadBy } from "./analyst.ts";
export { weighing } from "./weighing.ts";
export type { ToldCrank } from "./cranks.ts";
export type { Findings } from "../interpret/index.ts";
