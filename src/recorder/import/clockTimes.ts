/** Times of day and dates as logs write them. */

const clock = /^(?:.*[\sT])?(\d{1,2}):(\d{2}):(\d{2})(?:[.,:](\d{1,9}))?\s*([AaPp])?\.?[Mm]?\.?$/;

/** Seconds since midnight of `19:17:19.418`, `7:17:19 PM`, also behind a date that is not read; NaN for what is none. */
export function clockSeconds(text: string): number {
  const found = clock.exec(text.trim());
  if (found === null) return Number.NaN;
  const [, hours = "", minutes = "", seconds = "", part = "", half = ""] = found;
  let hour = Number(hours);
  if (half !== "") hour = (hour % 12) + (/p/i.test(half) ? 12 : 0);
  if (hour > 23 || Number(minutes) > 59 || Number(seconds) > 60) return Number.NaN;
  return hour * 3600 + Number(minutes) * 60 + Number(seconds) + Number(`0.${part === "" ? "0" : part}`);
}

const iso = /^(\d{4}-\d\d-\d\d)[T\s](\d\d:\d\d(?::\d\d(?:[.,]\d+)?)?)\s*(Z|[+-]\d\d:?\d\d)?$/;

/** Milliseconds since 1970 of an ISO 8601 time, with a blank for its T too; without a zone in this machine's. NaN for what is none. */
export function isoMs(text: string): number {
  const found = iso.exec(text.trim());
  if (found === null) return Number.NaN;
  const [, day = "", time = "", zone = ""] = found;
  return Date.parse(`${day}T${time.replace(",", ".")}${zone.replace(/^([+-]\d\d)(\d\d)$/, "$1:$2")}`);
}
