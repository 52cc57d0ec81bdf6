/** What a live crank is told as: one sentence, what could still change it, how it compares, how long the starter may. */
import { supplyScale } from "../../../shared/supply.ts";
import type { LiveCrank, LiveState } from "./live.ts";

const ordinals = [
  ...["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"],
] as const;

export function crankOrdinal(number: number): string {
  const named = ordinals[number - 1];
  if (named !== undefined) return named;
  const teen = number % 100 >= 11 && number % 100 <= 13;
  return `${number}${teen ? "th" : (["th", "st", "nd", "rd"][number % 10] ?? "th")}`;
}

const volts = (v: number | null): string => (v === null ? "" : `${v.toFixed(1)} V`);
const rpm = (v: number): string => `${v.toFixed(0)} rpm`;

/** The verdict in one sentence, as large as a hand at the key can read. */
export function headline(crank: LiveCrank): string {
  const at = crank.meanVolts?.value ?? crank.volts;
  const speed = crank.speed?.value ?? crank.rpm ?? 0;
  const fired = `fired at ${(crank.firedS ?? 0).toFixed(1)} s`;
  switch (crank.state) {
    case "starter":
      return `Starter draws${at === null ? "" : `, ${volts(at)}`}`;
    case "no-speed":
      if (crank.provisional)
        return crank.deep
          ? "Starter draws heavy current, no RPM signal: the engine may be locked"
          : "Starter draws, no RPM signal";
      return `Starter drew${crank.deep ? " heavy current" : ""} for ${crank.crankedS.toFixed(1)} s, no RPM signal`;
    case "no-answer":
      if (crank.provisional) return "Starter draws, the module does not answer";
      return `Starter drew for ${crank.crankedS.toFixed(1)} s, the module did not answer`;
    case "turning":
      return [`Turning ${rpm(crank.rpm ?? speed)}`, volts(crank.volts)].filter((p) => p !== "").join(", ");
    case "slow":
      return slowly(crank, speed, at, "Turns");
    case "lost":
      return "RPM signal lost, the starter draws as before";
    case "stopped":
      if (!crank.provisional) return `Turned ${rpm(speed)}, then stopped under the starter`;
      return `Stopped turning${crank.volts === null ? "" : ` at ${volts(crank.volts)}`}, the starter still draws`;
    case "released":
      return "Starter let go";
    case "fired":
      return `Fired at ${(crank.firedS ?? 0).toFixed(1)} s, has run ${(crank.ranS ?? 0).toFixed(1)} s`;
    case "runs":
      return `Started: ${fired}, runs`;
    case "died":
      return `Fires and dies: ${fired}, ran ${(crank.ranS ?? 0).toFixed(1)} s`;
    case "no-fire":
      if (crank.slow !== null && crank.slow !== "no")
        return `${slowly(crank, speed, at, "Turned")}; did not fire`;
      return `Turned ${rpm(speed)} for ${crank.crankedS.toFixed(1)} s, did not fire`;
  }
}

function slowly(crank: LiveCrank, speed: number, at: number | null, verb: "Turns" | "Turned"): string {
  if (crank.slow === "hard-to-turn") return `${verb} slowly for its voltage: ${rpm(speed)} at ${volts(at)}`;
  if (crank.slow === "weak-supply") return `${verb} slowly, ${rpm(speed)}: the supply falls to ${volts(at)}`;
  return `${verb} slowly: ${[rpm(speed), volts(at)].filter((p) => p !== "").join(", ")}`;
}

const mayChange: Readonly<Record<LiveState, string | null>> = {
  starter: "the first RPM takes about half a second",
  "no-speed": "RPM may still come while the key is held",
  "no-answer": "an answer may still come while the key is held",
  turning: "it may still fire",
  slow: "it may still fire",
  stopped: "it may turn on while the key is held",
  lost: "it may come back while the key is held",
  released: "it may still be coasting",
  fired: "counted as started once it has run 5 s",
  runs: null,
  died: null,
  "no-fire": null,
};

/** What a later reading could still change; null when it is final. */
export function stillOpen(crank: LiveCrank): string | null {
  if (!crank.provisional) return null;
  if (crank.unheardS !== null) return `nothing heard for ${crank.unheardS.toFixed(0)} s`;
  return mayChange[crank.state];
}

/** The figures under the sentence. */
export function figuresLine(crank: LiveCrank): string {
  const parts = [`${crankOrdinal(crank.number)} crank`];
  if (crank.lowestVolts !== null) {
    const held = crank.meanVolts === null ? "" : `, mean ${volts(crank.meanVolts.value)}`;
    parts.push(`lowest ${volts(crank.lowestVolts)}${held}`);
  }
  if (crank.slow === "no" && crank.meanVolts !== null) parts.push("fast enough for its voltage");
  if (crank.pullDown !== null && crank.speed !== null)
    parts.push(`pull-down ${crank.pullDown.toFixed(0)} kPa`);
  return parts.join(" · ");
}

/** Differences that count: rpm as a share, volts of a 12 V system, seconds, kPa (common practice). */
const differs = { speed: 0.05, volts: 0.15, fire: 0.5, pullDown: 2 } as const;

/** This attempt against the one before it; null where there is nothing to hold it against. */
export function trend(crank: LiveCrank, past: readonly LiveCrank[]): string | null {
  const before = past.findLast((p) => p.number < crank.number && (p.speed !== null || p.meanVolts !== null));
  if (before === undefined) return null;
  const parts: string[] = [];
  const scale = supplyScale(crank.restVolts);
  const few = (c: LiveCrank): boolean => c.speed === null || c.speed.samples < 3;
  const speed = few(crank) || few(before) ? null : (crank.speed?.value ?? 0) - (before.speed?.value ?? 0);
  const supply =
    crank.meanVolts === null || before.meanVolts === null
      ? null
      : crank.meanVolts.value - before.meanVolts.value;
  const slower = speed !== null && -speed >= differs.speed * (before.speed?.value ?? 0);
  const faster = speed !== null && speed >= differs.speed * (before.speed?.value ?? 0);
  const lower = supply !== null && -supply >= differs.volts * scale;
  if (speed !== null)
    parts.push(
      Math.abs(speed) < 1
        ? "as fast"
        : `${Math.abs(speed).toFixed(0)} rpm ${speed < 0 ? "slower" : "faster"}`,
    );
  if (supply !== null && Math.abs(supply) >= 0.05)
    parts.push(`${Math.abs(supply).toFixed(1)} V ${supply < 0 ? "lower" : "higher"}`);
  if (
    crank.firedS !== null &&
    before.firedS !== null &&
    Math.abs(crank.firedS - before.firedS) >= differs.fire
  )
    parts.push(
      `fired ${Math.abs(crank.firedS - before.firedS).toFixed(1)} s ${crank.firedS < before.firedS ? "sooner" : "later"}`,
    );
  else if (crank.firedS !== null && before.firedS === null) parts.push("this one fired");
  if (crank.pullDown !== null && before.pullDown !== null) {
    const pull = crank.pullDown - before.pullDown;
    if (Math.abs(pull) >= differs.pullDown)
      parts.push(`pull-down ${Math.abs(pull).toFixed(0)} kPa ${pull < 0 ? "less" : "more"}`);
  }
  if (slower && lower) parts.push("battery is giving in");
  else if (slower && supply !== null && supply > -0.05 * scale)
    parts.push("harder to turn at the same volts");
  else if (faster && supply !== null && supply >= differs.volts * scale) parts.push("battery has recovered");
  if (parts.length === 0) return null;
  return `${crankOrdinal(crank.number)} crank against the ${crankOrdinal(before.number)}: ${parts.join(", ")}`;
}

/**
 * How long a starter may turn, seconds, and that it then rests as long: printed in the cautions beside the checks
 * (service manual, 1997; the pause is common practice).
 */
export const starterLimitS = 15;

export interface CrankClock {
  /** Seconds of the limit that are used: a pause gives them back second for second. */
  readonly usedS: number;
  readonly limitS: number;
  readonly over: boolean;
  /** The pause that is still due before a whole crank; 0 while it turns. */
  readonly restLeftS: number;
}

export function crankClock(past: readonly LiveCrank[], crank: LiveCrank | null, now: number): CrankClock {
  let used = 0;
  let at = 0;
  for (const c of crank === null || past.includes(crank) ? past : [...past, crank]) {
    used = Math.max(0, used - Math.max(0, c.from - at) / 1000) + c.crankedS;
    at = c.from + c.crankedS * 1000;
  }
  const turns = crank !== null && starterOn(crank);
  if (!turns) used = Math.max(0, used - Math.max(0, now - at) / 1000);
  return { usedS: used, limitS: starterLimitS, over: used >= starterLimitS, restLeftS: turns ? 0 : used };
}

/** The starter draws, as far as the last reading tells. */
export function starterOn({ provisional, state }: LiveCrank): boolean {
  return provisional && state !== "fired" && state !== "released";
}
