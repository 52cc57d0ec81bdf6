/** What a recording answers by itself: a marked interval's measured effect becomes the outcome of a hand check. */
import type { Comparison, Crank, Findings, Move } from "../report/schema.ts";
import { everyOnePulls } from "../running/balance.ts";
import type { HandCheckId } from "./tables/checks.ts";
import { labels, movedChecks } from "./tables/labels.ts";

export interface MarkedResult {
  readonly check: HandCheckId;
  /** null: cannot tell, with the reason in `words`. */
  readonly outcome: string | null;
  readonly words: string;
  readonly marks: readonly string[];
  /** Milliseconds since the recording's start. */
  readonly from: number;
}

/**
 * Effects smaller than these mean nothing, even when they are sure: roughness in percent points of speed, speed in
 * rpm, trims in percent points. Estimates, common practice.
 */
export const leastEffect = { roughness: 0.5, speed: 25, trim: 3 } as const;

const crankPlug = /\bcrank(?:shaft)?\b/i;

/** The results of all marked intervals whose labels name a check. */
export function markedResults(findings: Findings): MarkedResult[] {
  const out: MarkedResult[] = [];
  const byMark = new Map<string, Comparison[]>();
  for (const c of findings.comparisons) byMark.set(c.markId, [...(byMark.get(c.markId) ?? []), c]);
  for (const [mark, list] of byMark) {
    const label = list[0]?.label ?? "";
    const row = labels.find((l) => l.label.test(label) && l.not?.test(label) !== true);
    if (row === undefined) continue;
    const from = list[0]?.during.from ?? 0;
    const tried = row.cranking === undefined ? null : attemptsOf(row.cranking, list, findings.cranks);
    if (tried !== null) {
      out.push({ ...tried, marks: [mark], from });
      continue;
    }
    out.push({ check: row.check, ...effectOf(row.check, list), marks: [mark], from });
  }
  if (findings.balance !== null) {
    const { dead, words } = findings.balance;
    const pulls = everyOnePulls(findings.balance);
    out.push({
      check: "unplug-cylinder",
      outcome: dead !== null ? "one" : pulls ? "even" : null,
      words,
      marks: [],
      from: 0,
    });
  }
  for (const wiggle of findings.wiggles ?? []) {
    // The check is of the crank sensor's plug: another place answers none of the table's.
    if (!crankPlug.test(wiggle.label)) continue;
    const speed = wiggle.drops.some(({ kinds }) => kinds.includes("zero"));
    const outcome =
      wiggle.says === "nothing" ? "same" : wiggle.says === "comes-with-it" && speed ? "drops" : null;
    const { words, markId, during } = wiggle;
    out.push({ check: "plug-wiggle", outcome, words, marks: [markId], from: during.from });
  }
  const moves = findings.moves ?? [];
  moves.forEach((move, i) => {
    const check = movedChecks[move.part][move.back ? "back" : "moved"];
    if (check === null) return;
    const before = moves.slice(0, i).findLast((m) => m.part === move.part && !m.back);
    const outcome = move.back ? movedBack(move, before) : followed(move);
    out.push({ check, outcome, words: moveWords(move), marks: [move.markId], from: move.at });
  });
  return out;
}

/** Whether the trouble went along to the cylinder that the part went to. */
function followed({ cylinders, before, after }: Move): string | null {
  const was = before?.cylinder ?? null;
  if (was === null || after === null) return null;
  // Of two that were exchanged, one must be the one that did not pull; of one named, the part came from elsewhere.
  if (cylinders.length > 1 ? !cylinders.includes(was) : cylinders[0] === was) return null;
  if (after.cylinder === was) return "stays";
  return after.cylinder !== null && cylinders.includes(after.cylinder) ? "moves" : null;
}

function movedBack(move: Move, first: Move | undefined): string | null {
  if (move.after === null || first === undefined || followed(first) !== "moves") return null;
  if (move.after.cylinder === null) return "gone";
  return move.after.cylinder === first.before?.cylinder ? "returns" : null;
}

function moveWords({ label, before, after }: Move): string {
  const told = (seen: Move["before"]): string =>
    seen === null
      ? "it is not known which cylinder stood out"
      : `${seen.cylinder === null ? "no cylinder" : `cylinder ${seen.cylinder}`} stood out (${seen.by})`;
  return `"${label}": before it ${told(before)}, after it ${told(after)}.`;
}

type Tried = Pick<MarkedResult, "check" | "outcome" | "words">;

/**
 * What the starter's attempts came to while it lasted, against those before it. Null: there were none while it lasted.
 * Attempts that started before leave it open: then it is not known what this did.
 */
function attemptsOf(
  { check, starts, same }: NonNullable<(typeof labels)[number]["cranking"]>,
  list: readonly Comparison[],
  cranks: readonly Crank[],
): Tried | null {
  const during = list[0]?.during;
  if (during === undefined) return null;
  const ended = cranks.filter((c) => c.outcome !== "open");
  const now = ended.filter((c) => c.from < during.to && c.to > during.from);
  const before = ended.filter((c) => c.to <= during.from);
  if (now.length === 0) return null;
  // Fuel by hand may fire it without keeping it alive; that says as much.
  const ends: readonly string[] = check === "add-fuel" ? ["started", "fired-and-died"] : ["started"];
  const started = (of: readonly Crank[]): number => of.filter((c) => ends.includes(c.outcome)).length;
  const did = check === "add-fuel" ? "fired" : "started";
  const words = `${started(before)} of ${before.length} cranks ${did} before it, ${started(now)} of ${now.length} during it.`;
  if (before.length === 0 || started(before) > 0) return { check, outcome: null, words };
  return { check, outcome: started(now) > 0 ? starts : same, words };
}

type Said = "higher" | "lower" | "none" | "cannot-tell";

/**
 * A change is one when its interval excludes zero and its size matters. "None" needs more than an interval across
 * zero: the interval must exclude a change that matters.
 */
function said(list: readonly Comparison[], channel: RegExp, of: Comparison["of"], least: number): Said {
  const found = list.filter((c) => channel.test(c.channel) && c.of === of && c.says !== "cannot-tell");
  const changed = found.find((c) => c.says !== "no-change-seen" && Math.abs(c.difference) >= least);
  if (changed !== undefined) return changed.difference > 0 ? "higher" : "lower";
  if (found.length === 0) return "cannot-tell";
  return found.every((c) => Math.max(Math.abs(c.interval.low), Math.abs(c.interval.high)) < 2 * least)
    ? "none"
    : "cannot-tell";
}

function effectOf(
  check: HandCheckId,
  list: readonly Comparison[],
): { outcome: string | null; words: string } {
  const rough = said(list, /^engine-speed$/, "roughness", leastEffect.roughness);
  const speed = said(list, /^engine-speed$/, "level", leastEffect.speed);
  // Both trims together: over a minute the long one takes over what the short one began.
  const both = list.some((c) => c.channel.startsWith("correction-"));
  const trim = said(list, both ? /^correction-/ : /^trim-short/, "level", leastEffect.trim);
  const words = list
    .filter(
      (c) =>
        c.of === "roughness" ||
        (both ? /^(?:engine-speed|correction-)/ : /^(?:engine-speed|trim-short)/).test(c.channel),
    )
    .map((c) => c.words)
    .join(" ");
  const sure = [rough, speed, trim].some((s) => s !== "cannot-tell");
  switch (check) {
    case "fuel-added-idle":
      // A trim that falls under added fuel is the module's answer to it, not the engine's.
      if (rough === "lower" || speed === "higher") return { outcome: "smoother", words };
      if (rough === "higher" || speed === "lower") return { outcome: "worse", words };
      return { outcome: rough === "none" && speed === "none" ? "same" : null, words };
    case "intake-sealed":
      if (trim === "lower" || rough === "lower") return { outcome: "changes", words };
      return { outcome: trim === "none" ? "same" : null, words };
    case "purge-clamp":
      if (trim === "lower" || trim === "higher") return { outcome: "changes", words };
      return { outcome: trim === "none" ? "same" : null, words };
    case "meter-unplug":
      if (rough === "lower") return { outcome: "better", words };
      return { outcome: sure && rough !== "cannot-tell" ? "same" : null, words };
    case "egr-blocked":
      if (rough === "lower" || speed === "higher") return { outcome: "better", words };
      return { outcome: rough === "none" && speed === "none" ? "same" : null, words };
    default:
      return { outcome: null, words };
  }
}
