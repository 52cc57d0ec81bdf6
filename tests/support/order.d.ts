import { BaseSequencer } from "vitest/node";

/** What takes longest is begun first. */
export declare class LongestFirst extends BaseSequencer {}
