/** Statements that were put on the sheet, as blocks; cranks as tables. */
import type { Entry } from "../job.ts";
import { tieWords } from "../tied.ts";
import { saysOf } from "../snapshot.ts";
import { crankFigures, statementOf } from "../statement.ts";
import type { UnitSystem } from "../../../shared/units.ts";
import type { Crank } from "../../interpret/report/schema.ts";
import { clockText, outcomeWords } from "../../interpret/report/text.ts";
import { adviceBlocks, comparedBlocks } from "./advice.ts";
import type { Block, StatementBlock, Table } from "./blocks.ts";
import type { Composing } from "./composing.ts";
import { offsetOf, wallText } from "./times.ts";

type Item = Entry & { readonly id: string };

/** What stands in a part of the sheet beside the evidence; surveys stand side by side elsewhere. */
export function entryBlocks(
  entries: readonly Item[],
  composing: Composing,
  beside: (entry: string) => readonly Block[],
): Block[] {
  const cranks = entries.filter((e) => saysOf(e.says)?.kind === "crank");
  return [
    ...(cranks.length === 0 ? [] : crankTables(cranks, composing)),
    ...statementBlocks(entries, composing, beside),
  ];
}

/** Without the tables of cranks. */
export function statementBlocks(
  entries: readonly Item[],
  composing: Composing,
  beside: (entry: string) => readonly Block[],
): Block[] {
  const blocks: Block[] = [];
  for (const run of runsOf(entries)) {
    const [entry] = run;
    if (entry === undefined) continue;
    const kind = saysOf(entry.says)?.kind;
    if (kind === "advice") blocks.push(...adviceBlocks(entry, composing));
    else if (kind === "before-after") blocks.push(...comparedBlocks(entry, composing));
    else if (run.length > 1) blocks.push(together(entry, run, composing));
    // A crank has its row in the table; its sentence stands only where the person wrote one.
    else if (kind !== "crank" || entry.words.trim() !== "") blocks.push(statement(entry, composing));
    for (const { id: shown } of run) blocks.push(...beside(shown));
  }
  return blocks;
}

/** What was measured channel by channel during one mark stands together, as long as nobody reworded it. */
function runsOf(entries: readonly Item[]): Item[][] {
  const runs: Item[][] = [];
  for (const entry of entries) {
    const last = runs.at(-1);
    const mark = markOf(entry);
    if (last !== undefined && mark !== null && last.every((e) => markOf(e) === mark)) last.push(entry);
    else runs.push([entry]);
  }
  return runs;
}

function markOf({ says, words, tie }: Item): string | null {
  const said = saysOf(says);
  return said?.kind !== "comparison" || words.trim() !== "" ? null : `${tie.file} ${said.comparison.markId}`;
}

function together(first: Item, run: readonly Item[], composing: Composing): StatementBlock {
  const blocks = run.map((entry) => statement(entry, composing));
  return {
    ...statement(first, composing),
    words: "",
    figures: blocks.map((b) => b.words),
    notes: [...new Set(blocks.flatMap((b) => b.notes))],
    problem: [...new Set(blocks.map((b) => b.problem).filter((text) => text !== ""))].join(" "),
  };
}

function statement(entry: Item, composing: Composing): StatementBlock {
  const said = statementOf(entry, composing.system);
  const { mask } = composing;
  const words = entry.words.trim();
  return {
    kind: "statement",
    title: mask(said.title),
    verdict: said.verdict,
    words: words === "" ? mask(said.generated) : words,
    generated: words === "" ? "" : mask(said.generated),
    // The generated words of a comparison hold all its figures already.
    figures: words === "" && saysOf(entry.says)?.kind === "comparison" ? [] : said.figures.map(mask),
    notes: said.notes.map(mask),
    source: mask(sourceOf(entry, composing)),
    problem: problemOf(entry, composing),
  };
}

function problemOf(entry: Item, { sources }: Composing): string {
  const { state } = sources.evidence(entry.tie);
  return state === "fits" ? "" : tieWords[state];
}

/** So many attempts stand side by side on a sheet of paper. */
const cranksAcross = 6;

/** Attempts of a recording side by side, on their common zero; the number of readings stands in brackets. */
export function crankTables(entries: readonly Item[], composing: Composing): Table[] {
  const files = [...new Set(entries.map((e) => e.tie.file))];
  return files.flatMap((file) => {
    const own = entries.filter((e) => e.tie.file === file);
    const problems = [...new Set(own.map((e) => problemOf(e, composing)).filter((p) => p !== ""))];
    const cranks = own.flatMap((e) => {
      const says = saysOf(e.says);
      return says?.kind === "crank" ? [says.crank] : [];
    });
    const tables: Table[] = [];
    for (let i = 0; i < cranks.length; i += cranksAcross) {
      const some = cranks.slice(i, i + cranksAcross);
      const which = some.length === cranks.length ? "" : ` ${some.map((c) => c.number).join(", ")}`;
      const lead = `Cranks${which} of ${composing.mask(file)}; number of readings in brackets.`;
      tables.push(crankTable(some, [lead, ...problems].join(" "), composing.system));
    }
    return tables;
  });
}

function crankTable(cranks: readonly Crank[], caption: string, system: UnitSystem): Table {
  const figures = cranks.map((crank) => new Map(crankFigures(crank, system).map((f) => [f.what, f.words])));
  const rows = [...new Set(figures.flatMap((f) => [...f.keys()]))];
  return {
    kind: "table",
    caption,
    head: ["crank", ...cranks.map((c) => String(c.number))],
    rows: [
      ["at", ...cranks.map((c) => clockText(c.from))],
      ["ended", ...cranks.map((c) => outcomeWords[c.outcome])],
      ["length", ...cranks.map((c) => `${c.lengthS.toFixed(1)} s`)],
      ...rows.map((what) => [what, ...figures.map((f) => f.get(what) ?? "–")]),
    ],
  };
}

/** "first.ndjson, 2024-03-02 09:00:12". */
function sourceOf(entry: Item, { job }: Composing): string {
  const when = wallText(job, entry.tie, offsetOf(entry));
  return when === "" ? entry.tie.file : `${entry.tie.file}, ${when}`;
}
