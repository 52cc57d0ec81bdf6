/** Round places on the axes. */
import { partOf, type Stretch } from "./stretch.ts";

const second = 1000;
const minute = 60 * second;
const hour = 60 * minute;
const timeSteps = [
  10,
  20,
  50,
  100,
  200,
  500,
  second,
  2 * second,
  5 * second,
  10 * second,
  15 * second,
  30 * second,
  minute,
  2 * minute,
  5 * minute,
  10 * minute,
  15 * minute,
  30 * minute,
  hour,
  2 * hour,
  5 * hour,
];

export interface TimeTick {
  readonly t: number;
  readonly part: number;
  readonly text: string;
}

/** At most `most` ticks on round times, in time order. */
export function timeTicks(stretch: Stretch, most: number): TimeTick[] {
  const length = stretch.to - stretch.from;
  const step = timeSteps.find((s) => length / s <= Math.max(1, most)) ?? 10 * hour;
  const ticks: TimeTick[] = [];
  for (let n = Math.ceil(stretch.from / step); n * step <= stretch.to; n++) {
    const t = n * step;
    ticks.push({ t, part: partOf(t, stretch), text: timeText(t, step) });
  }
  return ticks;
}

/** "0:05", "12:00", "1:02:30", and as many decimals as the step needs. */
export function timeText(t: number, step: number): string {
  const decimals = step >= second ? 0 : step >= 100 ? 1 : 2;
  const unit = 10 ** decimals;
  const total = Math.round((t / second) * unit);
  const whole = Math.floor(total / unit);
  const rest = decimals === 0 ? "" : `.${String(total % unit).padStart(decimals, "0")}`;
  const seconds = String(whole % 60).padStart(2, "0");
  const minutes = Math.floor(whole / 60) % 60;
  const hours = Math.floor(whole / 3600);
  const head = hours > 0 ? `${hours}:${String(minutes).padStart(2, "0")}` : String(minutes);
  return `${head}:${seconds}${rest}`;
}

export interface ValueAxis {
  readonly min: number;
  readonly max: number;
  readonly ticks: readonly number[];
  /** Digits after the point that the ticks need. */
  readonly digits: number;
}

/**
 * An axis that holds all from `low` to `high` with a little room, spans at least `least`, and begins and ends on
 * half steps, so that it stands still while the values move a little.
 */
export function valueAxis(low: number, high: number, least: number, most: number): ValueAxis {
  const span = Math.max(high - low, least) * 1.12;
  const step = roundStep(span / Math.max(1, most));
  const axis = axisWith(step, { low, high, least, span });
  // One tick alone tells no scale: those on the rim may find no room.
  const rim = (axis.max - axis.min) * 0.08;
  const inside = axis.ticks.filter((tick) => tick > axis.min + rim && tick < axis.max - rim);
  return inside.length >= 2 ? axis : axisWith(finer(step), { low, high, least, span });
}

interface Held {
  readonly low: number;
  readonly high: number;
  readonly least: number;
  readonly span: number;
}

function axisWith(step: number, { low, high, least, span }: Held): ValueAxis {
  const middle = (low + high) / 2;
  const half = step / 2;
  const from = Math.min(low - span * 0.02, middle - span / 2);
  const to = Math.max(high + span * 0.02, middle + span / 2);
  // What cannot fall below zero is not given paper there, only a rim so that the trace is seen.
  const onFloor = low >= 0 && from < 0;
  const min = onFloor ? -step * 0.15 : Math.floor(from / half) * half;
  const max = Math.ceil((onFloor ? Math.max(to, least) : to) / half) * half;
  const digits = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const ticks: number[] = [];
  for (let n = Math.ceil(min / step - 1e-9); n * step <= max + step * 1e-9; n++) ticks.push(n * step + 0);
  return { min, max, ticks, digits };
}

/** 1, 2 or 5 times a power of ten, near enough above that no more than one tick is too many. */
function roundStep(at: number): number {
  const power = 10 ** Math.floor(Math.log10(at));
  const part = at / power;
  return (part <= 1.2 ? 1 : part <= 2.4 ? 2 : part <= 6 ? 5 : 10) * power;
}

/** The next of them below. */
function finer(step: number): number {
  const power = 10 ** Math.floor(Math.log10(step) + 1e-9);
  const part = Math.round(step / power);
  return (part === 1 ? 0.5 : part === 2 ? 1 : 2) * power;
}
