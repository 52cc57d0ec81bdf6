/** The note as one HTML file that needs nothing else: no script, no request. */
import { capital } from "../../../shared/letters.ts";
import { base64 } from "../base64.ts";
import { Markup, markup, plainText, type Piece } from "../markup.ts";
import {
  frontTitles,
  type Block,
  type ChartBlock,
  type CheckBlock,
  type Front,
  type FrontPart,
  type Note,
  type PhotoBlock,
  type Section,
  type StatementBlock,
  type Table,
} from "./blocks.ts";
import { noteStyle } from "./style.ts";

/** Nothing may be loaded and nothing may run, whatever is written on the sheet. */
const policy =
  "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'";

export function noteHtml(note: Note): string {
  const banner = note.invented === null ? null : markup`<p class="invented">${capital(note.invented)}</p>\n`;
  const named = namesOnce();
  const head = markup`<header>
<h1>${plain(note.title)}</h1>
${note.said === "" ? null : markup`<p class="said">${plain(note.said)}</p>\n`}<p class="soft">${plain(note.lines.join(" · "))}</p>
${banner}</header>
`;
  const foot = markup`<footer>
<p class="soft">${plain(note.writer)}</p>
</footer>
`;
  const annex =
    note.sections.length === 0
      ? null
      : markup`<div class="annex">
${note.front === null ? head : markup`<h2 class="annex-title">${frontTitles.annex}</h2>\n`}${note.sections.map((section) => sectionHtml(section, named))}</div>
`;
  const body = markup`<main>
${note.front === null ? null : frontHtml(note.front, { head, foot: annex === null ? foot : null, named })}${annex}</main>
${annex === null ? null : foot}`;
  return `<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="${policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>${markup`${plain(note.title)}`.text}</title>
<style>${noteStyle(note.invented === null ? null : capital(note.invented))}</style>
</head>
<body>
${body.text}
</body>
</html>
`;
}

function plain(text: string): string {
  return plainText(text);
}

/** Names that are read out tell one part that scrolls from the next: the second of a name is told its number. */
type Named = (name: string) => string;

function namesOnce(): Named {
  const used = new Map<string, number>();
  return (name) => {
    const n = (used.get(name) ?? 0) + 1;
    used.set(name, n);
    return n === 1 ? name : `${name} (${n})`;
  };
}

/** From so many characters on, page one is set smaller. */
const denseFrom = 900;

/** One sheet of paper: its style keeps it there, whatever has to give way. */
function frontHtml(
  front: Front,
  { head, foot, named }: { readonly head: Markup; readonly foot: Piece; readonly named: Named },
): Markup {
  const { picture } = front;
  const figure =
    picture === null
      ? null
      : markup`<figure>
${picture.svg === null ? problemHtml(picture.problem) : markup`<div class="chart">${picture.svg}</div>\n`}<figcaption>${plain(picture.caption)}</figcaption>
</figure>
`;
  const compared =
    front.compared === null
      ? null
      : markup`<section>
<h2>${frontTitles.compared}</h2>
${tableHtml({ ...front.compared, caption: "" }, "small", named)}</section>
`;
  const driver =
    front.driver.length === 0
      ? null
      : markup`<section class="driver">
<h2>${frontTitles.driver}</h2>
<ul>
${front.driver.map((text) => markup`<li>${plain(text)}</li>\n`)}</ul>
</section>
`;
  const facts =
    front.facts.length === 0
      ? null
      : markup`<dl>
${front.facts.map(([label, text]) => markup`<div><dt>${plain(label)}</dt><dd>${plain(text)}</dd></div>\n`)}</dl>
`;
  const parts = [front.complaint, front.found, front.proved, front.done, front.left, front.back];
  const length = [...parts.map((p) => p.words), ...front.driver].join("").length;
  return markup`<article class="front${length > denseFrom ? " dense" : ""}">
${head}${facts}${frontPart(front.complaint)}${frontPart(front.found, "found")}${figure}<div class="pair">
${frontPart(front.proved)}${frontPart(front.done)}</div>
${compared}<div class="pair">
${frontPart(front.left)}${frontPart(front.back)}</div>
${driver}${foot}</article>
`;
}

function frontPart({ title, words }: FrontPart, more = ""): Piece {
  if (words === "") return null;
  return markup`<section${more === "" ? null : markup` class="${more}"`}>
<h2>${title}</h2>
<p>${plain(words)}</p>
</section>
`;
}

function sectionHtml(section: Section, named: Named): Markup {
  return markup`<section aria-labelledby="s-${section.id}">
<h2 id="s-${section.id}">${section.title}</h2>
${section.blocks.map((block) => blockHtml(block, named))}</section>
`;
}

function blockHtml(block: Block, named: Named): Markup {
  switch (block.kind) {
    case "text":
      return markup`<p class="text">${plain(block.text)}</p>\n`;
    case "heading":
      return markup`<h3 class="from">${plain(block.text)}</h3>\n`;
    case "facts":
      return markup`<dl>
${block.pairs.map(([label, text]) => markup`<dt>${plain(label)}</dt><dd>${plain(text)}</dd>\n`)}</dl>
`;
    case "list":
      return markup`<ul>
${block.items.map((text) => markup`<li>${plain(text)}</li>\n`)}</ul>
`;
    case "table":
      return tableHtml(block, "", named);
    case "statement":
      return statementHtml(block);
    case "chart":
      return chartHtml(block, named);
    case "photo":
      return photoHtml(block);
    case "check":
      return checkHtml(block);
  }
}

function tableHtml(table: Table, more: string, named: Named): Markup {
  const label = named(plain(table.caption === "" ? "Table" : table.caption));
  return markup`<div class="wide" role="region" aria-label="${label}" tabindex="0">
<table${more === "" ? null : markup` class="${more}"`}>
${table.caption === "" ? null : markup`<caption>${plain(table.caption)}</caption>\n`}<thead><tr>${table.head.map(headCell)}</tr></thead>
<tbody>
${table.rows.map((row) => markup`<tr>${row.map((cell) => markup`<td>${plain(cell)}</td>`)}</tr>\n`)}</tbody>
</table>
</div>
`;
}

function headCell(text: string): Markup {
  return text === "" ? markup`<td></td>` : markup`<th scope="col">${plain(text)}</th>`;
}

function lines(texts: readonly string[]): Piece {
  if (texts.length === 0) return null;
  return markup`<ul class="soft">
${texts.map((text) => markup`<li>${plain(text)}</li>\n`)}</ul>
`;
}

function statementHtml(block: StatementBlock): Markup {
  const verdict = block.verdict === "" ? null : markup` <span class="verdict">· ${block.verdict}</span>`;
  return markup`<div class="statement">
<h3>${plain(block.title)}${verdict}</h3>
${block.words === "" ? null : markup`<p class="text">${plain(block.words)}</p>\n`}${problemHtml(block.problem)}${block.generated === "" ? null : markup`<p class="soft">As generated: ${plain(block.generated)}</p>\n`}${lines(block.figures)}${lines(block.notes)}<p class="soft">From ${plain(block.source)}</p>
</div>
`;
}

function problemHtml(problem: string): Piece {
  return problem === "" ? null : markup`<p class="problem">${plain(problem)}</p>\n`;
}

function chartHtml(block: ChartBlock, named: Named): Markup {
  const caption = block.caption === "" ? "" : ` ${block.caption}`;
  return markup`<figure>
${block.svg === null ? null : markup`<div class="chart" role="region" aria-label="Chart ${block.number}" tabindex="0">${block.svg}</div>\n`}<figcaption><p class="text"><strong>Clip ${block.number}.</strong>${plain(caption)}</p>
${problemHtml(block.problem)}${block.svg === null ? markup`<p class="soft">${plain(block.source)}</p>` : null}</figcaption>
</figure>
${block.figures === null ? null : tableHtml({ ...block.figures, caption: `Clip ${block.number}: figures of this stretch` }, "", named)}`;
}

function photoHtml(block: PhotoBlock): Markup {
  const alt = block.caption.trim() === "" ? "Photo" : block.caption;
  const image =
    block.bytes === null
      ? null
      : markup`<img src="data:${block.type};base64,${new Markup(base64(block.bytes))}" width="${block.width}" height="${block.height}" alt="${plain(alt)}">\n`;
  return markup`<figure>
${image}<figcaption>${problemHtml(block.problem)}<p class="text">${plain(block.caption)}</p></figcaption>
</figure>
`;
}

function checkHtml(block: CheckBlock): Markup {
  const withdrawn =
    block.withdrawn === null ? null : markup`<p class="problem">Withdrawn: ${plain(block.withdrawn)}</p>\n`;
  const name = block.withdrawn === null ? markup`${plain(block.name)}` : markup`<s>${plain(block.name)}</s>`;
  return markup`<div class="check">
<h3>${name}</h3>
${withdrawn}${lines(block.lines)}</div>
`;
}
