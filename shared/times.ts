/** Wall times of milliseconds since a start that is given with its zone, in that zone. */
export function isoWithZoneOf(started: string): (t: number) => string {
  const startMs = Date.parse(started);
  const match = /(?:Z|([+-])(\d\d):?(\d\d))$/.exec(started);
  const zone = match?.[1] === undefined ? "Z" : `${match[1]}${match[2]}:${match[3]}`;
  const minutes = Number(match?.[2] ?? 0) * 60 + Number(match?.[3] ?? 0);
  const offsetMs = (match?.[1] === "-" ? -minutes : minutes) * 60_000;
  return (t) => new Date(Math.round(startMs + t + offsetMs)).toISOString().slice(0, -1) + zone;
}

/** A length of time, milliseconds in: "0:41", "12:05", "1:02:03"; the seconds that have passed, as on a clock. */
export function clockText(ms: number): string {
  return onClock(Math.floor(ms / 1000), 0);
}

/** The same to the nearest tenth of a second: "0:41.3". */
export function clockTenths(ms: number): string {
  return onClock(Math.round(ms / 100) / 10, 1);
}

function onClock(total: number, digits: 0 | 1): string {
  const length = Math.max(0, total);
  const two = (n: number): string => n.toFixed(digits).padStart(digits === 0 ? 2 : 4, "0");
  const minutes = Math.floor(length / 60);
  const hours = Math.floor(minutes / 60);
  const seconds = two(length % 60);
  return hours > 0 ? `${hours}:${String(minutes % 60).padStart(2, "0")}:${seconds}` : `${minutes}:${seconds}`;
}
