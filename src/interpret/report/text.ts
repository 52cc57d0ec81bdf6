/** Findings as text for a terminal: at most 100 columns. */
import { withinSentence } from "../../../shared/letters.ts";
import { strengthFigures, strengthText } from "../crank/strengthIn.ts";
import { clockTenths as clockText } from "../../../shared/times.ts";
import { regimeWords } from "../../../shared/ranges.ts";
import { format, isUnitId, shown, type UnitSystem } from "../../../shared/units.ts";
import type {
  Comparison,
  Counted,
  Crank,
  Findings,
  Measured,
  Outcome,
  OwnBand,
  ProfileEntry,
  Sign,
  SignRange,
  Verdict,
} from "./schema.ts";

/** Times as exact as what is said of them. */
export { clockText };

export const textWidth = 100;

export const verdictWords: Readonly<Record<Verdict, string>> = {
  outside: "outside the range",
  near: "near the edge",
  "cannot-tell": "cannot tell",
  within: "within the range",
};

export const outcomeWords: Readonly<Record<Outcome, string>> = {
  "nothing-happened": "nothing happened",
  "no-turn": "did not turn",
  "turned-without-signal": "no speed seen",
  "turned-slowly": "turned slowly",
  "turned-and-did-not-fire": "turned, did not fire",
  "fired-and-died": "fired and died",
  started: "started",
  open: "not seen to the end",
};

/** Whole words on lines of at most `textWidth` columns; a word that is longer is cut. */
export function wrap(text: string, indent = 0, hanging = indent): string[] {
  const lines: string[] = [];
  let line = " ".repeat(indent);
  let empty = true;
  const room = textWidth - hanging;
  const words = text.split(/\s+/).flatMap((w) => {
    const parts: string[] = [];
    for (let i = 0; i < w.length; i += room) parts.push(w.slice(i, i + room));
    return parts;
  });
  for (const word of words) {
    if (!empty && line.length + 1 + word.length > textWidth) {
      lines.push(line);
      line = " ".repeat(hanging);
      empty = true;
    }
    line += empty ? word : ` ${word}`;
    empty = false;
  }
  if (!empty) lines.push(line);
  return lines;
}

/** `full` also prints what is within its range, and the checks for everything. */
export function findingsText(findings: Findings, system: UnitSystem, full = false): string {
  const lines = [
    ...regimeLines(findings),
    ...crankLines(findings.cranks, system),
    ...strengthLines(findings),
    ...comparisonLines(findings),
    ...signLines(findings.signs, system, full),
    ...profileLines(findings.profile ?? [], full),
    ...replacedLines(findings),
  ];
  return `${lines.join("\n")}\n`;
}

function regimeLines(findings: Findings): string[] {
  const seconds = new Map<string, number>();
  for (const { from, to, regime } of findings.regimes) {
    const word = regimeWords[regime];
    seconds.set(word, (seconds.get(word) ?? 0) + (to - from) / 1000);
  }
  const parts = [...seconds].map(([word, s]) => `${word} ${s.toFixed(s < 10 ? 1 : 0)} s`);
  return parts.length === 0 ? [] : ["What the engine did", ...wrap(parts.join(", "), 2), ""];
}

function strengthLines({ strength }: Findings): string[] {
  if (strength === undefined) return [];
  return [
    "Relative compression",
    ...wrap(`${strengthText(strength)}.`, 2),
    ...wrap(strengthFigures(strength), 4),
    "",
  ];
}

function crankLines(cranks: readonly Crank[], system: UnitSystem): string[] {
  if (cranks.length === 0) return [];
  const head = ["", "at", "rest", "lowest", "mean", "speed", "rpm/V", "pull-down", "fired", "ended"];
  const rows = cranks.map((c) => [
    String(c.number),
    clockText(c.from),
    counted(c.restVolts, "V", system),
    counted(c.lowestVolts, "V", system),
    counted(c.meanVolts, "V", system),
    counted(c.speed, "rpm", system),
    c.speedPerVolt === null ? "–" : c.speedPerVolt.value.toFixed(1),
    counted(c.pullDown, "kPa", system),
    c.fireS === null ? "–" : `${c.fireS.value.toFixed(1)} s`,
    outcomeWords[c.outcome],
  ]);
  return ["Cranks (number of readings in brackets)", ...crankTable(head, rows), ""];
}

function counted(figure: Counted, unit: string, system: UnitSystem): string {
  if (figure === null) return "–";
  return `${figureText(figure.value, unit, system)} (${figure.samples})`;
}

export function figureText(number: number, unit: string, system: UnitSystem): string {
  return isUnitId(unit) ? format(number, unit, system) : `${number} ${unit}`;
}

/** How each ended stands below its figures where the line has no room for it. */
function crankTable(head: readonly string[], rows: readonly (readonly string[])[]): string[] {
  const lines = table([head, ...rows]);
  if (lines.every((line) => line.length <= textWidth)) return lines;
  return table([head.slice(0, -1), ...rows.map((row) => row.slice(0, -1))])
    .map((line) => line.slice(0, textWidth))
    .flatMap((line, i) => (i === 0 ? [line] : [line, `   ended: ${rows[i - 1]?.at(-1) ?? ""}`]));
}

/** Columns as wide as they must be. */
function table(rows: readonly (readonly string[])[]): string[] {
  const widths = (rows[0] ?? []).map((_, j) => Math.max(...rows.map((r) => r[j]?.length ?? 0)));
  return rows.map((row) =>
    row
      .map((cell, j) => cell.padEnd(widths[j] ?? 0))
      .join("  ")
      .trimEnd(),
  );
}

function comparisonLines(findings: Findings): string[] {
  const { comparisons, balance, wiggles = [] } = findings;
  if (comparisons.length === 0 && balance === null && wiggles.length === 0) return [];
  const lines = ["Marked intervals against the time around them"];
  const byMark = new Map<string, Comparison[]>();
  for (const c of comparisons) {
    const list = byMark.get(c.markId) ?? [];
    list.push(c);
    byMark.set(c.markId, list);
  }
  for (const list of byMark.values()) {
    const first = list[0];
    if (first === undefined) continue;
    lines.push(
      ...wrap(`${clockText(first.during.from)} to ${clockText(first.during.to)}  ${first.label}`, 2, 4),
    );
    for (const c of list) lines.push(...wrap(c.words, 4, 6));
  }
  for (const { during, label, words } of wiggles) {
    lines.push(...wrap(`${clockText(during.from)} to ${clockText(during.to)}  ${label}`, 2, 4));
    lines.push(...wrap(words, 4, 6));
  }
  if (balance !== null) lines.push(...wrap(`Cylinder balance: ${balance.words}`, 2, 4));
  return [...lines, ""];
}

function signLines(signs: readonly Sign[], system: UnitSystem, full: boolean): string[] {
  const shownSigns = signs.filter((s) => full || s.verdict === "outside" || s.verdict === "near");
  const lines = ["Signs"];
  if (shownSigns.length === 0) lines.push(...wrap("Nothing outside its range or near the edge.", 2));
  for (const sign of shownSigns) lines.push(...signText(sign, system, full));
  if (!full) {
    const within = signs.filter((s) => s.verdict === "within").map((s) => withinSentence(s.title));
    const untold = signs.filter((s) => s.verdict === "cannot-tell");
    if (within.length > 0) lines.push(...wrap(`Within: ${[...new Set(within)].join(", ")}.`, 2, 4));
    for (const sign of untold)
      lines.push(...wrap(`Cannot tell: ${withinSentence(sign.title)}. ${sign.note ?? ""}`, 2, 4));
  }
  return [...lines, ""];
}

function signText(sign: Sign, system: UnitSystem, full: boolean): string[] {
  const lines = wrap(`${verdictWords[sign.verdict].toUpperCase()}: ${sign.title} [${sign.id}]`, 2, 4);
  lines.push(...wrap(sign.meaning, 4));
  if (sign.measured !== null) lines.push(...wrap(measuredText(sign.measured, system), 4, 6));
  if (sign.range !== null) lines.push(...wrap(rangeText(sign.range, system), 4, 6));
  if (sign.trade !== undefined) lines.push(...wrap(`The trade's: ${rangeText(sign.trade, system)}`, 4, 6));
  if (sign.own !== undefined) lines.push(...wrap(ownText(sign.own, system), 4, 6));
  if (sign.note !== undefined) lines.push(...wrap(sign.note, 4, 6));
  const times = sign.windows.slice(0, 3).map((w) => `${clockText(w.from)} to ${clockText(w.to)}`);
  if (times.length > 0) lines.push(...wrap(`When: ${times.join("; ")}.`, 4, 6));
  if (sign.looksLike.length > 0)
    lines.push(...wrap(`Could also be: ${sign.looksLike.map((l) => l.text).join("; ")}.`, 4, 6));
  const checks = full ? sign.checks : sign.checks.slice(0, 3);
  for (const check of checks) {
    const caution = check.caution === undefined ? "" : ` Caution: ${check.caution}`;
    lines.push(...wrap(`- ${check.text}${caution}`, 4, 6));
  }
  return lines;
}

/** This vehicle's own band: "its own 760 to 778 rpm, warm idle speed 771 rpm here. This vehicle, 4 recordings." */
export function ownText(own: OwnBand, system: UnitSystem): string {
  const of = (v: number): string => figureText(v, own.unit, system);
  return `Its own ${of(own.low)} to ${of(own.high)}; ${own.of} ${of(own.value)} here. ${own.words}`;
}

/** Readings a second, as far as anybody needs them. */
export const shortRate = (perSecond: number): string =>
  String(perSecond >= 10 ? Math.round(perSecond) : Number(perSecond.toPrecision(2)));

export function measuredText(measured: Measured, system: UnitSystem, rateOf = shortRate): string {
  const figure = measured.value === null ? "" : `${figureText(measured.value, measured.unit, system)}: `;
  const rate = measured.rate === null ? "" : `, ${rateOf(measured.rate)} a second`;
  const worth = measured.effective === undefined ? "" : `, effectively ${measured.effective.toFixed(0)}`;
  const interval =
    measured.interval === undefined
      ? ""
      : `, ${figureText(measured.interval.low, measured.unit, system)} to ${figureText(measured.interval.high, measured.unit, system)} at ${(measured.interval.level * 100).toFixed(0)} %`;
  const readings = measured.samples === 1 ? "1 reading" : `${measured.samples} readings`;
  return `Measured ${figure}${measured.what}${interval} (${readings}${rate}${worth}).`;
}

export function rangeText(range: SignRange, system: UnitSystem): string {
  const edge = (v: number): string =>
    isUnitId(range.unit)
      ? shown(v, range.unit, system).value.toFixed(shown(v, range.unit, system).digits)
      : String(v);
  const unit = isUnitId(range.unit) ? ` ${shown(0, range.unit, system).symbol}`.trimEnd() : ` ${range.unit}`;
  const span =
    range.low === null
      ? `up to ${range.high === null ? "any" : edge(range.high)}`
      : range.high === null
        ? `from ${edge(range.low)}`
        : `${edge(range.low)} to ${edge(range.high)}`;
  const own = range.replaced ? " (this vehicle's own)" : "";
  return `Range ${span}${unit}${own}: ${range.source}.`;
}

const knownWords: Readonly<Record<ProfileEntry["from"], string>> = {
  told: "told",
  module: "told by the module",
  seen: "seen in the readings",
  unknown: "unknown",
};

/** What is unknown only where everything is printed. */
function profileLines(profile: readonly ProfileEntry[], full: boolean): string[] {
  const lines = profile
    .filter((p) => full || p.value !== null)
    .flatMap(({ name, value: known, from, sure, why, against }) => {
      const likely = sure === "likely" ? ", likely" : "";
      const said = known === null ? "unknown" : `${known}${likely} (${knownWords[from]})`;
      const but = against === undefined ? "" : `; but ${against}`;
      return wrap(`${name}: ${said}: ${why}${but}`, 2, 4);
    });
  return lines.length === 0 ? [] : ["Kind of vehicle", ...lines, ""];
}

function replacedLines(findings: Findings): string[] {
  if (findings.replaced.length === 0) return [];
  return ["Replaced by the vehicle's facts", ...findings.replaced.flatMap((r) => wrap(r.words, 2, 4)), ""];
}
