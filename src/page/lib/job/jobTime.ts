import { pageClock } from "../app/clock.ts";

/** Wall time now with its zone, ISO 8601. */
export function nowText(): string {
  return zonedText(pageClock.wall());
}

/** Milliseconds since 1970 in this machine's zone, ISO 8601. */
export function zonedText(wall: number): string {
  const minutes = -new Date(wall).getTimezoneOffset();
  const two = (n: number): string => String(Math.floor(n)).padStart(2, "0");
  const zone = `${minutes < 0 ? "-" : "+"}${two(Math.abs(minutes) / 60)}:${two(Math.abs(minutes) % 60)}`;
  return new Date(wall + minutes * 60_000).toISOString().slice(0, -1) + zone;
}
