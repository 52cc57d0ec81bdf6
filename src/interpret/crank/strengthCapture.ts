/** The capture of relative compression: what the person does, and whether the readings will do, told while it goes on. */
import { socketVoltage } from "../../../shared/decode.ts";
import { floored } from "../maths/stats.ts";
import { between, ownSeries } from "../folds/windows.ts";
import type { Source } from "../folds/source.ts";
import type { Findings } from "../report/schema.ts";
import { carriesOf, strengthLimits, type Carries, type StrengthCrank } from "./cylinders.ts";
import type { LiveCrank } from "./live.ts";
import { starterLimitS } from "./liveWords.ts";
import { rateText, strengthCranks } from "./strengthIn.ts";

/** Common practice: cranking for a compression test is prepared and bounded in the same way. */
export const strengthSteps = [
  "Charge the battery or connect a good one: the starter has to turn at its usual speed.",
  "Disable fuel as the vehicle's manual says (pump relay or fuse, injectors unplugged). Spark alone only where the manual allows it.",
  "Throttle closed, everything electrical off, transmission in neutral or park.",
  "Crank four seconds, rest half a minute; three times. You are told when it is enough.",
  "Put everything back, and read codes: unplugged parts leave some.",
] as const;

export const strengthCautions = [
  "Unburnt fuel harms the catalyst and can burn in the exhaust: do not crank with fuel on and spark off unless the manual says so.",
  "Brake on, hands, hair, tools and leads clear of belts and fans: the engine turns, and may start.",
  `Never run the starter longer than ${starterLimitS} s at a time: it overheats. The vehicle's manual goes first.`,
] as const;

/** Times of a capture, seconds (common practice; four seconds are two stretches behind the ramp). */
export const captureLimits = {
  crankS: 4,
  restS: 30,
  cranks: 3,
  /** Stretches of three cranks of four seconds. */
  stretches: 6,
} as const;

export interface CaptureTold {
  /** What to do now, and how the readings are. */
  readonly words: string;
  /** Let go of the key: it is enough, or it leads nowhere. */
  readonly stop: boolean;
  /** This adapter, on this vehicle, does not carry it. */
  readonly hopeless: boolean;
  /** From 0 to 1. */
  readonly part: number;
}

export interface CaptureInput {
  readonly source: Pick<Source, "channels" | "lastTime">;
  readonly cranks: Findings["cranks"];
  readonly live: LiveCrank | null;
  readonly cylinders: number | undefined;
  /** When the capture began, milliseconds of the recording: attempts before it were asked for everything. */
  readonly since: number;
}

export function captureTold({ source, cranks, live, cylinders, since }: CaptureInput): CaptureTold {
  const plain = { stop: false, hopeless: false };
  if (cylinders === undefined)
    return { ...plain, words: "enter the number of cylinders in the vehicle's facts first", part: 0 };
  if (cylinders < 2)
    return { ...plain, words: "one cylinder: there is no other to compare it with", part: 0 };
  const running = runningCrank(source, live);
  const done = strengthCranks(source.channels, cranks).filter(
    ({ from }) => running === null || from < running.from - 500,
  );
  const own = done.filter(({ from }) => from >= since);
  const newest = running ?? own.at(-1);
  const carries = carriesOf({ cylinders, cranks: running === null ? done : [...done, running] });
  const { perSecond, stretches } = carries;
  const part = Math.min(1, stretches / captureLimits.stretches);
  const letGo = running === null ? "" : "let go: ";
  const how = `(${rateText(perSecond)} readings a second, ${carriedWords(carries)})`;
  if (part >= 1)
    return { ...plain, words: `enough${running === null ? "" : ": let go"} ${how}`, stop: true, part };
  const last = newest === undefined ? null : carriesOf({ cylinders, cranks: [newest] });
  if (last !== null && last.stretches === 0 && last.sparse > 0) {
    const words = `${letGo}this adapter is too slow for it on this vehicle (${rateText(last.perSecond)} readings a second, ${strengthLimits.perSecond} needed)`;
    return { words, stop: true, hopeless: true, part };
  }
  if (stretches === 0) return { ...plain, words: running === null ? firstWords : "crank on", part };
  const { crankS, restS } = captureLimits;
  if (running !== null && (running.to - running.from) / 1000 >= crankS + 0.5)
    return { ...plain, words: `let go, rest the starter ${restS} s`, stop: true, part };
  const number = own.length + 1;
  const next =
    running !== null
      ? `crank ${number} goes on`
      : own.length === 0
        ? firstWords
        : `rest the starter ${restS} s, then crank ${number} of ${Math.max(number, captureLimits.cranks)}`;
  return { ...plain, words: `${next} ${how}`, part };
}

function carriedWords({ perFiring }: Carries): string {
  if (perFiring === null) return "no RPM: turns are counted from the ripple";
  const all = perFiring >= strengthLimits.perFiring;
  return `${floored(perFiring, 1)} a firing${all ? "" : ": shows one weak cylinder, not all weak"}`;
}

const firstWords = `fuel disabled as the manual says? Then crank ${captureLimits.crankS} s`;

/** The crank that goes on, as far as it has come; null while the starter is off. */
function runningCrank(source: CaptureInput["source"], live: LiveCrank | null): StrengthCrank | null {
  if (live?.to !== null || live.restVolts === null || live.firedS !== null) return null;
  const { from, restVolts } = live;
  const to = source.lastTime;
  const of = (channel: string): StrengthCrank["volts"] =>
    between(ownSeries(source.channels, channel), from - 1000, to);
  return { from, to, restVolts, volts: of(socketVoltage), speed: of("engine-speed") };
}
