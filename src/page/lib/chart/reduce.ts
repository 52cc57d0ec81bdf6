export * from "../../../sheet/chart/reduce.ts";
