export * from "../../../sheet/chart/extremes.ts";
