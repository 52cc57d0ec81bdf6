/**
 * Stands for fast-check in tests (`vitest.config.ts`): what it draws is the same each time, so that a suite that was
 * green stays green; `SEED=7 npm test` draws others. A failure prints its seed.
 */
import fc from "../../node_modules/fast-check/lib/fast-check.js";

fc.configureGlobal({ seed: Number(process.env["SEED"] ?? 20_261_130) });

export * from "../../node_modules/fast-check/lib/fast-check.js";
export default fc;
