/** A tally as text: false alarms, what was found for each fault, what was named, and what was taken for what. */
import { ceiling } from "./ceiling.ts";
import { expected } from "./expect.ts";
import { blind, groupOf, groups } from "./groups.ts";
import { views, type CaseSeen, type Tally, type View } from "./tally.ts";

/** Parts of the cases looked at, from 0 to 1. */
interface Right {
  readonly causeFirst: number;
  readonly causeThree: number;
  readonly groupFirst: number;
  readonly groupThree: number;
}

const share = (some: readonly boolean[]): number => some.filter(Boolean).length / Math.max(1, some.length);
const mean = (values: readonly number[]): number =>
  values.reduce((a, b) => a + b, 0) / Math.max(1, values.length);

type Naming = (one: CaseSeen) => readonly string[];

function right(cases: readonly CaseSeen[], naming: Naming): Right {
  const within = (one: CaseSeen, ids: ReadonlySet<string>, most: number): boolean =>
    naming(one)
      .slice(0, most)
      .some((id) => ids.has(id));
  const count = (of: (one: CaseSeen) => ReadonlySet<string>, most: number): number =>
    share(cases.map((one) => within(one, of(one), most)));
  const cause = (one: CaseSeen): ReadonlySet<string> => new Set(one.truth);
  const group = (one: CaseSeen): ReadonlySet<string> => groupOf(one.truth);
  return {
    causeFirst: count(cause, 1),
    causeThree: count(cause, 3),
    groupFirst: count(group, 1),
    groupThree: count(group, 3),
  };
}

/** By chance alone, among the causes that such a complaint can have. */
function blindly(cases: readonly CaseSeen[], view: View): Right {
  const chance = (of: (one: CaseSeen) => number, draws: number): number =>
    mean(cases.map((one) => blind(one.named[view]?.could ?? 1, of(one), draws)));
  const cause = (one: CaseSeen): number => one.truth.length;
  const group = (one: CaseSeen): number => groupOf(one.truth).size;
  return {
    causeFirst: chance(cause, 1),
    causeThree: chance(cause, 3),
    groupFirst: chance(group, 1),
    groupThree: chance(group, 3),
  };
}

const percent = (part: number): string => `${(100 * part).toFixed(0)} %`.padStart(7);
const rightText = (r: Right): string =>
  [r.causeFirst, r.causeThree, r.groupFirst, r.groupThree].map(percent).join(" ");

const ours =
  (view: View): Naming =>
  (one) =>
    one.named[view]?.causes ?? [];

export function report(tally: Tally): string {
  const { cases } = tally;
  const healthy = cases.filter((c) => c.fault === null);
  const broken = cases.filter((c) => c.fault !== null);
  const counted = broken.filter((c) => c.differs);
  const shown = ceiling(cases);
  const could =
    (view: View): Naming =>
    (one) =>
      shown.get(one)?.[view] ?? [];
  const alarmed = healthy.filter((c) => c.outside.length > 0);
  return [
    `${cases.length} recordings, ${healthy.length} of them healthy`,
    `healthy with a sign outside its range: ${alarmed.length} of ${healthy.length}`,
    ...sorted(
      tallied(alarmed.flatMap((c) => c.outside.map((id) => `${id} (${c.vehicle}, ${c.script})`))),
    ).map(([what, times]) => `  ${String(times).padStart(4)}  ${what}`),
    `broken: ${broken.length}; what its modules hold differs from the sound engine: ${counted.length}`,
    `  the same was said of ${healthy.filter((c) => c.differs).length} of the ${healthy.length} healthy`,
    "",
    `of those ${counted.length}                        cause first, three   group first, three`,
    ...views.flatMap((view) => [
      `${view.padEnd(14)} the tool            ${rightText(right(counted, ours(view)))}`,
      `${"".padEnd(14)} blind choice        ${rightText(blindly(counted, view))}`,
      ...(shown.size === 0
        ? []
        : [`${"".padEnd(14)} shown other seeds   ${rightText(right(counted, could(view)))}`]),
    ]),
    ...bothOf(counted),
    "",
    "by script, told, codes                          cause first, three   group first, three",
    ...[...new Set(counted.map((c) => c.script))].sort().flatMap((script) => {
      const some = counted.filter((c) => c.script === script);
      const how = some.length === 1 ? "recording" : "recordings";
      return [
        `${script.padEnd(16)} ${String(some.length).padStart(4)} ${how.padEnd(12)}   ${rightText(right(some, ours("told, codes")))}`,
        ...(shown.size === 0
          ? []
          : [`${"".padEnd(22)}shown other seeds ${rightText(right(some, could("told, codes")))}`]),
      ];
    }),
    "",
    `${"fault".padEnd(34)} runs count found  near  open first three could three  outside, most often`,
    ...faultRows(broken, could("told, codes")),
    "count: differs from the sound engine; the figures behind it are of those",
    "found: a sign that leads there is outside its range; near: it is near the edge, as a mild fault should be",
    "open: neither, and a sign that leads there cannot tell and says what it would take",
    "first, three: the right group stands first, or among the first three, with what the driver says and codes",
    "could, three: the same by a classifier that was shown the other seeds of this very vehicle",
    "",
    "groups that standard data cannot part",
    ...groups.map((g) => `  ${g.causes.join(", ")}: ${g.why}`),
    "",
    "taken for what: the fault, and what stood first instead of its group, with the number of runs",
    ...takenRows(counted),
    "",
  ].join("\n");
}

/** Of two that are broken at once, both among the first three. */
function bothOf(counted: readonly CaseSeen[]): string[] {
  const twice = counted.filter((c) => c.fault?.includes("+") === true);
  if (twice.length === 0) return [];
  const both = twice.filter((c) => {
    const names = ours("told, codes")(c).slice(0, 3);
    return c.truth.every((id) => names.some((name) => groupOf([id]).has(name)));
  });
  return [`broken twice: ${twice.length}; both among the first three: ${both.length}`];
}

function faultRows(broken: readonly CaseSeen[], could: Naming): string[] {
  const faults = [...new Set(broken.map((c) => c.fault ?? ""))].sort((a, b) => order(a) - order(b));
  const line = (name: string, all: readonly CaseSeen[], heard: string): string => {
    const some = all.filter((c) => c.differs);
    const lead = (verdict: CaseSeen["lead"]): number => some.filter((c) => c.lead === verdict).length;
    const tool = right(some, ours("told, codes"));
    const best = right(some, could);
    const times = (part: number): number => Math.round(part * some.length);
    return `${name.padEnd(34)}${figures([
      all.length,
      some.length,
      lead("outside"),
      lead("near"),
      lead("cannot-tell"),
      times(tool.groupFirst),
      times(tool.groupThree),
      times(best.groupFirst),
      times(best.groupThree),
    ])}  ${heard}`;
  };
  return [
    ...faults.map((fault) => {
      const all = broken.filter((c) => c.fault === fault);
      const hidden = expected[fault]?.hidden;
      const why = hidden === undefined ? "" : ` (${hidden})`;
      return line(fault, all, `${listed(tallied(all.flatMap((c) => c.outside)), 3)}${why}`);
    }),
    line("all", broken, ""),
  ];
}

function takenRows(counted: readonly CaseSeen[]): string[] {
  const faults = [...new Set(counted.map((c) => c.fault ?? ""))].sort((a, b) => order(a) - order(b));
  return faults.flatMap((fault) => {
    const wrong = counted
      .filter((c) => c.fault === fault)
      .flatMap((c) => {
        const first = ours("told, codes")(c)[0];
        if (first === undefined)
          return [c.named["told, codes"]?.complaints.length === 0 ? "no complaint" : "none of these"];
        return groupOf(c.truth).has(first) ? [] : [first];
      });
    return wrong.length === 0 ? [] : [`${fault.padEnd(34)} ${listed(tallied(wrong))}`];
  });
}

const places = new Map(Object.keys(expected).map((id, i) => [id, i]));
const order = (fault: string): number => places.get(fault) ?? places.size;

const figures = (numbers: readonly number[]): string => numbers.map((n) => String(n).padStart(5)).join(" ");

function tallied(names: readonly string[]): Record<string, number> {
  const out: Record<string, number> = {};
  for (const name of names) out[name] = (out[name] ?? 0) + 1;
  return out;
}

function sorted(map: Readonly<Record<string, number>>): [string, number][] {
  return Object.entries(map).sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
}

function listed(map: Readonly<Record<string, number>>, most = Infinity): string {
  return sorted(map)
    .slice(0, most)
    .map(([id, times]) => `${id} ${times}`)
    .join(", ");
}
