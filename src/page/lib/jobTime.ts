import { pageClock } from "./clock.ts";

/** Wall time with its zone, ISO 8601. */
export function nowText(): string {
  const wall = pageClock.wall();
  const minutes = -new Date(wall).getTimezoneOffset();
  const two = (n: number): string => String(Math.floor(n)).padStart(2, "0");
  const zone = `${minutes < 0 ? "-" : "+"}${two(Math.abs(minutes) / 60)}:${two(Math.abs(minutes) % 60)}`;
  return new Date(wall + minutes * 60_000).toISOString().slice(0, -1) + zone;
}
