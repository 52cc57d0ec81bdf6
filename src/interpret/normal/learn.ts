/** From figures of sound recordings of one vehicle to what is normal for it. Pure; NORMAL.md describes the file. */
import { z } from "zod/mini";
import { CranksideError } from "../../../shared/errors.ts";
import { round } from "../folds/figureReadings.ts";
import { kindOfFigure, type RecordingNormal } from "./gather.ts";
import { median, robustScale } from "../maths/stats.ts";
import { normalRows } from "./table.ts";
import { forms, migrated, versionOf } from "../../../shared/stored/forms.ts";
import { notInShape } from "../../../shared/wrongShape.ts";

const normalFormat = forms.normal.format;
const normalVersion = versionOf(forms.normal);

const learnedSchema = z.object({
  of: z.string().check(z.minLength(1), z.maxLength(60)),
  unit: z.string().check(z.maxLength(20)),
  /** Mean over the recordings. */
  level: z.number(),
  /** What one recording may lie off by: the upper 99 % bound of the spread between recordings, or the figure's floor. */
  spread: z.number().check(z.gt(0)),
  /** Spread between the recordings as it is, and their ends. */
  deviation: z.number(),
  low: z.number(),
  high: z.number(),
  recordings: z.int().check(z.gte(1)),
  readings: z.int().check(z.gte(1)),
  /** Recordings that stand far apart from the others, and were left out. */
  apart: z.optional(z.int().check(z.gte(1))),
});
export type Learned = z.infer<typeof learnedSchema>;

export const normalSchema = z.object({
  format: z.literal(normalFormat),
  version: z.literal(normalVersion),
  /** A name the person knows the vehicle by. */
  name: z.optional(z.string().check(z.maxLength(120))),
  /** Names of the recordings learned from. */
  recordings: z.array(z.string().check(z.maxLength(260))).check(z.minLength(1), z.maxLength(10_000)),
  /** Outside air in them, °C, or what was nearest to it; null where nothing told it. */
  temperature: z.nullable(z.object({ low: z.number(), high: z.number() })),
  figures: z.array(learnedSchema).check(z.maxLength(400)),
});
export type Normal = z.infer<typeof normalSchema>;

/** The share of a chi-square distribution's mean that it exceeds in 99 of 100 (Wilson and Hilferty, 1931). */
function lowerShare(freedom: number): number {
  const ninth = 2 / (9 * freedom);
  return Math.max(0.02, (1 - ninth - 2.326 * Math.sqrt(ninth)) ** 3);
}

/** What is normal, from recordings that a person calls sound; throws `wrong-use` where there are none. */
export function learnNormal(
  recordings: readonly { readonly name: string; readonly normal: RecordingNormal }[],
  name?: string,
): Normal {
  if (recordings.length === 0)
    throw new CranksideError("wrong-use", "nothing to learn from", { expected: "at least one recording" });
  const byFigure = new Map<string, { values: number[]; readings: number }>();
  for (const { normal } of recordings)
    for (const { of, value, readings } of normal.figures) {
      const figure = byFigure.get(of) ?? { values: [], readings: 0 };
      figure.values.push(value);
      figure.readings += readings;
      byFigure.set(of, figure);
    }
  const temperatures = recordings.flatMap(({ normal }) => normal.temperature ?? []);
  return {
    format: normalFormat,
    version: normalVersion,
    ...(name === undefined ? {} : { name }),
    recordings: recordings.map((r) => r.name),
    temperature:
      temperatures.length === 0 ? null : { low: Math.min(...temperatures), high: Math.max(...temperatures) },
    figures: [...byFigure]
      .map(([of, { values, readings }]) => learnedOf(of, values, readings))
      .sort((a, b) => (a.of < b.of ? -1 : 1)),
  };
}

/** Those that agree: one that stands apart by so many deviations was another day, such as a heater at work. */
const apartBy = 6;

function agreeing(values: readonly number[], least: number): number[] {
  const middle = median(values);
  const scale = Math.max(least, robustScale(values.map((v) => v - middle)));
  return values.filter((v) => Math.abs(v - middle) <= apartBy * scale);
}

function learnedOf(of: string, all: readonly number[], readings: number): Learned {
  const row = normalRows[kindOfFigure(of)];
  const values = agreeing(all, Math.max(row.floor, row.floorShare * Math.abs(median(all))));
  const apart = all.length - values.length;
  const n = values.length;
  const level = values.reduce((sum, v) => sum + v, 0) / n;
  const squares = values.reduce((sum, v) => sum + (v - level) ** 2, 0);
  const deviation = n < 2 ? 0 : Math.sqrt(squares / (n - 1));
  const bound = n < 2 ? 0 : deviation / Math.sqrt(lowerShare(n - 1));
  const spread = Math.max(row.floor, row.floorShare * Math.abs(level), bound);
  return {
    of,
    unit: row.unit,
    level: round(level, 4),
    spread: Math.max(1e-4, round(spread, 4)),
    deviation: round(deviation, 4),
    low: Math.min(...values),
    high: Math.max(...values),
    recordings: n,
    readings,
    ...(apart === 0 ? {} : { apart }),
  };
}

/** Reads such a file's JSON; throws `normal-invalid` or `newer-format` that names the field. */
export function readNormal(value: unknown, where: string): Normal {
  const result = normalSchema.safeParse(migrated(forms.normal, value, where));
  if (!result.success) {
    const { issues } = result.error;
    const found = { issues, value, whole: `a ${normalFormat} file`, where };
    throw notInShape("normal-invalid", "this is not what was learned of a vehicle", found);
  }
  // Figures of a later version of the table are none of ours to judge by.
  return { ...result.data, figures: result.data.figures.filter((f) => kindOfFigure(f.of) in normalRows) };
}
