/**
 * What has not been heard yet of this vehicle: captures that a person can make, what each would decide for this complaint,
 * how far it is, and why it does not count yet. Pure; the engine's own readings tick them.
 */
import type { Source } from "../folds/source.ts";
import type { Complaint } from "../causes/types.ts";
import { runningLimits } from "../folds/running.ts";
import { ownSeries } from "../folds/windows.ts";
import type { Findings } from "./schema.ts";

export const captures = [
  "key-on",
  "crank",
  "start",
  "idle-cold",
  "warm",
  "idle-warm",
  "held",
  "pull",
  "strength",
  "codes",
] as const;
export type CaptureId = (typeof captures)[number];

export interface Capture {
  readonly id: CaptureId;
  readonly title: string;
  /** What it would decide. */
  readonly decides: string;
  /** From 0 to 1; 1 is heard. */
  readonly part: number;
  /** How far it is, or why it does not count yet. */
  readonly words: string;
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
  pull: {
    title: "pull under load, 5 s",
    decides: "delivery and breathing at high flow; a second person reads",
  },
  strength: {
    title: "cylinder strength, 3 cranks",
    decides: "one cylinder weak, or all, before a gauge is screwed in; fuel disabled as the manual says",
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
const runs: ReadonlySet<CaptureId> = new Set<CaptureId>(["idle-cold", "warm", "idle-warm", "held", "pull"]);

export function stillToHear(
  source: Pick<Source, "channels" | "lastTime">,
  findings: Pick<Findings, "regimes" | "cranks" | "strength"> & Partial<Pick<Findings, "signs">>,
  complaints: readonly Complaint[] = [],
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
    pull: of(seconds("load"), 5),
    strength: strengthHeard(findings.strength),
    codes: codesHeard(findings.signs ?? []),
  };
  const lead = [...new Set(complaints.flatMap((c) => first[c] ?? []))];
  const stands = complaints.includes("no-start") && !started;
  return [...lead, ...captures.filter((id) => !lead.includes(id))]
    .filter((id) => !(stands && runs.has(id)))
    .map((id) => ({ id, ...rows[id], ...told[id] }));
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
    .map(({ title, words, decides }) => `${title}: ${words} (${decides})`);
}
