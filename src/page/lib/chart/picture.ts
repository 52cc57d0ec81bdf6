export * from "../../../sheet/chart/picture.ts";
