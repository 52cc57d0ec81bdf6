import { shown, type UnitId, type UnitSystem } from "../../../../shared/units.ts";
import type { Status } from "../../../../shared/messages.ts";

export { clockText } from "../../../../shared/times.ts";

/** How long ago a reading was taken: "0.06 s old", "12 s old", "4 min old". */
export function ageText(ms: number): string {
  const s = Math.max(0, ms) / 1000;
  if (s < 0.995) return `${s.toFixed(2)} s old`;
  if (s < 9.95) return `${s.toFixed(1)} s old`;
  if (s < 99.5) return `${Math.round(s)} s old`;
  return s < 5970 ? `${Math.round(s / 60)} min old` : `${(s / 3600).toFixed(1)} h old`;
}

/** Readings a second: "9.6/s"; a slow one as "every 12 s"; null when there is no telling. */
export function rateText(perSecond: number): string | null {
  if (!(perSecond > 0)) return null;
  if (perSecond >= 99.5) return `${Math.round(perSecond)}/s`;
  if (perSecond >= 0.5) return `${perSecond.toFixed(1)}/s`;
  return `every ${Math.round(1 / perSecond)} s`;
}

export function bytesText(bytes: number): string {
  if (bytes < 1000) return `${bytes} B`;
  if (bytes < 1e6) return `${Math.round(bytes / 1000)} kB`;
  return bytes < 1e9 ? `${(bytes / 1e6).toFixed(1)} MB` : `${(bytes / 1e9).toFixed(2)} GB`;
}

export function linkWords(status: Status): string {
  switch (status.link) {
    case "none":
      return "not connected";
    case "connecting":
      return "connecting";
    case "listening":
      return status.recording === null ? "listening, not recording" : "recording";
    case "paused":
      return "connected, not recording";
    case "lost":
      return "link lost";
  }
}

/** "3 modules", "1 module". */
export function count(n: number, one: string, many = `${one}s`): string {
  return `${n} ${n === 1 ? one : many}`;
}

/** Wall time of a recording's start as a person says it, in the reader's zone. */
export function whenText(iso: string | null): string {
  if (iso === null) return "time unknown";
  const date = new Date(iso);
  if (Number.isNaN(date.getTime())) return "time unknown";
  return date.toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}

/** "9.6 to 12.4", "from 9.6", "up to 20", in shown units without their symbol. */
export function rangeText(range: { low: number; high: number }, unit: UnitId, system: UnitSystem): string {
  const text = (value: number): string => {
    const { value: figure, digits } = shown(value, unit, system);
    return figure.toFixed(Math.min(digits, 1)).replace(/\.0$/, "");
  };
  if (!Number.isFinite(range.low)) return `up to ${text(range.high)}`;
  return Number.isFinite(range.high)
    ? `${text(range.low)} to ${text(range.high)}`
    : `from ${text(range.low)}`;
}

/** Told to the person when something was to be put on the sheet. */
export function putWords(what: string, done: boolean): string {
  return `${what}: ${done ? "on the sheet" : "not on the sheet"}.`;
}

export const benchWords = "bench vehicle, invented data";

/** What is said of a recording's invented data; null where a real vehicle was heard. */
export function inventedWords(reading: {
  readonly invented: boolean;
  readonly header: { readonly from: string } | null;
}): string | null {
  if (!reading.invented) return null;
  return reading.header?.from.startsWith("bench:") === true ? benchWords : "invented data";
}

export const unkeptWords =
  "This browser stores no settings: units, lanes and labels last for this visit. Recordings are safe.";

/** Without a link nobody knows what the engine does; null while there is one, or none is needed. */
export function lostWords(link: Status["link"] | null): string | null {
  if (link === null || link === "listening" || link === "connecting") return null;
  return link === "lost" ? "Link lost" : "No link";
}

/** What a device that came over the network is told of itself. */
export function guestWords(enters: boolean): string {
  const more = enters ? ", and enters results of hand checks" : "";
  return `This device looks on over the network: it reads, and sets marks${more}. The laptop does the rest.`;
}
