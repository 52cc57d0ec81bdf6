/** What the modules said at each survey, side by side in the order of time. */
import { inOrder, type Entry } from "../job.ts";
import { saysOf, type ModuleSays } from "../snapshot.ts";
import { tieWords } from "../tied.ts";
import type { Block, Table } from "./blocks.ts";
import type { Composing } from "./composing.ts";
import { surveyInstant, surveyTime } from "./times.ts";
import { isReadiness, milOn } from "../../../shared/surveyWords.ts";

type Surveyed = Entry & { readonly id: string };

/** So many surveys stand side by side on a sheet of paper; of more the first and the last ones. */
const mostAcross = 3;

/** Surveys of the sheet that stand in the part of the modules, oldest first. */
export function surveysOf({ job }: Pick<Composing, "job">): Surveyed[] {
  return inOrder(job.entries)
    .filter((e) => saysOf(e.says)?.kind === "modules")
    .map((entry) => ({ entry, at: surveyInstant(job, entry) }))
    .sort((a, b) => a.at - b.at || a.entry.order - b.entry.order)
    .map(({ entry }) => entry);
}

export function surveyBlocks(composing: Composing, surveys: readonly Surveyed[]): Block[] {
  if (surveys.length === 0) return [];
  const { mask } = composing;
  const shown =
    surveys.length <= mostAcross
      ? surveys
      : [...surveys.slice(0, 1), ...surveys.slice(surveys.length - mostAcross + 1)];
  const words = surveys.flatMap((entry): Block[] => {
    const own = entry.words.trim();
    return own === "" ? [] : [{ kind: "text", text: `${surveyTime(composing.job, entry)}: ${own}` }];
  });
  const names = [...new Set(shown.flatMap((e) => modulesIn(e).map((m) => m.module)))];
  const omitted = surveys.length - shown.length;
  return [
    ...words,
    ...names.map((name): Table => moduleTable(name, shown, composing)),
    {
      kind: "list",
      items: [
        ...shown.map((e) => mask(sourceOf(e, composing))),
        ...(omitted > 0
          ? [`${omitted} more between them ${omitted === 1 ? "is" : "are"} on the sheet.`]
          : []),
      ],
    },
  ];
}

function modulesIn(entry: Entry): readonly ModuleSays[] {
  const says = saysOf(entry.says);
  return says?.kind === "modules" ? says.modules : [];
}

function moduleTable(name: string, shown: readonly Surveyed[], { job, mask }: Composing): Table {
  const said = shown.map((entry) => {
    const lines = new Map<string, string[]>();
    for (const { what, says } of modulesIn(entry).find((m) => m.module === name)?.rows ?? [])
      lines.set(what, [...(lines.get(what) ?? []), says]);
    return new Map([...lines].map(([what, all]) => [what, what === "test" ? testLines(all) : all]));
  });
  const whats = [...new Set(said.flatMap((lines) => [...lines.keys()]))];
  return {
    kind: "table",
    caption: mask(`Module ${name}`),
    head: ["what", ...shown.map((entry, i) => columnHead(surveyTime(job, entry), i, shown.length))],
    rows: whats.map((what) => [mask(what), ...said.map((lines) => mask(lines.get(what)?.join("\n") ?? "–"))]),
  };
}

/** What is off in full; of the rest how many there are. */
function testLines(all: readonly string[]): string[] {
  const ends = (word: string): number => all.filter((line) => line.endsWith(`, ${word}`)).length;
  const rest = ["within", "never run", "no limits"].flatMap((word) =>
    ends(word) === 0 ? [] : [`${ends(word)} ${word}`],
  );
  const off = all.filter((line) => !/, (?:within|never run|no limits)$/.test(line));
  return [...off, ...(rest.length === 0 ? [] : [rest.join(", ")])];
}

/** Of two or more the first is before and the last after; what was done between them stands elsewhere. */
function columnHead(time: string, at: number, count: number): string {
  const lead = count < 2 ? "" : at === 0 ? "first, " : at === count - 1 ? "last, " : "";
  return `${lead}${time === "" ? "no time" : time}`;
}

function sourceOf(entry: Surveyed, { job, sources }: Composing): string {
  const { state } = sources.evidence(entry.tie);
  const problem = state === "fits" ? "" : `. ${tieWords[state]}`;
  return `${surveyTime(job, entry)}: from ${entry.tie.file}${problem}`;
}

/** What the last survey says of the whole vehicle, for page one. */
export function lastSurvey(composing: Pick<Composing, "job">): {
  readonly lampOn: boolean;
  readonly notComplete: boolean;
} {
  const last = surveysOf(composing).at(-1);
  const rows = last === undefined ? [] : modulesIn(last).flatMap((m) => m.rows);
  const since = rows.filter((r) => isReadiness(r.what)).map((r) => r.says);
  return {
    lampOn: since.some((says) => milOn.test(says)),
    notComplete: since.some((says) => /^not complete: (?!none)/.test(says)),
  };
}
