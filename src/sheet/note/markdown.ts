/** The note as Markdown with its pictures beside it. */
import { plainText } from "../markup.ts";
import {
  frontTitles,
  type Block,
  type ChartBlock,
  type Front,
  type FrontPart,
  type Note,
  type PhotoBlock,
  type Table,
} from "./blocks.ts";

export interface NoteFile {
  /** `note.md`, or a name in the folders `pictures/` and `clips/`. */
  readonly name: string;
  readonly content: string | Uint8Array;
}

const endings = { "image/jpeg": "jpg", "image/png": "png", "image/webp": "webp" } as const;

export function noteMarkdown(note: Note): NoteFile[] {
  const files: NoteFile[] = [];
  const said = note.said === "" ? [] : [`**${text(note.said)}**`, ""];
  const lines = [`# ${text(note.title)}`, "", ...said, ...note.lines.flatMap((l) => [`${text(l)}  `]), ""];
  if (note.invented !== null) lines.push(`**${text(note.invented)}**`, "");
  if (note.front !== null) lines.push(...frontLines(note.front, files));
  if (note.front !== null && note.sections.length > 0) lines.push("---", "", `# ${frontTitles.annex}`, "");
  for (const section of note.sections) {
    lines.push(`## ${text(section.title)}`, "");
    for (const block of section.blocks) lines.push(...blockLines(block, files), "");
  }
  lines.push("---", "", text(note.writer), "");
  return [{ name: "note.md", content: lines.join("\n").replace(/\n{3,}/g, "\n\n") }, ...files];
}

function frontLines(front: Front, files: NoteFile[]): string[] {
  const { picture, compared, driver } = front;
  const part = ({ title, words }: FrontPart): string[] =>
    words === "" ? [] : [`## ${text(title)}`, "", text(words), ""];
  const shown =
    picture === null
      ? []
      : [...pictureLines(picture, files), text(picture.caption), ""].filter(
          (l, i, all) => l !== "" || i === all.length - 1,
        );
  return [
    ...front.facts.map(([label, words]) => `- ${text(label)}: ${text(words)}`),
    "",
    ...part(front.complaint),
    ...part(front.found),
    ...shown,
    ...part(front.proved),
    ...part(front.done),
    ...(compared === null ? [] : [`## ${frontTitles.compared}`, "", ...tableLines(compared), ""]),
    ...part(front.left),
    ...part(front.back),
    ...(driver.length === 0
      ? []
      : [`## ${frontTitles.driver}`, "", ...driver.map((l) => `- ${text(l)}`), ""]),
  ];
}

function blockLines(block: Block, files: NoteFile[]): string[] {
  switch (block.kind) {
    case "text":
      return paragraphs(block.text);
    case "heading":
      return [`### ${text(block.text)}`];
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

/** The picture beside the note, and the line that shows it; or what is wrong with it. */
function pictureLines(block: ChartBlock, files: NoteFile[]): string[] {
  if (block.svg === null) return [`**${text(block.problem)}**`, ""];
  const name = `pictures/${block.name}.svg`;
  files.push({ name, content: `<?xml version="1.0" encoding="UTF-8"?>\n${block.svg.text}\n` });
  return [`![${text(block.alt)}](${name})`, ""];
}

function chartLines(block: ChartBlock, files: NoteFile[]): string[] {
  const lines = block.svg === null ? [] : pictureLines(block, files);
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
  const cell = (words: string): string => words.split("\n").map(text).join("<br>");
  const row = (cells: readonly string[]): string =>
    `| ${cells.map((c) => (c === "" ? " " : cell(c))).join(" | ")} |`;
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
