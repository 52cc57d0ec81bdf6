/**
 * What has not been heard yet of this vehicle: captures that a person can make, what each would decide for this complaint,
 * how far it is, and why it does not count yet. Pure; the engine's own readings tick them.
 */
import type { Source } from "../folds/source.ts";
import { regimeGroup } from "../../../shared/ranges.ts";
import type { Complaint } from "../causes/types.ts";
import { withinSentence } from "../../../shared/letters.ts";
import { captures, capturesOf, type CaptureId } from "./captureOf.ts";
import { runningLimits } from "../folds/running.ts";
import { between, ownSeries } from "../folds/windows.ts";
import type { Findings } from "./schema.ts";

export interface Capture {
  readonly id: CaptureId;
  readonly title: string;
  /** What it would decide. */
  readonly decides: string;
  /** From 0 to 1; 1 is heard. */
  readonly part: number;
  /** How far it is, or why it does not count yet. */
  readonly words: string;
  /** Titles of signs that cannot tell yet, and that it would judge. */
  readonly tells: readonly string[];
  /** What it would save on average, in the person's money; null where nothing is complained of. */
  readonly saves: number | null;
}

interface Row {
  readonly title: string;
  readonly decides: string;
}

/** Lengths are those that the signs ask for (common practice). */
const rows: Readonly<Record<CaptureId, Row>> = {
  "key-on": { title: "key on, 10 s", decides: "battery at rest, sensors against each other" },
  crank: { title: "crank, 3 s", decides: "battery and starter, speed signal, pull-down" },
  start: { title: "start", decides: "time to fire, whether it keeps running" },
  "idle-cold": { title: "idle cold, 30 s", decides: "idle speed and roughness cold" },
  warm: { title: "warm", decides: "thermostat and coolant sensor; trims count when warm" },
  "idle-warm": { title: "idle warm, 30 s", decides: "trims at idle: unmetered air, roughness, charging" },
  held: { title: "2500 rpm, 30 s", decides: "trims above idle: air leak apart from fuel delivery" },
  snap: {
    title: "snap the throttle",
    decides: "whether air flow, manifold and mixture follow at once: seen on the chart, not judged",
  },
  pull: {
    title: "pull under load, 5 s",
    decides: "delivery and breathing at high flow; a second person reads",
  },
  strength: {
    title: "relative compression, 3 cranks",
    decides:
      "whether one cylinder is weak, or all, before you screw a gauge in; fuel disabled as the manual says",
  },
  codes: {
    title: "codes asked",
    decides: "stored and pending codes, freeze frame, readiness: before anything is cleared",
  },
};

/** Which tell most for a complaint, most first; the others follow in the order of a visit. */
const first: Readonly<Partial<Record<Complaint, readonly CaptureId[]>>> = {
  "no-start": ["key-on", "crank"],
  "cranks-slowly": ["key-on", "crank"],
  "starts-and-dies": ["start", "crank", "idle-cold"],
  rough: ["idle-warm", "held", "idle-cold", "strength"],
  lean: ["warm", "idle-warm", "held", "pull"],
  rich: ["warm", "idle-warm", "held"],
  "no-power": ["pull", "held", "warm"],
  "lamp-on": ["codes"],
  "not-charging": ["key-on", "idle-warm", "held"],
};

/** An engine that does not start cannot do these. */
const runs: ReadonlySet<CaptureId> = new Set<CaptureId>([
  "idle-cold",
  "warm",
  "idle-warm",
  "held",
  "snap",
  "pull",
]);

/** `worths`: what each would save, as the advice says (`captures`). */
export function stillToHear(
  source: Pick<Source, "channels" | "lastTime">,
  findings: Pick<Findings, "regimes" | "cranks" | "strength"> & Partial<Pick<Findings, "signs">>,
  complaints: readonly Complaint[] = [],
  worths: readonly { readonly id: string; readonly saves: number }[] = [],
): Capture[] {
  const seconds = (...regimes: readonly string[]): number =>
    findings.regimes
      .filter(({ regime }) => regimes.includes(regime))
      .reduce((sum, { from, to }) => sum + (to - from) / 1000, 0);
  const of = (have: number, need: number): Pick<Capture, "part" | "words"> => ({
    part: Math.min(1, have / need),
    words: have >= need ? "heard" : `${Math.floor(have)} of ${need} s`,
  });
  const celsius = ownSeries(source.channels, "coolant");
  const coolant = celsius?.at(source.lastTime)?.value ?? Number.NaN;
  const isWarm = coolant >= runningLimits.warm || seconds("idle-warm") > 0;
  const cold = Number.isNaN(coolant)
    ? "coolant is not read"
    : `coolant ${coolant.toFixed(0)} of ${runningLimits.warm} °C`;
  const cranked = Math.max(0, ...findings.cranks.map((c) => (c.unseen ? 0 : c.lengthS)));
  const started = findings.cranks.some((c) => c.outcome === "started") || seconds("idle-warm", "running") > 5;
  const idleWarm = of(seconds("idle-warm"), 30);
  const told: Readonly<Record<CaptureId, Pick<Capture, "part" | "words">>> = {
    "key-on": of(seconds("key-on"), 10),
    // One that fires sooner was cranked long enough.
    crank: started ? { part: 1, words: "heard" } : of(cranked, 3),
    start: { part: started ? 1 : 0, words: started ? "heard" : "not yet" },
    "idle-cold":
      isWarm && seconds("idle-cold") < 30
        ? { part: 0, words: "it is warm: another day" }
        : of(seconds("idle-cold"), 30),
    warm: {
      part: isWarm ? 1 : Math.max(0, Math.min(0.99, coolant / runningLimits.warm)) || 0,
      words: isWarm ? "heard" : cold,
    },
    "idle-warm": idleWarm.part === 0 && !isWarm ? { part: 0, words: `${cold}: not warm yet` } : idleWarm,
    held: of(seconds("held"), 30),
    snap: snapped(source, findings.regimes),
    pull: of(seconds("load"), 5),
    strength: strengthHeard(findings.strength),
    codes: codesHeard(findings.signs ?? []),
  };
  const lead = [...new Set(complaints.flatMap((c) => first[c] ?? []))];
  const stands = complaints.includes("no-start") && !started;
  const savesOf = (id: CaptureId): number | null => worths.find((w) => w.id === id)?.saves ?? null;
  const untold = findings.signs?.filter(({ verdict }) => verdict === "cannot-tell") ?? [];
  const list = [...lead, ...captures.filter((id) => !lead.includes(id))]
    .filter((id) => !(stands && runs.has(id)))
    .map((id): Capture => ({ id, ...rows[id], ...told[id], tells: [], saves: savesOf(id) }));
  // What saves most first, as any check; where none saves anything, by the complaint.
  list.sort((a, b) => (b.saves ?? 0) - (a.saves ?? 0));
  const open = new Set(list.filter(({ part }) => part < 1).map(({ id }) => id));
  const captureFor = new Map(untold.map((s) => [s, capturesOf(s.id).find((id) => open.has(id))]));
  return list.map((capture) => {
    const titles = untold.filter((s) => captureFor.get(s) === capture.id).map(({ title }) => title);
    return { ...capture, tells: [...new Set(titles)] };
  });
}

/** The capture that would judge a sign that cannot tell, as it stands in the list; undefined where none would. */
export const captureFor = (
  heard: readonly Capture[],
  sign: { readonly title: string },
): Capture | undefined => heard.find(({ tells }) => tells.includes(sign.title));

/** A throttle that is snapped open raises the speed so much, so fast (common practice), milliseconds. */
const snapLimits = { rpm: 1500, withinMs: 2000, beforeMs: 1000, behindMs: 3000 } as const;

/** Looked for where an idle ends, while it stands. */
function snapped(
  { channels }: Pick<Source, "channels">,
  regimes: Findings["regimes"],
): Pick<Capture, "part" | "words"> {
  const speed = ownSeries(channels, "engine-speed");
  const road = ownSeries(channels, "vehicle-speed");
  const seen = regimes.some(({ regime, to }) => {
    if ((regimeGroup[regime] ?? regime) !== "idle") return false;
    const [from, until] = [to - snapLimits.beforeMs, to + snapLimits.behindMs];
    if (between(road, from, until).values.some((v) => v > 3)) return false;
    const { times, values } = between(speed, from, until);
    return values.some((v, j) =>
      values
        .slice(0, j)
        .some(
          (low, i) => v - low >= snapLimits.rpm && (times[j] ?? 0) - (times[i] ?? 0) <= snapLimits.withinMs,
        ),
    );
  });
  return seen
    ? { part: 1, words: "heard" }
    : { part: 0, words: "not yet: from idle, standing, open and let go" };
}

function strengthHeard(strength: Findings["strength"]): Pick<Capture, "part" | "words"> {
  if (strength === undefined) return { part: 0, words: "not yet" };
  if (strength.verdict !== "cannot-tell") return { part: 1, words: "heard" };
  return { part: 0, words: strength.why };
}

/** Signs of codes are judged once the modules were asked. */
function codesHeard(signs: Findings["signs"]): Pick<Capture, "part" | "words"> {
  const asked = signs.some(({ id, verdict }) => id.endsWith(".codes") && verdict !== "cannot-tell");
  return asked ? { part: 1, words: "heard" } : { part: 0, words: "not asked yet" };
}

/** One line for each that is not heard, in order; empty when all are. */
export function stillToHearLines(heard: readonly Capture[]): string[] {
  return heard
    .filter(({ part }) => part < 1)
    .map(({ title, words, decides, tells, saves }) => {
      const worth = saves === null || saves <= 0 ? "" : `; saves about ${saves.toFixed(0)} on average`;
      const signs =
        tells.length === 0 ? "" : `. Cannot tell without it: ${tells.map(withinSentence).join(", ")}`;
      return `${title}: ${words} (${decides}${worth})${signs}`;
    });
}
