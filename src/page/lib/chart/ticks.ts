export * from "../../../sheet/chart/ticks.ts";
