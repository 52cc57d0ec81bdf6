/** The note as Markdown with its pictures beside it. */
import { plainText } from "../markup.ts";
import type { Block, ChartBlock, Note, PhotoBlock, Table } from "./blocks.ts";

export interface NoteFile {
  /** `note.md`, or a name in the folders `pictures/` and `clips/`. */
  readonly name: string;
  readonly content: string | Uint8Array;
}

const endings = { "image/jpeg": "jpg", "image/png": "png", "image/webp": "webp" } as const;

export function noteMarkdown(note: Note): NoteFile[] {
  const files: NoteFile[] = [];
  const lines = [`# ${text(note.title)}`, "", ...note.lines.flatMap((l) => [`${text(l)}  `]), ""];
  if (note.invented !== null) lines.push(`**${text(note.invented)}**`, "");
  for (const section of note.sections) {
    lines.push(`## ${text(section.title)}`, "");
    for (const block of section.blocks) lines.push(...blockLines(block, files), "");
  }
  lines.push("---", "", text(note.writer), "");
  return [{ name: "note.md", content: lines.join("\n").replace(/\n{3,}/g, "\n\n") }, ...files];
}

function blockLines(block: Block, files: NoteFile[]): string[] {
  switch (block.kind) {
    case "text":
      return paragraphs(block.text);
    case "facts":
      return block.pairs.map(([label, words]) => `- ${text(label)}: ${text(words)}`);
    case "list":
      return block.items.map((item) => `- ${text(item)}`);
    case "table":
      return tableLines(block);
    case "statement":
      return [
        `**${text(block.title)}**${block.verdict === "" ? "" : ` (${text(block.verdict)})`}`,
        "",
        ...paragraphs(block.words),
        ...(block.problem === "" ? [] : ["", `**${text(block.problem)}**`]),
        ...(block.generated === "" ? [] : ["", `As generated: ${text(block.generated)}`]),
        "",
        ...[...block.figures, ...block.notes, `From ${block.source}`].map((line) => `- ${text(line)}`),
      ];
    case "chart":
      return chartLines(block, files);
    case "photo":
      return photoLines(block, files);
    case "check": {
      const name = text(block.name);
      const withdrawn = block.withdrawn === null ? [] : [`- Withdrawn: ${text(block.withdrawn)}`];
      return [
        block.withdrawn === null ? `**${name}**` : `~~${name}~~`,
        "",
        ...withdrawn,
        ...block.lines.map((line) => `- ${text(line)}`),
      ];
    }
  }
}

function chartLines(block: ChartBlock, files: NoteFile[]): string[] {
  const lines: string[] = [];
  if (block.svg !== null) {
    const name = `pictures/${block.name}.svg`;
    files.push({ name, content: `<?xml version="1.0" encoding="UTF-8"?>\n${block.svg.text}\n` });
    lines.push(`![${text(block.alt)}](${name})`, "");
  }
  lines.push(`**Clip ${block.number}.** ${text(block.caption)}`.trimEnd(), "");
  if (block.problem !== "") lines.push(`**${text(block.problem)}**`, "");
  lines.push(text(block.source), "");
  for (const { name, text: content } of block.csv) {
    files.push({ name: `clips/${name}`, content: content() });
    lines.push(`[The readings as CSV](clips/${name})`, "");
  }
  return block.figures === null ? lines : [...lines, ...tableLines(block.figures)];
}

function photoLines(block: PhotoBlock, files: NoteFile[]): string[] {
  if (block.bytes === null) return [`**${text(block.problem)}**`, "", text(block.caption)];
  const name = `pictures/${block.name}.${endings[block.type]}`;
  files.push({ name, content: block.bytes });
  return [`![${text(block.caption === "" ? "Photo" : block.caption)}](${name})`, "", text(block.caption)];
}

function tableLines({ caption, head, rows }: Table): string[] {
  const row = (cells: readonly string[]): string =>
    `| ${cells.map((c) => (c === "" ? " " : text(c))).join(" | ")} |`;
  const rule = `| ${head.map(() => "---").join(" | ")} |`;
  return [...(caption === "" ? [] : [text(caption), ""]), row(head), rule, ...rows.map(row)];
}

/** A blank line stays one; a line end within a paragraph is a line break. */
function paragraphs(words: string): string[] {
  return words.split(/\r\n|\r|\n/).map((line) => (line.trim() === "" ? "" : `${text(line)}  `));
}

/** On one line, with everything escaped that Markdown or the HTML inside it would take for more than text. */
function text(words: string): string {
  return plainText(words)
    .replace(/\s*[\r\n]+\s*/g, " ")
    .replace(/[\u0000-\u001F\u007F]/g, " ")
    .replace(/&/g, "&amp;")
    .replace(/</g, "&lt;")
    .replace(/>/g, "&gt;")
    .replace(/[\\`*_{}[\]|~]/g, "\\$&")
    .replace(/^\s*(?=[#+=-])/, "\\")
    .replace(/^(\s*\d+)([.)])/, "$1\\$2");
}
