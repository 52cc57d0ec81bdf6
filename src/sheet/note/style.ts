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
.said { font-size: 17px; font-weight: 600; line-height: 1.35; }
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
td { white-space: pre-line; }
.from { margin-top: 18px; padding-top: 4px; border-top: 1px dashed #d8d3c4; overflow-wrap: anywhere; }
.front { margin-bottom: 30px; }
.front h2 { font-size: 14px; margin: 12px 0 2px; padding: 0; border: 0; color: #5a5547; }
.front dl { display: flex; flex-wrap: wrap; gap: 2px 18px; }
.front dl div { display: flex; gap: 6px; min-width: 0; }
.front .found p { font-size: 17px; font-weight: 600; }
.front figure { margin: 6px 0; }
.front figcaption { color: #5a5547; font-size: 13px; }
.front .pair { display: grid; grid-template-columns: 1fr 1fr; gap: 0 24px; }
.front .driver { border: 1px solid #a34700; padding: 0 10px 4px; margin-top: 10px; }
.front .driver ul { margin: 2px 0 4px; padding-left: 18px; }
.annex-title { font-size: 21px; border-bottom: 2px solid #1d222b; }
@media (max-width: 640px) {
  body { padding: 14px 12px 30px; font-size: 16px; }
  .chart svg { min-width: 600px; }
  dl { grid-template-columns: 1fr; } dd { margin-bottom: 6px; }
  .front .pair { grid-template-columns: 1fr; }
}
@media print {
  body { max-width: none; padding: 0; background: #ffffff; font-size: 11pt; }
  h1, h2, h3, caption { break-after: avoid; }
  figure, .statement, .check, tr, dl, .invented, .wide { break-inside: avoid; }
  thead { display: table-header-group; }
  .chart, .wide { overflow: visible; }
  .chart svg { max-height: 215mm; }
  figure img { max-height: 150mm; width: auto; }
  table { font-size: 9pt; }
  .front { height: calc(100vh - 1mm); margin: 0; display: flex; flex-direction: column; font-size: 10pt; line-height: 1.35; break-inside: avoid; }
  .front > * { flex: none; }
  .front h1 { font-size: 15pt; }
  .front h2 { font-size: 9pt; margin-top: 2.2mm; }
  .front p { margin-bottom: 1mm; }
  .front .soft { font-size: 8.5pt; margin: 0; }
  .front .invented { margin: 1mm 0; padding: 0.5mm 2mm; }
  .front dl { margin: 1.5mm 0 0; }
  .front .found p { font-size: 12pt; }
  .front figure { flex: 0 1 auto; min-height: 0; display: flex; flex-direction: column; margin: 1.5mm 0; }
  .front figure .chart { flex: 0 1 auto; min-height: 0; }
  .front .chart svg { width: 100%; height: auto; max-height: 100%; }
  .front figcaption { flex: none; font-size: 8.5pt; }
  .front table { min-width: 60%; margin: 0; }
  .front .driver { margin-top: 2.5mm; }
  .front.dense { font-size: 9pt; line-height: 1.25; }
  .front.dense .found p { font-size: 10pt; }
  .front.dense h2 { font-size: 8.5pt; margin-top: 1.4mm; }
  .front.dense td, .front.dense th { padding: 0.4mm 9px 0.4mm 0; }
  .annex { break-before: page; }
  .front + .annex .annex-title { margin-top: 0; }
}
`;

/** `footer` stands at the foot of every printed page; it is one of our own sentences, never a person's. */
export function noteStyle(footer: string | null): string {
  const foot =
    footer === null ? "" : `@bottom-left { content: "${footer}"; font: 600 9pt sans-serif; color: #7a3500; }`;
  return `${base}@page { margin: 14mm 13mm 16mm; ${foot} @bottom-right { content: counter(page) " / " counter(pages); font: 9pt sans-serif; } }\n`;
}
