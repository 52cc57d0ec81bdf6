/** Statements that were put on the sheet, as blocks; cranks and module surveys as tables. */
import { inOrder, type Entry } from "../job.ts";
import { tieWords } from "../evidence.ts";
import type { SectionId } from "../sections.ts";
import { crankFigures, statementOf } from "../statement.ts";
import { clockText, outcomeWords } from "../../interpret/text.ts";
import type { Block, StatementBlock, Table } from "./blocks.ts";
import type { Composing } from "./composing.ts";

type Item = Entry & { readonly id: string };

export function entryBlocks(id: SectionId, composing: Composing): Block[] {
  const entries = inOrder(composing.job.entries).filter((e) => e.section === id);
  const cranks = entries.filter((e) => e.says.kind === "crank");
  const blocks: Block[] = cranks.length === 0 ? [] : crankTables(cranks, composing);
  for (const entry of entries) {
    if (entry.says.kind === "modules") blocks.push(...moduleTables(entry, composing));
    // A crank has its row in the table; its sentence stands only where the person wrote one.
    else if (entry.says.kind !== "crank" || entry.words.trim() !== "")
      blocks.push(statement(entry, composing));
  }
  return blocks;
}

function statement(entry: Item, composing: Composing): StatementBlock {
  const said = statementOf(entry.says, composing.system);
  const { mask } = composing;
  const words = entry.words.trim();
  return {
    kind: "statement",
    title: mask(said.title),
    verdict: said.verdict,
    words: words === "" ? mask(said.generated) : words,
    generated: words === "" ? "" : mask(said.generated),
    figures: said.figures.map(mask),
    notes: said.notes.map(mask),
    source: mask(entry.tie.file),
    problem: problemOf(entry, composing),
  };
}

function problemOf(entry: Item, { sources }: Composing): string {
  const { state } = sources.evidence(entry.tie);
  return state === "fits" ? "" : tieWords[state];
}

/** One table a recording: rows are the attempts on their common zero, columns what was measured of any of them. */
function crankTables(entries: readonly Item[], composing: Composing): Table[] {
  const files = [...new Set(entries.map((e) => e.tie.file))];
  return files.map((file) => {
    const own = entries.filter((e) => e.tie.file === file);
    const cranks = own.flatMap((e) => (e.says.kind === "crank" ? [{ entry: e, crank: e.says.crank }] : []));
    const figures = cranks.map(
      ({ crank }) => new Map(crankFigures(crank, composing.system).map((f) => [f.what, f.words])),
    );
    const columns = [...new Set(figures.flatMap((f) => [...f.keys()]))];
    const problems = [...new Set(own.map((e) => problemOf(e, composing)).filter((p) => p !== ""))];
    return {
      kind: "table",
      caption: [
        `Cranks of ${composing.mask(file)}, each with the number of readings behind it.`,
        ...problems,
      ].join(" "),
      head: ["crank", "at", "ended", "length", ...columns],
      rows: cranks.map(({ crank }, i) => [
        String(crank.number),
        clockText(crank.from),
        outcomeWords[crank.outcome],
        `${crank.lengthS.toFixed(1)} s`,
        ...columns.map((c) => figures[i]?.get(c) ?? "–"),
      ]),
    };
  });
}

function moduleTables(entry: Item, { mask }: Composing): Block[] {
  if (entry.says.kind !== "modules") return [];
  const tables: Block[] = entry.says.modules.map((m) => ({
    kind: "table",
    caption: `Module ${m.module}`,
    head: ["what", "it says"],
    rows: m.rows.map((r) => [mask(r.what), mask(r.says)]),
  }));
  const words = entry.words.trim();
  return words === "" ? tables : [{ kind: "text", text: words }, ...tables];
}
