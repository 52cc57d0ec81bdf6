/** Wall times of milliseconds since a start that is given with its zone, in that zone. */
export function isoWithZoneOf(started: string): (t: number) => string {
  const startMs = Date.parse(started);
  const match = /(?:Z|([+-])(\d\d):?(\d\d))$/.exec(started);
  const zone = match?.[1] === undefined ? "Z" : `${match[1]}${match[2]}:${match[3]}`;
  const minutes = Number(match?.[2] ?? 0) * 60 + Number(match?.[3] ?? 0);
  const offsetMs = (match?.[1] === "-" ? -minutes : minutes) * 60_000;
  return (t) => new Date(Math.round(startMs + t + offsetMs)).toISOString().slice(0, -1) + zone;
}
