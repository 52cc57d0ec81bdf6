/**
 * Reads a file of the open data set (public data set carOBD, IEEE document 8891367) into a store of channels: held
 * values collapsed, because the logger repeats each reading three or four rows long.
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { ChannelStore } from "../../shared/channels.ts";

/** A value that stands still for this many rows was read again and found equal. */
const heldRows = 4;

const columns: Readonly<Record<string, string>> = {
  ENGINE_RPM: "engine-speed",
  VEHICLE_SPEED: "vehicle-speed",
  THROTTLE: "throttle",
  ENGINE_LOAD: "load",
  COOLANT_TEMPERATURE: "coolant",
  LONG_TERM_FUEL_TRIM_BANK_1: "trim-long-b1",
  SHORT_TERM_FUEL_TRIM_BANK_1: "trim-short-b1",
  INTAKE_MANIFOLD_PRESSURE: "manifold",
  FUEL_TANK: "fuel-level",
  PEDAL_D: "pedal-d",
  ABSOLUTE_BAROMETRIC_PRESSURE: "barometric",
  INTAKE_AIR_TEMP: "intake-air",
  TIMING_ADVANCE: "advance",
  CATALYST_TEMPERATURE_BANK1_SENSOR1: "catalyst-b1s1",
  CONTROL_MODULE_VOLTAGE: "module-voltage",
  TIME_SINCE_TROUBLE_CODES_CLEARED: "minutes-clear",
  WARM_UPS_SINCE_CODES_CLEARED: "warm-ups",
};

/** Rows of numbers by column name; a field that is no number, or is missing, is NaN. */
export function openDataRows(folder: string, name: string): { names: string[]; rows: number[][] } {
  const text = gunzipSync(readFileSync(join(folder, name))).toString("utf8");
  const [head = "", ...lines] = text.split(/\r?\n/).filter((line) => line.trim() !== "");
  const names = head
    .split(",")
    .map((field) => field.replace(/\(.*?\)/, "").trim())
    .filter((field) => field !== "");
  const rows = lines.map((line) => {
    const fields = line.split(",");
    return names.map((_, i) => {
      const field = fields[i]?.trim() ?? "";
      return field === "" ? Number.NaN : Number(field);
    });
  });
  return { names, rows };
}

export function openData(folder: string, name: string): { channels: ChannelStore; until: number } {
  const { names, rows } = openDataRows(folder, name);
  const channels = new ChannelStore();
  const used = names.flatMap((column, at) => {
    const channel = columns[column];
    return channel === undefined ? [] : [{ channel, at, last: Number.NaN, row: -heldRows }];
  });
  const times = rowTimes(rows);
  rows.forEach((fields, row) => {
    const t = times[row] ?? 0;
    for (const column of used) {
      const value = fields[column.at] ?? Number.NaN;
      if (Number.isNaN(value)) continue;
      if (value === column.last && row - column.row < heldRows) continue;
      column.last = value;
      column.row = row;
      channels.append(column.channel, "", t, value);
    }
  });
  return { channels, until: times.at(-1) ?? 0 };
}

/** The time column has whole seconds: rows between two of its steps are spread evenly. Milliseconds. */
function rowTimes(rows: readonly number[][]): number[] {
  const steps: { row: number; ms: number }[] = [];
  rows.forEach((fields, row) => {
    const ms = (fields[0] ?? 0) * 1000;
    if (ms > (steps.at(-1)?.ms ?? -1)) steps.push({ row, ms });
  });
  let step = 0;
  return rows.map((_, row) => {
    while (step + 1 < steps.length && (steps[step + 1]?.row ?? 0) <= row) step += 1;
    const from = steps[step] ?? { row: 0, ms: 0 };
    const next = steps[step + 1];
    const perRow = next === undefined ? 500 : (next.ms - from.ms) / (next.row - from.row);
    return from.ms + (row - from.row) * perRow;
  });
}
