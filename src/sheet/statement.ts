/** What a generated statement says, in words and in figures; the figures stay beside it when it is reworded. */
import type { UnitSystem } from "../../shared/units.ts";
import type { Comparison, Crank } from "../interpret/report/schema.ts";
import { dropWords } from "../interpret/running/wiggleWords.ts";
import {
  clockText,
  measuredText,
  outcomeWords,
  rangeText,
  shortRate,
  verdictWords,
} from "../interpret/report/text.ts";
import { adviceSentence, causeLine, comparedLines, comparedRows, orderLines } from "./advised.ts";
import type { Entry, Said } from "./job.ts";
import { dateText } from "./note/composing.ts";
import { saysOf, wordsOf, type Says } from "./snapshot.ts";
import { difference, value } from "./values.ts";

export interface Statement {
  readonly title: string;
  /** "outside the range" and so on, or empty. */
  readonly verdict: string;
  readonly generated: string;
  /** Measured, range, when: one line each. */
  readonly figures: readonly string[];
  /** Limits of the statement, and what else looks the same. */
  readonly notes: readonly string[];
  /** What to be careful about when it is checked. */
  readonly cautions: readonly string[];
  readonly windows: readonly { readonly from: number; readonly to: number }[];
  readonly channels: readonly string[];
}

const nothing = { verdict: "", figures: [], notes: [], cautions: [], windows: [], channels: [] } as const;

/** A statement on the sheet, in the words that it was put there with. */
export function statementOf(entry: Pick<Entry, "says" | "said">, system: UnitSystem): Statement {
  const says = saysOf(entry.says);
  const today = says === null ? nothing : worded(says, system);
  if (says !== null && entry.said === undefined) return asThen(worded(says, system, String));
  const { title, verdict, generated, figures, notes, cautions } = wordsOf(entry, system);
  return { ...today, title, verdict, generated, figures, notes, cautions };
}

/** Statements that keep no words were made in earlier ones, and go on saying what they said. */
function asThen(told: Statement): Statement {
  const then = (text: string): string =>
    text
      .replace(/; if our estimates are off by two: (\d+ to \d+ %)/g, ", tables shaken: $1")
      .replace(/, effectively (\d+)/g, ", worth $1");
  return { ...told, generated: then(told.generated), figures: told.figures.map(then) };
}

/** The words of a statement, to be kept with it when it is put on the sheet. */
export function saidNow(says: Says): NonNullable<Entry["said"]> {
  return { metric: kept(worded(says, "metric")), us: kept(worded(says, "us")) };
}

/** No longer than a job takes; what is cut is in the statement itself. */
function kept({ title, verdict, generated, figures, notes, cautions }: Statement): Said {
  const text = (words: string): string => words.slice(0, 8000);
  const lines = (all: readonly string[]): string[] => all.slice(0, 1000).map(text);
  return {
    title: text(title),
    verdict: verdict.slice(0, 400),
    generated: text(generated),
    figures: lines(figures),
    notes: lines(notes),
    cautions: lines(cautions),
  };
}

/** `rate`: how readings a second are written; earlier versions wrote all their decimals. */
function worded(says: Says, system: UnitSystem, rate = shortRate): Statement {
  switch (says.kind) {
    case "sign": {
      const { sign } = says;
      const { measured, range, windows } = sign;
      const when = windows.map((w) => `${clockText(w.from)} to ${clockText(w.to)}`).join("; ");
      const alike = sign.looksLike.map((l) => l.text).join("; ");
      return {
        title: sign.title,
        verdict: verdictWords[sign.verdict],
        generated: sign.meaning,
        figures: [
          ...(measured === null ? [] : [measuredText(measured, system, rate)]),
          ...(range === null ? [] : [rangeText(range, system)]),
          ...(when === "" ? [] : [`When: ${when}.`]),
        ],
        notes: [
          ...(sign.note === undefined ? [] : [sign.note]),
          ...(alike === "" ? [] : [`Could also be: ${alike}.`]),
        ],
        cautions: [...new Set(sign.checks.flatMap((c) => (c.caution === undefined ? [] : [c.caution])))],
        windows,
        channels: sign.channels,
      };
    }
    case "crank":
      return {
        ...nothing,
        title: `Crank ${says.crank.number}`,
        generated: `${clockText(says.crank.from)}: ${outcomeWords[says.crank.outcome]}.`,
        figures: crankFigures(says.crank, system).map(({ what, words }) => `${what}: ${words}`),
        windows: [{ from: says.crank.from, to: says.crank.to }],
        channels: ["engine-speed", "socket-voltage"],
      };
    case "comparison": {
      const { comparison } = says;
      return {
        ...nothing,
        title: comparison.label,
        generated: comparison.words,
        figures: [comparisonFigures(comparison, system)],
        windows: [comparison.during],
        channels: drawnFor(comparison.channel),
      };
    }
    case "balance":
      return {
        ...nothing,
        title: "Cylinder balance",
        generated: says.balance.words,
        figures: says.balance.cylinders.map(
          (c) =>
            `Cylinder ${c.cylinder}: speed fell by ${c.drop} rpm, ${c.interval.low} to ${c.interval.high} at ${percent(c.interval.level)} (${readings(c.samples)}).`,
        ),
        channels: ["engine-speed"],
      };
    case "wiggle":
      return {
        ...nothing,
        title: says.wiggle.label,
        generated: says.wiggle.words,
        figures: says.wiggle.drops.map((drop) => `${clockText(drop.t)}: ${dropWords(drop)}`),
        windows: [says.wiggle.during],
        channels: [...new Set(says.wiggle.drops.flatMap((drop) => drop.channels))],
      };
    case "advice": {
      const { advice, at, recordings } = says;
      return {
        ...nothing,
        title: "Likely causes and what is next",
        generated: adviceSentence(advice),
        figures: [...advice.causes.map(causeLine), ...orderLines(advice)],
        notes: [`Worked out ${dateText(at)} from ${recordings.join(", ")} and what was entered.`],
      };
    }
    case "before-after": {
      const { compared } = says;
      return {
        ...nothing,
        title: `Before: ${compared.before}. After: ${compared.after}`,
        verdict: beforeAfterWords[compared.verdict],
        generated: compared.words,
        figures: comparedRows(compared, system).map(
          ([when, what, before, after, by, change]) =>
            `${when}, ${what}: ${before}, then ${after}; difference ${by}${change === "" ? "" : `; ${change}`}`,
        ),
        notes: comparedLines(compared),
      };
    }
    case "modules":
      return {
        ...nothing,
        title: "Survey of the modules",
        generated: "",
        figures: says.modules.flatMap((m) => m.rows.map((r) => `${m.module}, ${r.what}: ${r.says}`)),
      };
  }
}

export const beforeAfterWords = {
  repaired: "repaired",
  "not-shown": "not shown",
  "still-there": "not repaired",
  "nothing-before": "nothing to be repaired was seen",
} as const;

export interface CrankFigure {
  readonly what: string;
  readonly words: string;
}

/** Every figure of a crank that was measured, with the number of readings behind it. */
export function crankFigures(crank: Crank, system: UnitSystem): CrankFigure[] {
  const counted: readonly [string, Crank["speed"], string][] = [
    ["rest", crank.restVolts, "V"],
    ["lowest", crank.lowestVolts, "V"],
    ["mean", crank.meanVolts, "V"],
    ["speed", crank.speed, "rpm"],
    ["spread of speed", crank.speedSpread, "rpm"],
    ["drop-outs", crank.dropOuts, "count"],
    ["speed per volt", crank.speedPerVolt, "rpm/V"],
    ["first speed after", crank.firstSpeedS, "s"],
    ["pull-down", crank.pullDown, "kPa"],
    ["throttle", crank.throttle, "%"],
    ["coolant", crank.coolant, "°C"],
    ["intake air", crank.intakeAir, "°C"],
    ["fired after", crank.fireS, "s"],
  ];
  return counted.flatMap(([what, figure, unit]) =>
    figure === null ? [] : [{ what, words: `${value(figure.value, unit, system)} (${figure.samples})` }],
  );
}

function comparisonFigures(c: Comparison, system: UnitSystem): string {
  const unit = c.of === "roughness" ? "%" : c.unit;
  const v = (n: number): string => value(n, unit, system);
  const d = (n: number): string => difference(n, unit, system);
  return (
    `Around it ${v(c.before.value)} (${readings(c.before.samples)}, effectively ${c.before.effective.toFixed(0)}), ` +
    `during it ${v(c.mean.value)} (${readings(c.mean.samples)}, effectively ${c.mean.effective.toFixed(0)}): ` +
    `difference ${d(c.difference)}, ${d(c.interval.low)} to ${d(c.interval.high)} at ${percent(c.interval.level)}; ` +
    `${c.rate} readings a second.`
  );
}

export function readings(n: number): string {
  return n === 1 ? "1 reading" : `${n} readings`;
}

function percent(level: number): string {
  return `${(level * 100).toFixed(0)} %`;
}

/** A correction is drawn by the trims that it is the sum of. */
function drawnFor(channel: string): string[] {
  const bank = /^correction-(b[12])$/.exec(channel)?.[1];
  return bank === undefined ? [channel] : [`trim-short-${bank}`, `trim-long-${bank}`];
}
