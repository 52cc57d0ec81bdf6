/** A clip as a block: its chart, its table of figures, its CSV. */
import { clockText } from "../../interpret/report/text.ts";
import { chartSvg, type ChartSide } from "../chart/svg.ts";
import { clipCsv } from "../csv.ts";
import { tieWords, type TiedSource } from "../tied.ts";
import { channelFigures, meanDifference } from "../figures.ts";
import type { Clip, Tie } from "../job.ts";
import type { ChartBlock, Table } from "./blocks.ts";
import { benchWords, inventedWords, type Composing } from "./composing.ts";

interface Side {
  readonly tie: Tie;
  readonly from: number;
  readonly to: number;
  readonly title: string;
}

/** `name` is that of its files, unique in the note. */
export function chartBlock(
  clip: Clip & { readonly id: string },
  number: number,
  composing: Composing,
  name = `clip-${number}`,
): ChartBlock {
  const { sources, mask } = composing;
  const sides = sidesOf(clip);
  const found = sides.map((side) => ({ side, ...sources.evidence(side.tie) }));
  const problems = found.flatMap((f) =>
    f.state === "fits" ? [] : [`${mask(f.side.tie.file)}: ${tieWords[f.state]}`],
  );
  const from = sides.map((side) => sourceWords(side, composing));
  const source = from.join("; ");
  const base = {
    kind: "chart",
    name,
    number,
    caption: clip.caption.trim(),
    source,
    problem: problems.join(" "),
  } as const;
  const ready = found.flatMap((f) => (f.source === null ? [] : [{ side: f.side, source: f.source }]));
  const channels = clip.lanes.flat();
  const alt = altText(ready[0]?.source ?? null, channels, sides);
  if (problems.length > 0 || ready.length !== sides.length) {
    return { ...base, alt, svg: null, figures: null, csv: [] };
  }
  return {
    ...base,
    alt,
    svg: chartSvg({
      sides: ready.map(({ side, source: s }): ChartSide => ({
        reading: s.reading,
        spans: s.spans,
        ranges: s.ranges,
        stretch: side,
        ...(side.title === "" ? {} : { title: side.title }),
      })),
      lanes: clip.lanes,
      system: composing.system,
      id: name,
      title: clip.caption.trim() === "" ? `Clip ${number}` : clip.caption.trim(),
      description: alt,
      foot: [...from, ...inventedFoot(composing, ready)],
      mask,
    }),
    figures: figuresTable(ready, channels, composing),
    csv: ready.map(({ side, source: s }) => ({
      name: `${name}${side.title === "" ? "" : `-${side.title}`}.csv`,
      text: () => clipCsv(s.reading, channels, side, mask),
    })),
  };
}

function sidesOf(clip: Clip): Side[] {
  const { tie, from, to, against } = clip;
  if (against === undefined) return [{ tie, from, to, title: "" }];
  return [
    { tie, from, to, title: "before" },
    { ...against, title: "after" },
  ];
}

function sourceWords({ tie, from, to, title }: Side, { mask, sources }: Composing): string {
  const started = sources.evidence(tie).source?.reading.header?.started;
  const when = started === undefined ? "" : `, started ${started}`;
  const lead = title === "" ? "" : `${title}: `;
  return `${lead}${mask(tie.file)}${when}, ${clockText(from)} to ${clockText(to)}`;
}

function inventedFoot({ invented }: Composing, ready: readonly { source: TiedSource }[]): string[] {
  const own = ready.some(({ source }) => source.reading.invented);
  if (!own) return [];
  const bench = ready.some(({ source }) => source.reading.header?.from.startsWith("bench:") === true);
  return [bench ? benchWords : (invented ?? inventedWords)];
}

function altText(source: TiedSource | null, channels: readonly string[], sides: readonly Side[]): string {
  const names = channels.map((channel) => source?.reading.info(channel).name ?? channel).join(", ");
  const times = sides.map(({ from, to }) => `${clockText(from)} to ${clockText(to)}`).join(" beside ");
  return `Chart over time, ${times}: ${names}.`;
}

function figuresTable(
  ready: readonly { readonly side: Side; readonly source: TiedSource }[],
  channels: readonly string[],
  { system }: Composing,
): Table {
  const of = (i: number, channel: string) => {
    const side = ready[i];
    return side === undefined ? null : channelFigures(side.source.reading, channel, side.side, system);
  };
  const rows = channels.flatMap((channel): string[][] => {
    const first = of(0, channel);
    if (first === null) return [];
    const second = of(1, channel);
    const row = [first.name, String(first.readings), first.rate, first.lowest, first.mean, first.highest];
    if (second === null) return [row];
    const unit = ready[0]?.source.reading.info(channel).unit ?? "ratio";
    return [
      ["before", ...row, ""],
      [
        "after",
        ...[second.name, String(second.readings), second.rate, second.lowest, second.mean, second.highest],
        meanDifference(first, second, { unit, system }),
      ],
    ];
  });
  const head = ["channel", "readings", "sampled", "lowest", "mean", "highest"];
  return {
    kind: "table",
    caption: "Figures of this stretch.",
    head: ready.length > 1 ? ["", ...head, "difference of the means"] : head,
    rows,
  };
}
