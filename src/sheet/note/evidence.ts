/** What was seen, recording by recording in the order of time, each with its time and figures. */
import { inOrder, type Clip, type Entry, type JobDocument } from "../job.ts";
import { saysOf, type Says } from "../snapshot.ts";
import type { SectionId } from "../sections.ts";
import type { Block } from "./blocks.ts";
import { dateText, type Composing } from "./composing.ts";
import { crankTables, statementBlocks } from "./entries.ts";
import { instantOf, offsetOf, startedOf } from "./times.ts";

type Item = Entry & { readonly id: string };
type ClipItem = Clip & { readonly id: string };

/** Parts of the sheet whose items are evidence, put in order by time here. */
export const evidenceParts: ReadonlySet<SectionId> = new Set(["cranks", "signs"]);

const duringMarks: ReadonlySet<string> = new Set([
  "comparison",
  "balance",
  "wiggle",
] satisfies Says["kind"][]);

/** What was measured during marks and cylinder by cylinder is evidence too, though it stands beside the hand checks. */
export function isEvidence({ section, says }: Entry): boolean {
  const kind = saysOf(says)?.kind;
  return evidenceParts.has(section) || (section === "checks" && kind !== undefined && duringMarks.has(kind));
}

interface Showing {
  /** Clips that show this entry. */
  readonly beside: (entry: string) => readonly Block[];
  readonly chart: (clip: ClipItem) => Block;
  /** Clips that stand beside nothing else. */
  readonly alone: readonly ClipItem[];
}

export function evidenceBlocks(composing: Composing, { beside, chart, alone }: Showing): Block[] {
  const { job } = composing;
  const wanted = (section: SectionId): boolean => job.leftOut[section] !== true;
  const entries = inOrder(job.entries).filter((e) => isEvidence(e) && wanted(e.section));
  const clips = alone.filter(
    (c) => wanted(c.section) && (evidenceParts.has(c.section) || c.section === "checks"),
  );
  const words = [...evidenceParts].flatMap((section): Block[] => {
    const text = job.texts[section]?.trim() ?? "";
    return text === "" || !wanted(section) ? [] : [{ kind: "text", text }];
  });
  const files = [...new Set([...entries, ...clips].map((item) => item.tie.file))];
  const byTime = files
    .map((file) => ({ file, at: instantOf(job, { file, bytes: 0, sha256: "" }) }))
    .sort((a, b) => a.at - b.at || (a.file < b.file ? -1 : 1));
  return [
    ...words,
    ...byTime.flatMap(({ file }) => {
      const own = entries.filter((e) => e.tie.file === file);
      const cranks = own.filter((e) => saysOf(e.says)?.kind === "crank");
      return [
        { kind: "heading", text: composing.mask(headingOf(job, file)) } as const,
        ...(cranks.length === 0 ? [] : crankTables(cranks, composing)),
        ...inTime(
          own,
          clips.filter((c) => c.tie.file === file),
        ).flatMap((piece) =>
          "clip" in piece ? [chart(piece.clip)] : statementBlocks(piece.entries, composing, beside),
        ),
      ];
    }),
  ];
}

function headingOf(job: JobDocument, file: string): string {
  const started = startedOf(job, file);
  const caption =
    inOrder(job.recordings)
      .find((r) => r.tie.file === file)
      ?.caption.trim() ?? "";
  const words = [started === null ? "" : dateText(started), file, caption];
  return words.filter((text) => text !== "").join(" · ");
}

type Piece = { readonly entries: readonly Item[] } | { readonly clip: ClipItem };

/** Entries between two clips stay together, so that what belongs to one mark can stand in one piece. */
function inTime(entries: readonly Item[], clips: readonly ClipItem[]): Piece[] {
  const all = [
    ...entries.map((entry) => ({ at: offsetOf(entry), order: entry.order, entry })),
    ...clips.map((clip) => ({ at: clip.from, order: clip.order, clip })),
  ].sort((a, b) => a.at - b.at || a.order - b.order);
  const pieces: Piece[] = [];
  for (const one of all) {
    const last = pieces.at(-1);
    if ("clip" in one) pieces.push({ clip: one.clip });
    else if (last !== undefined && "entries" in last)
      pieces[pieces.length - 1] = { entries: [...last.entries, one.entry] };
    else pieces.push({ entries: [one.entry] });
  }
  return pieces;
}
