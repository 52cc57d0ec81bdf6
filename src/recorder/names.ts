/** File names of recordings, and times with their zone. */
export { isoWithZoneOf } from "../../shared/times.ts";

const two = (n: number): string => String(n).padStart(2, "0");

/** Local wall time with its zone: `2024-05-31T07:04:05.250+02:00`. */
export function isoWithZone(wallMs: number): string {
  const date = new Date(wallMs);
  const offset = -date.getTimezoneOffset();
  const sign = offset < 0 ? "-" : "+";
  const hours = two(Math.floor(Math.abs(offset) / 60));
  const local = new Date(wallMs + offset * 60_000).toISOString().slice(0, -1);
  return `${local}${sign}${hours}:${two(Math.abs(offset) % 60)}`;
}

/** `2024-05-31-070405` in local time. */
export function fileStamp(wallMs: number): string {
  const date = new Date(wallMs);
  const day = `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
  return `${day}-${two(date.getHours())}${two(date.getMinutes())}${two(date.getSeconds())}`;
}

/** A name as a part of a file name: small Latin letters, digits and hyphens, 40 at most. */
export function slug(name: string): string {
  const plain = name
    .normalize("NFKD")
    .replace(/\p{M}+/gu, "")
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, "-");
  const cut = plain.replace(/^-+/, "").slice(0, 40).replace(/-+$/, "");
  return cut === "" ? "recording" : cut;
}
