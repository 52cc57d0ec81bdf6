/**
 * The one sentence that a person could shout across the bay, with its figures under it: what is seen, then the cause
 * where one is likely, shown or proved. Pure.
 */
import { capital, withinSentence } from "../../../shared/letters.ts";
import { isUnitId, shown, type UnitSystem } from "../../../shared/units.ts";
import type { Advice, CauseAdvice } from "../causes/adviceSchema.ts";
import { headlineRows } from "../tables/headlines.ts";
import { failedOutcomes, type Crank, type Findings, type Sign } from "./schema.ts";

export interface Headline {
  readonly words: string;
  /** What the words rest on; may be empty. */
  readonly figures: string;
}

type Seen = Pick<Findings, "cranks" | "signs" | "codes" | "regimes">;
type Weighed = Pick<Advice, "causes" | "cylinders">;

const rankOf: ReadonlyMap<string, number> = new Map(headlineRows.map(({ id }, i) => [id, i]));
const rowOf: ReadonlyMap<string, (typeof headlineRows)[number]> = new Map(
  headlineRows.map((row) => [row.id, row]),
);

/** `advice`: null where none was weighed. */
export function headlineOf(seen: Seen, advice: Weighed | null, system: UnitSystem = "metric"): Headline {
  const cause = advice === null ? null : firmCause(advice);
  const outside = ranked(seen.signs, "outside", cause?.row ?? null);
  const crank = crankWords(seen.cranks, outside, system);
  const first = outside[0];
  const said = crank ?? (first === undefined ? null : signWords(first, seen, system));
  if (said === null && cause === null) return soundHeadline(seen, system);
  const words = [said, cause === null ? null : causeWords(cause, seen.signs, advice)].filter(
    (w) => w !== null,
  );
  return {
    words: capital(words.join("; ")),
    figures: figuresOf(
      seen,
      { others: crank === null ? outside.slice(1) : outside, said: said ?? "" },
      system,
    ),
  };
}

interface Firm {
  readonly row: CauseAdvice;
  readonly lead: string;
}

/** The first cause, where it may be named without misleading. */
function firmCause({ causes }: Weighed): Firm | null {
  const row = causes[0];
  if (row === undefined || row.proof.state === "cleared") return null;
  if (row.proof.state === "proved" || row.proof.state === "shown") return { row, lead: row.proof.state };
  const { word } = row.standing;
  if (word === "nearly certain") return { row, lead: "almost certainly" };
  return word === "likely" ? { row, lead: "likely cause" } : null;
}

/** With the cylinder or bank that the evidence names in place of "one". */
function causeWords({ row, lead }: Firm, signs: readonly Sign[], advice: Weighed | null): string {
  const [cylinder, ...more] = advice?.cylinders ?? [];
  const banks = [...new Set(supporting(row, signs).flatMap((s) => s.bank ?? []))];
  let name = withinSentence(row.name);
  if (cylinder !== undefined && more.length === 0)
    name = name.replace("one cylinder", `cylinder ${cylinder}`);
  if (banks.length === 1) name = name.replace("one bank", `bank ${banks[0]}`);
  return `${lead}: ${name}`;
}

function supporting(row: CauseAdvice, signs: readonly Sign[]): Sign[] {
  const of = new Set(row.for.map((e) => e.of));
  return signs.filter((s) => of.has(s.key));
}

/** What speaks for the named cause first, then what explains most of the others, then the greater figure. */
function ranked(signs: readonly Sign[], verdict: Sign["verdict"], cause: CauseAdvice | null): Sign[] {
  const pleads = new Set((cause?.for ?? []).map((e) => e.of));
  const rank = (s: Sign): number => (pleads.has(s.key) ? 0 : 1000) + (rankOf.get(s.id) ?? 999);
  const size = (s: Sign): number => Math.abs(s.measured?.value ?? 0);
  return signs.filter((s) => s.verdict === verdict).sort((a, b) => rank(a) - rank(b) || size(b) - size(a));
}

/** How the cranks ended, where the last one failed, or where earlier ones did and nothing else comes first; else null. */
function crankWords(cranks: readonly Crank[], outside: readonly Sign[], system: UnitSystem): string | null {
  const ended = cranks.filter((c) => c.outcome !== "open");
  const bad = ended.filter((c) => failedOutcomes.has(c.outcome));
  const last = ended.at(-1);
  if (last === undefined || bad.length === 0) return null;
  if (!failedOutcomes.has(last.outcome)) {
    const elsewhere = outside[0] !== undefined && outside[0].family !== "crank";
    if (elsewhere) return null;
    return `Did not start in ${count(bad.length)}, then started`;
  }
  const drops = outside.some((s) => s.id === "crank.drop-outs");
  const told = oneCrank(last, drops, system);
  const alike = bad.filter((c) => c.outcome === last.outcome).length;
  return alike > 1 ? `${told}, ${alike} cranks alike` : told;
}

const count = (n: number): string => (n === 1 ? "1 crank" : `${n} cranks`);

function oneCrank(crank: Crank, drops: boolean, system: UnitSystem): string {
  const speed = crank.speed === null ? "" : ` at ${figure(crank.speed.value, "rpm", system)}`;
  const lowest = crank.lowestVolts === null ? "" : figure(crank.lowestVolts.value, "V", system);
  switch (crank.outcome) {
    case "turned-and-did-not-fire":
      return drops ? "RPM signal drops out while cranking, does not fire" : `Turns${speed}, does not fire`;
    case "turned-without-signal":
      return "Starter draws current, no RPM signal";
    case "turned-slowly":
      return `Turns too slowly${speed}${lowest === "" ? "" : `, lowest ${lowest}`}`;
    case "no-turn":
      return `Does not turn${lowest === "" ? "" : `: supply falls to ${lowest}`}`;
    case "fired-and-died":
      return `Fires and dies${crank.ranS === null ? "" : ` after ${crank.ranS.toFixed(1)} s`}`;
    case "nothing-happened":
      return "Key to start, and nothing happens";
    case "started":
    case "open":
      return "Starts";
  }
}

function signWords(sign: Sign, { codes, signs }: Seen, system: UnitSystem): string {
  const row = rowOf.get(sign.id);
  if (row === undefined) return sign.title;
  // Near an edge nothing is too much yet.
  const side = sign.verdict === "outside" ? sign.side : undefined;
  const words = (side === undefined ? undefined : row[side]) ?? row.says;
  const { measured, cylinder } = sign;
  const bank = onEachBank(sign, signs) ? null : sign.bank;
  const code = codes.find((c) => measured?.what.includes(c.code) === true);
  const value = measured?.value ?? null;
  if (value === null && words.includes("{value}")) return sign.title;
  const of = bank === null ? "each bank" : bank === undefined ? "the engine" : `bank ${bank}`;
  const who = cylinder === undefined ? "the engine" : `cylinder ${cylinder}`;
  return words
    .replace("{value}", value === null ? "" : figure(value, measured?.unit ?? "", system))
    .replace("{Subject}", capital(of))
    .replace("{subject}", of)
    .replace("{Misfiring}", capital(who))
    .replace("Cylinder {cylinder}", capital(who))
    .replace("{code}", code === undefined ? (measured?.what ?? sign.title) : `${code.code} ${code.kind}`);
}

/** As many digits as one shouts. */
function figure(value: number, unit: string, system: UnitSystem): string {
  if (!isUnitId(unit)) return `${round(value, false)} ${unit}`;
  const { value: number, symbol } = shown(value, unit, system);
  return `${round(number, unit === "V")}${symbol === "" ? "" : ` ${symbol}`}`;
}

function round(value: number, volts: boolean): string {
  const size = Math.abs(value);
  return value.toFixed(volts ? 1 : size >= 10 ? 0 : size >= 1 ? 1 : 2);
}

const mostFigures = 4;

interface Beside {
  readonly others: readonly Sign[];
  /** What the words say already is not said twice. */
  readonly said: string;
}

function figuresOf(seen: Seen, { others, said }: Beside, system: UnitSystem): string {
  const parts: string[] = [];
  const ended = seen.cranks.filter((c) => c.outcome !== "open");
  const last = ended.at(-1);
  if (last !== undefined) {
    const told = [
      last.speed === null ? null : figure(last.speed.value, "rpm", system),
      last.lowestVolts === null ? null : `lowest ${figure(last.lowestVolts.value, "V", system)}`,
    ].filter((t) => t !== null);
    parts.push([count(ended.length), ...told].join(", "));
  }
  const stored = [...seen.codes].sort((a, b) => Number(b.kind === "pending") - Number(a.kind === "pending"));
  const codes = [...new Map(stored.map((c) => [c.code, c])).values()].filter((c) => !said.includes(c.code));
  if (codes.length > 0) {
    const named = codes.slice(0, 2).map((c) => `${c.code} ${c.kind}`);
    parts.push(codes.length > 2 ? `${named.join(", ")} and ${codes.length - 2} more` : named.join(", "));
  }
  const rest = new Map(
    others
      .filter((s) => !s.id.endsWith(".codes") && s.family !== "crank")
      .map((s) => [`${s.id} ${s.bank ?? ""}`, signWords(s, seen, system)] as const),
  );
  const told = withinSentence(said).replace(digits, "");
  const words = new Set([...rest.values()].map(withinSentence));
  parts.push(...[...words].filter((w) => w.replace(digits, "") !== told));
  return parts.slice(0, mostFigures).join(" · ");
}

/** Nothing is outside its range: what was not heard goes with it, or "sound" would say too much. */
function soundHeadline(seen: Seen, system: UnitSystem): Headline {
  const judged = seen.signs.filter((s) => s.verdict === "within" || s.verdict === "near");
  if (judged.length === 0 && seen.cranks.length === 0) return { words: "Nothing to judge yet", figures: "" };
  const near = ranked(seen.signs, "near", null);
  const missing = notHeard(seen);
  const lead = near.length === 0 ? "Nothing wrong in what was heard" : "Nothing is outside its range";
  const words = missing.length === 0 ? lead : `${lead}; not heard yet: ${missing.join(", ")}`;
  const edges = [...new Set(near.map((s) => withinSentence(signWords(s, seen, system))))];
  return {
    words,
    figures: edges.length === 0 ? "" : `near the edge: ${edges.slice(0, mostFigures).join(" · ")}`,
  };
}

function notHeard({ cranks, regimes, signs }: Seen): string[] {
  const heard = new Set(regimes.map((r) => r.regime));
  const codes = signs.some((s) => s.id.endsWith(".codes") && s.verdict !== "cannot-tell");
  return [
    ...(cranks.length === 0 ? ["a crank"] : []),
    ...(heard.has("idle-warm") ? [] : ["warm idle"]),
    ...(heard.has("held") || heard.has("cruise") || heard.has("load") ? [] : ["load"]),
    ...(codes ? [] : ["codes"]),
  ];
}

/** Figures apart, what both banks have is said once. */
const digits = /[\d.]+/g;

/** Both banks have it, about as much. */
function onEachBank(sign: Sign, signs: readonly Sign[]): boolean {
  const same = signs.filter((s) => s.id === sign.id && s.verdict === sign.verdict && s.bank !== undefined);
  if (new Set(same.map((s) => s.bank)).size < 2) return false;
  const sizes = same.map((s) => Math.abs(s.measured?.value ?? 0));
  return Math.min(...sizes) >= 0.75 * Math.max(...sizes);
}
