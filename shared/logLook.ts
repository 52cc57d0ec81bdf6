/**
 * What was found by looking at a log from elsewhere, and the column map that comes of it when a person has confirmed or
 * changed it. The map is described in recordings/maps/README.md.
 */
import { z } from "zod/mini";
import { channelInfo } from "./decode.ts";
import { conversionOf, unitChoices, usualSymbol } from "./unitNames.ts";
import { units, type Unit, type UnitId } from "./units.ts";

export const timeUnits = ["s", "ms", "min", "clock", "ISO 8601", "epoch s", "epoch ms"] as const;
export type TimeUnit = (typeof timeUnits)[number];
export const dateOrders = ["ymd", "dmy", "mdy"] as const;
export type DateOrder = (typeof dateOrders)[number];
export const rowPlaces = ["as-timed", "spread", "steady"] as const;
export const delimiters = [",", ";", "\t", "|"] as const;
export const encodings = ["utf-8", "utf-16le", "utf-16be", "windows-1252"] as const;

const columnSchema = z.strictObject({
  name: z.string(),
  /** The channel that it is taken for; null: it is left out. */
  channel: z.nullable(z.string()),
  how: z.enum(["kept", "sure", "likely", "none"]),
  /** As the file says it, or as it must be; null where it has to be asked. */
  unit: z.nullable(z.string()),
  nearest: z.array(z.string()),
  /** Its first cells that hold something. */
  first: z.array(z.string()),
  /** Why it is left out, or what a person should know; empty where nothing is to be said. */
  about: z.string(),
});
export type LookedColumn = z.infer<typeof columnSchema>;

export const lookSchema = z.strictObject({
  /** `table`: a column a channel. `long`: a row a reading. `replies`: what modules said, as hexadecimal digits. */
  form: z.enum(["table", "long", "replies"]),
  encoding: z.enum(encodings),
  delimiter: z.enum(delimiters),
  decimal: z.enum([".", ","]),
  /** Of the header row, so that a kept map is found again. */
  header: z.array(z.string()),
  time: z.strictObject({
    column: z.string(),
    unit: z.enum(timeUnits),
    /** Nothing in the file says the unit: it follows from the distance of the rows. */
    sure: z.boolean(),
    rows: z.enum(rowPlaces),
    held: z.boolean(),
    first: z.array(z.string()),
    /** Where the day stands beside a time of day: a column, or before it in its own; `unclear`: two orders would do. */
    date: z.optional(z.strictObject({ column: z.string(), order: z.enum([...dateOrders, "unclear"]) })),
    /** The day of the first row, from above the table: `2024-05-31`. */
    day: z.optional(z.string()),
  }),
  /** Cells repeat what was read earlier. */
  held: z.boolean(),
  columns: z.array(columnSchema),
  /** Of a `long` table: the columns of name, value and unit. */
  long: z.optional(z.strictObject({ name: z.string(), value: z.string(), unit: z.optional(z.string()) })),
});
export type LogLook = z.infer<typeof lookSchema>;

/** What a person can still change: the channel, its unit, or to leave it out. */
export const choiceSchema = z.strictObject({
  channel: z.nullable(z.string().check(z.maxLength(100))),
  unit: z.nullable(z.string().check(z.maxLength(40))),
});
export type Choice = z.infer<typeof choiceSchema>;

/** What the program answers to a log that the page sent, and to its confirmation. */
export const lookedSchema = z.object({ id: z.string(), look: lookSchema });
export const importedSchema = z.object({
  file: z.string(),
  rows: z.int(),
  samples: z.int(),
  channels: z.int(),
  notices: z.array(z.string()),
});
export type Imported = z.infer<typeof importedSchema>;

export function choicesOf(look: LogLook): Choice[] {
  return look.columns.map(({ channel, unit }) => ({ channel, unit }));
}

/** The units that a channel's numbers may be in. */
export function unitsFor(channel: string): readonly string[] {
  const info = channelInfo(channel);
  return info === undefined ? [] : unitChoices(info.unit);
}

/** Metric logs and US ones differ in it: where nothing says the unit it is asked. */
function isDoubtful(unit: UnitId): boolean {
  const row: Unit = units[unit];
  return row.us !== undefined;
}

/** The choice with another channel: the unit stays where it fits, and is known where there is only one. */
export function withChannel({ unit }: Choice, channel: string | null): Choice {
  const info = channel === null ? undefined : channelInfo(channel);
  if (info === undefined) return { channel: null, unit: null };
  const kept = unit === null ? null : (conversionOf(unit, info.unit)?.symbol ?? null);
  return { channel, unit: kept ?? (isDoubtful(info.unit) ? null : usualSymbol(info.unit, "metric")) };
}

/** Units that are not said are all of one system: one answer for all of them. */
export function withSystem(choices: readonly Choice[], system: "metric" | "us"): Choice[] {
  return choices.map((choice) => {
    const info = choice.channel === null ? undefined : channelInfo(choice.channel);
    return choice.unit !== null || info === undefined
      ? choice
      : { ...choice, unit: usualSymbol(info.unit, system) };
  });
}

/** What is still missing before it can be imported, a sentence each. */
export function stillAsked(look: LogLook, choices: readonly Choice[]): string[] {
  if (look.form === "replies") return [];
  const names = (at: readonly number[]): string => at.map((i) => look.columns[i]?.name ?? "").join(", ");
  const all = [...choices.keys()];
  const unit = all.filter((i) => choices[i]?.channel !== null && choices[i]?.unit === null);
  const twice = all.filter((i) => {
    const channel = choices[i]?.channel;
    return channel !== null && choices.findIndex((other) => other.channel === channel) < i;
  });
  return [
    ...(all.every((i) => choices[i]?.channel === null) ? ["No column is a channel yet."] : []),
    ...(unit.length === 0 ? [] : [`The file does not say the unit of ${names(unit)}.`]),
    ...(twice.length === 0 ? [] : [`Another column is the same channel as ${names(twice)}.`]),
  ];
}

/** The column map of what was confirmed; null for what needs none. `about` is kept in it for people. */
export function mapOf(look: LogLook, choices: readonly Choice[], about: string): object | null {
  if (look.form === "replies") return null;
  const { time, held } = look;
  return {
    about,
    ...(look.delimiter === "," ? {} : { delimiter: look.delimiter }),
    ...(look.decimal === "." ? {} : { decimal: look.decimal }),
    ...(look.encoding === "utf-8" ? {} : { encoding: look.encoding }),
    ...(look.long === undefined ? {} : { long: look.long }),
    time: {
      column: time.column,
      unit: time.unit,
      ...(time.rows === "as-timed" ? {} : { rows: time.rows }),
      ...(time.held ? { held: true } : {}),
      ...(time.date === undefined ? {} : { date: time.date }),
      ...(time.day === undefined ? {} : { day: time.day }),
    },
    columns: Object.fromEntries(
      look.columns.map(({ name, about: why }, i): [string, object] => {
        const { channel = null, unit = null } = choices[i] ?? {};
        if (channel === null) return [name, { ignore: true, ...(why === "" ? {} : { note: why }) }];
        return [name, { channel, unit, ...(held ? { held: true } : {}) }];
      }),
    ),
  };
}
