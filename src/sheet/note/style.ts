/** The note's own style: calm on a screen, narrow on a phone, whole charts on paper. No font or picture from outside. */
const base = `
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 820px; padding: 20px 18px 40px; background: #fffefa; color: #1d222b;
  font: 15px/1.5 system-ui, "Segoe UI", "Noto Sans", "DejaVu Sans", sans-serif; overflow-wrap: anywhere; }
h1 { font-size: 25px; line-height: 1.25; margin: 0 0 4px; }
h2 { font-size: 18px; margin: 28px 0 8px; padding-bottom: 3px; border-bottom: 1px solid #d8d3c4; }
h3 { font-size: 15px; margin: 0; }
p { margin: 0 0 8px; }
.text { white-space: pre-line; }
.soft { color: #5a5547; font-size: 13px; }
.invented { border: 2px solid #a34700; padding: 6px 10px; margin: 12px 0; font-weight: 600; color: #7a3500; }
.problem { color: #8a3b00; font-weight: 600; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: 2px 14px; margin: 0 0 8px; }
dt { color: #5a5547; } dd { margin: 0; }
.statement, .check { border-left: 3px solid #005f96; padding: 2px 0 2px 10px; margin: 10px 0; }
.statement ul, .check ul { margin: 4px 0; padding-left: 18px; }
.verdict { color: #5a5547; }
.check s { color: #5a5547; }
figure { margin: 14px 0; }
figcaption { margin-top: 4px; }
figure img { max-width: 100%; height: auto; border: 1px solid #d8d3c4; }
.chart, .wide { overflow-x: auto; }
.chart svg { display: block; width: 100%; height: auto; }
table { border-collapse: collapse; font-size: 13px; margin: 6px 0; min-width: min(100%, 520px); }
caption { text-align: left; color: #5a5547; padding-bottom: 3px; }
th, td { text-align: left; vertical-align: top; padding: 3px 9px 3px 0; border-bottom: 1px solid #d8d3c4; overflow-wrap: normal; }
th { color: #5a5547; font-weight: 600; }
.sum td { overflow-wrap: anywhere; }
@media (max-width: 640px) {
  body { padding: 14px 12px 30px; font-size: 16px; }
  .chart svg { min-width: 600px; }
  dl { grid-template-columns: 1fr; } dd { margin-bottom: 6px; }
}
@media print {
  body { max-width: none; padding: 0; background: #ffffff; font-size: 11pt; }
  h1, h2, h3, caption { break-after: avoid; }
  figure, .statement, .check, tr, dl, .invented { break-inside: avoid; }
  thead { display: table-header-group; }
  .chart, .wide { overflow: visible; }
  .chart svg { max-height: 215mm; }
  figure img { max-height: 150mm; width: auto; }
  table { font-size: 9pt; }
}
`;

/** `footer` stands at the foot of every printed page; it is one of our own sentences, never a person's. */
export function noteStyle(footer: string | null): string {
  const foot =
    footer === null ? "" : `@bottom-left { content: "${footer}"; font: 600 9pt sans-serif; color: #7a3500; }`;
  return `${base}@page { margin: 14mm 13mm 16mm; ${foot} @bottom-right { content: counter(page) " / " counter(pages); font: 9pt sans-serif; } }\n`;
}
