/** The column map: what each column of a CSV is. recordings/maps/README.md describes it for the person who writes one. */
import { readFileSync } from "node:fs";
import { z } from "zod/mini";
import { CranksideError, messageOf } from "../../../shared/errors.ts";
import { channelInfo } from "../../../shared/decode.ts";
import {
  dateOrders,
  delimiters,
  encodings,
  rowPlaces,
  timeUnits,
  type DateOrder,
  type TimeUnit,
} from "../../../shared/logLook.ts";
import { mended, nearestChannels } from "../../../shared/nameGuess.ts";
import { forms, migrated } from "../../../shared/stored/forms.ts";
import { currentId } from "../../../shared/stored/renamed.ts";
import { conversionOf, unitChoices } from "../../../shared/unitNames.ts";
import type { UnitId } from "../../../shared/units.ts";
import { unreadable } from "../problems.ts";
import { notInShape } from "../../../shared/wrongShape.ts";

const text = z.string().check(z.minLength(1), z.maxLength(200));
/** True, or the name of the round that the column is read in. */
const held = z.optional(z.union([z.boolean(), text]));

const mapSchema = z.strictObject({
  version: z.optional(z.int()),
  about: z.optional(z.string()),
  delimiter: z.optional(z.enum(delimiters)),
  decimal: z.optional(z.enum([".", ","])),
  encoding: z.optional(z.enum(encodings)),
  long: z.optional(z.strictObject({ name: text, value: text, unit: z.optional(text) })),
  time: z.strictObject({
    column: text,
    unit: z.enum(timeUnits),
    rows: z.optional(z.enum(rowPlaces)),
    held,
    date: z.optional(z.strictObject({ column: text, order: z.enum([...dateOrders, "unclear"]) })),
    day: z.optional(z.string().check(z.regex(/^\d{4}-\d\d-\d\d$/))),
    note: z.optional(z.string()),
  }),
  columns: z.record(
    text,
    z.union([
      z.strictObject({
        channel: text,
        unit: text,
        held,
        note: z.optional(z.string()),
      }),
      z.strictObject({ ignore: z.literal(true), note: z.optional(z.string()) }),
    ]),
  ),
});

export type ColumnMap = z.infer<typeof mapSchema>;

/** A column that carries a channel, with what turns its numbers into the channel's own unit. */
export interface MappedColumn {
  readonly column: string;
  readonly channel: string;
  readonly unit: UnitId;
  /** The unit that the column is in. */
  readonly given: string;
  /** value = (number - offset) / factor */
  readonly factor: number;
  readonly offset: number;
  /** The round it is re-read in, or null where every row is a reading. */
  readonly round: string | null;
}

export interface ReadMap {
  readonly delimiter: string;
  readonly decimal: "." | ",";
  readonly encoding: (typeof encodings)[number];
  /** A row a reading: the columns of its name, value and unit. `columns` then go by what stands under the name. */
  readonly long: { readonly name: string; readonly value: string; readonly unit: string | null } | null;
  readonly time: {
    readonly column: string;
    readonly unit: TimeUnit;
    readonly rows: "as-timed" | "spread" | "steady";
    readonly round: string | null;
    /** The column whose cells begin with the day; null where there is none. */
    readonly date: { readonly column: string; readonly order: DateOrder | "unclear" } | null;
    /** Of the first row; null where nothing told it. */
    readonly day: string | null;
  };
  readonly columns: readonly MappedColumn[];
  readonly ignored: readonly string[];
}

/** Reads and checks a column map file; throws `file-missing`, `file-unreadable`, `map-invalid` or `newer-format`. */
export function readMapFile(path: string): ReadMap {
  let content: string;
  try {
    content = readFileSync(path, "utf8");
  } catch (error) {
    throw unreadable(path, error);
  }
  let value: unknown;
  try {
    value = JSON.parse(content.replace(/^\uFEFF/, ""));
  } catch (error) {
    throw new CranksideError(
      "map-invalid",
      "not a column map",
      { expected: "JSON", found: messageOf(error), where: path },
      error,
    );
  }
  return readMap(value, path);
}

/** Checks a column map; throws `map-invalid` that names the field, or `newer-format`. */
export function readMap(value: unknown, where: string): ReadMap {
  const today = migrated(forms.columnMap, value, where);
  const checked = mapSchema.safeParse(today);
  if (!checked.success) {
    const { issues } = checked.error;
    throw notInShape("map-invalid", "not a column map", {
      issues,
      value: today,
      whole: "a column map",
      where,
    });
  }
  const map = checked.data;
  const columns: MappedColumn[] = [];
  const ignored: string[] = [];
  for (const [column, entry] of Object.entries(map.columns)) {
    if ("ignore" in entry) ignored.push(headerName(column));
    else columns.push(mapped(headerName(column), entry, `${where}, columns.${column}`));
  }
  if (columns.length === 0) {
    throw invalid(`${where}, columns`, "at least one column with a channel", "none");
  }
  const twice = columns.find((c, i) => columns.findIndex((d) => d.channel === c.channel) < i);
  if (twice !== undefined) {
    throw invalid(`${where}, columns.${twice.column}.channel`, "each channel once", twice.channel);
  }
  return {
    delimiter: map.delimiter ?? ",",
    decimal: map.decimal ?? ".",
    encoding: map.encoding ?? "utf-8",
    long:
      map.long === undefined
        ? null
        : {
            ...{ name: headerName(map.long.name), value: headerName(map.long.value) },
            unit: map.long.unit === undefined ? null : headerName(map.long.unit),
          },
    time: {
      column: headerName(map.time.column),
      unit: map.time.unit,
      rows: map.time.rows ?? "as-timed",
      round: roundName(map.time.held),
      date:
        map.time.date === undefined ? null : { ...map.time.date, column: headerName(map.time.date.column) },
      day: map.time.day ?? null,
    },
    columns,
    ignored,
  };
}

/**
 * A column's name without blanks around it and without the empty `()` that some loggers put behind it; one that was
 * encoded twice as it was meant.
 */
export function headerName(name: string): string {
  return mended(name)
    .replace(/\s*\(\s*\)\s*$/, "")
    .trim();
}

function roundName(value: boolean | string | undefined): string | null {
  if (value === undefined || value === false) return null;
  return value === true ? "" : value;
}

function mapped(
  column: string,
  entry: { channel: string; unit: string; held?: boolean | string | undefined },
  where: string,
): MappedColumn {
  const channel = currentId("channels", entry.channel);
  const info = channelInfo(channel);
  if (info === undefined) {
    const near = nearestChannels(entry.channel);
    const some = near.length > 0 ? near : nearestChannels(column);
    const expected = `a channel of \`crankside channels\`${some.length === 0 ? "" : `; near to it: ${some.join(", ")}`}`;
    throw invalid(`${where}.channel`, expected, shown(entry.channel));
  }
  const conversion = conversionOf(entry.unit, info.unit);
  if (conversion === null)
    throw invalid(`${where}.unit`, unitChoices(info.unit).join(" or "), shown(entry.unit));
  const { symbol: given, factor, offset } = conversion;
  const round = roundName(entry.held);
  return { column, channel, unit: info.unit, given, factor, offset, round };
}

function invalid(where: string, expected: string, found: string): CranksideError {
  return new CranksideError("map-invalid", "the column map is wrong", {
    expected,
    found,
    where,
    advice: "recordings/maps/README.md describes the map.",
  });
}

function shown(value: unknown): string {
  return value === undefined ? "nothing" : JSON.stringify(value).slice(0, 60);
}
