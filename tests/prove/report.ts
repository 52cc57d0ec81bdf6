/** A tally as text: false alarms, what was found for each fault, and what was taken for what. */
import { expected } from "./expect.ts";
import type { FaultTally, Tally } from "./tally.ts";

export function report(tally: Tally): string {
  const faults = Object.entries(tally.faults).sort(([a], [b]) => order(a) - order(b));
  const total = (of: (fault: FaultTally) => number): number =>
    faults.reduce((sum, [, fault]) => sum + of(fault), 0);
  const all = figures([
    total((f) => f.runs),
    total((f) => f.found),
    total((f) => f.near),
    total((f) => f.untold),
    total((f) => f.first),
    total((f) => f.three),
  ]);
  return [
    `${total((f) => f.runs) + tally.healthy} recordings, ${tally.healthy} of them healthy`,
    `healthy with a sign outside its range: ${tally.alarmed} of ${tally.healthy}`,
    ...sorted(tally.alarms).map(([what, times]) => `  ${String(times).padStart(4)}  ${what}`),
    "",
    `${"fault".padEnd(24)} runs found  near  open first three  outside, most often`,
    ...faults.map(([fault, one]) => row(fault, one)),
    `${"all".padEnd(24)}${all}`,
    "found: a sign that leads there is outside its range; near: it is near the edge",
    "open: neither, and a sign that leads there cannot tell and says what it would take",
    "first, three: the right cause stands first, or among the first three, by the recording alone",
    "",
    "taken for what: the fault, and what stood first instead of its cause, with the number of runs",
    ...faults.filter(([, one]) => Object.keys(one.taken).length > 0).map(([fault, one]) => taken(fault, one)),
    "",
  ].join("\n");
}

const places = new Map(Object.keys(expected).map((id, i) => [id, i]));
const order = (fault: string): number => places.get(fault) ?? places.size;

const figures = (numbers: readonly number[]): string => numbers.map((n) => String(n).padStart(5)).join(" ");

function sorted(map: Readonly<Record<string, number>>): [string, number][] {
  return Object.entries(map).sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
}

function listed(map: Readonly<Record<string, number>>, most = Infinity): string {
  return sorted(map)
    .slice(0, most)
    .map(([id, times]) => `${id} ${times}`)
    .join(", ");
}

function row(fault: string, one: FaultTally): string {
  const hidden = expected[fault]?.hidden;
  const why = hidden === undefined ? "" : ` (${hidden})`;
  return `${fault.padEnd(24)}${figures([one.runs, one.found, one.near, one.untold, one.first, one.three])}  ${listed(one.heard, 3)}${why}`;
}

function taken(fault: string, one: FaultTally): string {
  return `${fault.padEnd(24)} ${listed(one.taken)}`;
}
