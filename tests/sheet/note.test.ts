/** The note: valid, harmless whatever is written on the sheet, and true to the recording. */
import { parse } from "csv-parse/sync";
import { HtmlValidate } from "html-validate";
import { expect, test } from "vitest";
import { base64 } from "../../src/sheet/base64.ts";
import { clipCsv } from "../../src/sheet/csv.ts";
import { checkJob, type JobDocument } from "../../src/sheet/job.ts";
import { leavingJob, maskOf } from "../../src/sheet/mask.ts";
import type { ChartBlock, Note } from "../../src/sheet/note/blocks.ts";
import { composeNote, type NoteOptions } from "../../src/sheet/note/compose.ts";
import { noteHtml } from "../../src/sheet/note/html.ts";
import { noteMarkdown } from "../../src/sheet/note/markdown.ts";
import { sections } from "../../src/sheet/sections.ts";
import { noteRules } from "../support/noteRules.ts";
import { clip, created, jobWith, readingOf, recordingItem, sourcesOf, tie } from "./support.ts";

const options: NoteOptions = { system: "metric", made: created, writer: "test" };
const checker = new HtmlValidate(noteRules);

const evil = `"'><script>alert(1)</script><img src=x onerror=alert(2)>&lt;\u202E\u0000](javascript:alert(3)) =1+1`;

function full(text: string): JobDocument {
  const item = { order: 1 };
  return jobWith({
    who: { customer: text.slice(0, 400), mechanic: text.slice(0, 400), plate: text.slice(0, 40) },
    vehicle: { name: text.slice(0, 120), vin: text.slice(0, 17), cylinders: 6 },
    texts: Object.fromEntries(sections.map((id) => [id, text])),
    cautions: { a: { ...item, text } },
    recordings: { a: recordingItem },
    clips: {
      a: { ...clip, caption: text },
      b: { ...clip, section: "compared", caption: text, against: { tie, from: 0, to: 4000 } },
    },
    photos: {
      a: {
        ...{ ...item, section: "checks", file: "0123456789abcdef.jpg", type: "image/jpeg" },
        ...{ width: 10, height: 10, bytes: 3, sha256: tie.sha256, caption: text },
      },
    },
    entries: {
      a: {
        ...{ ...item, section: "modules", tie, words: text },
        says: {
          kind: "modules",
          modules: [{ module: "7E8", rows: [{ what: text.slice(0, 400), says: text }] }],
        },
      },
    },
    checks: {
      a: {
        ...{
          ...item,
          check: null,
          name: text,
          outcome: null,
          seen: text,
          reading: { value: 1, unit: text.slice(0, 20) },
        },
        ...{ at: created, by: text, notes: text, photos: [], withdrawn: text },
      },
    },
    causes: { a: { ...item, cause: null, name: text, standing: "shown", proof: text } },
  });
}

const evilMark = { t: 9000, k: "mark", id: "m1", at: 3000, until: 4000, label: evil };

function noteOf(job: JobDocument, more: Partial<NoteOptions> = {}, reading = readingOf(8, [evilMark])): Note {
  const photos = new Map([["a", Uint8Array.of(0xff, 0xd8, 0xff)]]);
  return composeNote(job, sourcesOf(reading, photos), { ...options, ...more });
}

function charts(note: Note): ChartBlock[] {
  return note.sections.flatMap((s) => s.blocks.filter((b) => b.kind === "chart"));
}

test.each([
  ["plain words", "It cranks, and does not fire."],
  ["what was written to break it", evil],
])("the note is valid HTML with %s in every field", async (_, text) => {
  const report = await checker.validateString(noteHtml(noteOf(full(text))));
  const told = report.results.flatMap((r) => r.messages.map((m) => `${m.line}: ${m.ruleId}: ${m.message}`));
  expect(told).toEqual([]);
});

test("nothing that is written on a sheet becomes markup, in HTML, SVG and Markdown", () => {
  const note = noteOf(full(evil));
  const html = noteHtml(note);
  expect(html).not.toMatch(/<script|<img src=x|onerror=alert\(2\)>|javascript:alert\(3\)\)<\/a>/i);
  expect(html.match(/<img /g)).toHaveLength(1);
  expect(html).not.toContain("\u202E");
  for (const { svg } of charts(note)) {
    expect(svg?.text).not.toMatch(/<script|<img|<foreignObject|href=/i);
    expect(svg?.text).not.toContain("\u0000");
  }
  const markdown = String(noteMarkdown(note)[0]?.content);
  expect(markdown).not.toMatch(/<script|<img|[^\\]\]\(javascript:/i);
});

test("no address of anything outside stands in the note", () => {
  const html = noteHtml(noteOf(full("plain"))).replaceAll('xmlns="http://www.w3.org/2000/svg"', "");
  expect(html).not.toMatch(/https?:|url\((?!#)|@import|src="(?!data:)/i);
});

const annex = ["complaint", "vehicle", "conclusion", "evidence", "checks", "causes", "done", "compared"];

test("the parts of the annex stand in their order, and one that is left out is not there", () => {
  const all = noteOf(full("words"));
  expect(all.sections.map((s) => s.id)).toEqual([...annex, "modules", "open", "cautions", "sources"]);
  const fewer = noteOf(jobWith({ ...full("words"), leftOut: { causes: true, vehicle: true, open: false } }));
  expect(fewer.sections.map((s) => s.id)).toEqual([
    ...annex.filter((id) => id !== "causes" && id !== "vehicle"),
    ...["modules", "open", "cautions", "sources"],
  ]);
  // Cranks and signs stand in the evidence, each as long as it is not left out.
  const noCranks = noteOf(jobWith({ ...full("words"), leftOut: { cranks: true } }));
  const blocksOf = (note: Note): number => note.sections.find((s) => s.id === "evidence")?.blocks.length ?? 0;
  expect(blocksOf(noCranks)).toBeLessThan(blocksOf(all));
  const none = noteOf(jobWith({ ...full("words"), leftOut: { cranks: true, signs: true } }));
  expect(none.sections.map((s) => s.id)).not.toContain("evidence");
});

test("bench data says so at the head of the note, on each page and in each chart", () => {
  const note = noteOf(full("words"));
  const html = noteHtml(note);
  expect(html).toContain('<p class="invented">Bench vehicle, invented data</p>');
  expect(html).toContain('content: "Bench vehicle, invented data"');
  for (const chart of charts(note)) expect(chart.svg?.text).toContain(">bench vehicle, invented data<");
  const real = readingOf(8, [], "serial:/dev/ttyUSB0");
  const own = jobWith({
    ...full("words"),
    recordings: { a: { ...recordingItem, invented: false, from: "serial:/dev/ttyUSB0" } },
  });
  expect(noteHtml(noteOf(own, {}, real))).not.toContain("invented data");
});

test("a chart has its axes, units, band, marks, regimes and sampling rate, and draws the readings", () => {
  const [chart] = charts(noteOf(full("words"), {}, readingOf(8, [{ ...evilMark, label: "plug wiggled" }])));
  const svg = chart?.svg?.text ?? "";
  for (const words of [
    "speed, rpm · 10.0 readings a second",
    "volts (socket), V",
    "coolant, °C",
    "plug wiggled",
    "cranking",
  ])
    expect(svg).toContain(words);
  // Of the 81 speed readings in 8 s none is left out: a path of as many places.
  const paths = [...svg.matchAll(/<path d="(M[^"]+)" fill="none"/g)].map((m) => m[1] ?? "");
  expect(paths).toHaveLength(3);
  expect(paths[0]?.match(/[ML]/g)).toHaveLength(81);
  expect(svg).toContain('fill="#e3ece4"');
});

test("a recording that is missing is said, not drawn", () => {
  const note = composeNote(full("words"), sourcesOf(null), options);
  for (const chart of charts(note)) {
    expect(chart.svg).toBeNull();
    expect(chart.problem).toContain("not there");
  }
  expect(noteHtml(note)).toContain("The recording is not there.");
  expect(JSON.stringify(note.sections.at(-1))).toContain("missing");
});

test("US units stand in the charts, the figures and the facts; the CSV has both", () => {
  const job = jobWith({ ...full("words"), vehicle: { odometerKm: 160.9344, altitudeM: 304.8 } });
  const html = noteHtml(noteOf(job, { system: "us" }));
  // -5 °C is 23 °F; 160.9344 km are 100 miles (NIST SP 811, B.8).
  for (const words of ["coolant, °F", "23 °F", "100 mi", "1000 ft"]) expect(html).toContain(words);
});

test("the CSV is read by a general library: every reading, time with zone, both units, and no formula", () => {
  const reading = readingOf(8, [{ ...evilMark, label: '=HYPERLINK("http://x")' }]);
  reading.push(`${JSON.stringify({ t: 8000, k: "s", ch: "=cmd|' /C calc'!A0", v: 1, u: "V" })}\n`);
  const text = clipCsv(reading, ["engine-speed", "coolant", "=cmd|' /C calc'!A0"], { from: 2000, to: 8000 });
  const rows = parse<Record<string, string>>(text, { columns: true, record_delimiter: "\r\n" });
  expect(rows).toHaveLength(61);
  expect(Object.keys(rows[0] ?? {})).toEqual([
    ...["time (s)", "time (ISO 8601)", "engine-speed (rpm)", "coolant (°C)", "coolant (°F)"],
    ...["'=cmd|' /C calc'!A0 (V)", "marks"],
  ]);
  expect(rows[0]).toMatchObject({
    "time (s)": "2",
    "time (ISO 8601)": "2024-03-02T09:00:02.000+01:00",
    "coolant (°C)": "-5",
    "coolant (°F)": "23",
  });
  const marked = rows.filter((row) => row["marks"] !== "");
  expect(marked).toHaveLength(11);
  expect(marked[0]?.["marks"]).toBe(`'=HYPERLINK("http://x")`);
  for (const row of rows)
    for (const cell of Object.values(row))
      expect(/^[=+@\t\r]/.test(cell) || /^-(?!\d)/.test(cell)).toBe(false);
});

test("what is masked is nowhere in what leaves, however it was written", () => {
  const named = { ...tie, file: "2024-03-02-090000-bergs-van-ab-123-c.ndjson" };
  const rows = [{ what: "VIN", says: "1M8GDM9AXKP042788 (check digit fits)" }];
  const job = jobWith({
    ...full("words"),
    id: "2024-03-02-astrom-and-berg-s-van",
    who: { customer: "Ada Berg", mechanic: "Jo Åström", plate: "AB 123-C" },
    vehicle: { name: "Berg's van", vin: "WVWZZZ1JZ3W386752" },
    texts: {
      complaint:
        "Ada says: VIN wvwzzz1jz3w386752, ends in 386 752, or 1M8GDM9AXKP042788. ÅSTRÖM and Lindqvist saw it, plate ab123c. Bergamot and Jodhpur stay.",
    },
    clips: { a: { ...clip, tie: named } },
    recordings: { a: { ...recordingItem, tie: named } },
    entries: {
      a: {
        ...{ order: 1, section: "modules", tie: named, words: "" },
        says: { kind: "modules", modules: [{ module: "7E8", rows }] },
      },
    },
    checks: {
      a: {
        ...{ order: 1, check: null, name: "Plug", outcome: null, seen: "", reading: null, at: created },
        ...{ by: "Kim Lindqvist", notes: "042788", photos: [] },
      },
    },
  });
  const masking = { vin: true, names: true, plate: true };
  const label = "plate AB-123-C of Ada Berg, 3FADP4BJ8EM123456";
  const note = noteOf(job, { masking }, readingOf(8, [{ ...evilMark, label }]));
  const leaving = leavingJob(job, masking);
  const all = [
    noteHtml(note),
    ...noteMarkdown(note).flatMap((f) => [f.name, String(f.content)]),
    JSON.stringify(leaving),
  ].join("\n");
  for (const hidden of [
    ...[/386.?752/, /042788/, /(?<!\d)123456/, /\bAda\b/i, /\bBerg\b/i, /\bJo\b/i, /(?:Å|A)str(?:ö|o)m/i],
    ...[/Lindqvist/i, /\bKim\b/, /AB[\s-]*123[\s-]*C\b/i],
  ])
    expect(all).not.toMatch(hidden);
  for (const stays of ["WVWZZZ1JZ3W", "1M8GDM9AXKP", "3FADP4BJ8EM", "Bergamot", "Jodhpur", " and "])
    expect(all).toContain(stays);
  // The copy is a whole job, and its parts still point to each other.
  expect(checkJob(leaving, "test").id).toBe("2024-03-02-masked");
  expect([leaving.clips["a"]?.tie.file, leaving.recordings["a"]?.tie.file]).toEqual([
    "recording-1.ndjson",
    "recording-1.ndjson",
  ]);
  const nothing = { vin: false, names: false, plate: false };
  expect(maskOf(job, nothing)("Ada 386752")).toBe("Ada 386752");
  expect(leavingJob(job, nothing)).toBe(job);
});

test("Markdown has its pictures and readings beside it, each once", () => {
  const files = noteMarkdown(noteOf(full("words")));
  expect(files.map((f) => f.name)).toEqual([
    "note.md",
    "pictures/page-one.svg",
    ...["pictures/clip-1.svg", "clips/clip-1.csv", "pictures/photo-1.jpg"],
    ...["pictures/clip-2.svg", "clips/clip-2-before.csv", "clips/clip-2-after.csv"],
  ]);
  const text = String(files[0]?.content);
  for (const { name } of files.slice(1)) expect(text.split(`(${name})`)).toHaveLength(2);
});

test("a statement keeps its figures when it is reworded", () => {
  const sign = {
    ...{
      id: "power.rest-voltage",
      family: "power",
      key: "power.rest-voltage",
      verdict: "near",
      title: "Voltage at rest",
    },
    ...{
      windows: [{ from: 1000, to: 2000 }],
      channels: ["socket-voltage"],
      meaning: "Low.",
      looksLike: [],
      checks: [],
    },
    measured: { value: 12.1, unit: "V", what: "volts before the starter", samples: 9, rate: 4.5 },
    range: { low: 12, high: 13.2, unit: "V", source: "a table", replaced: false },
  };
  const entry = {
    order: 1,
    section: "signs",
    tie,
    words: "The battery is tired.",
    says: { kind: "sign", sign },
  };
  const html = noteHtml(noteOf(jobWith({ recordings: { a: recordingItem }, entries: { a: entry } })));
  for (const words of [
    "The battery is tired.",
    "As generated: Low.",
    "12.10 V: volts before the starter (9 readings",
    "12.00 to 13.20 V",
    "0:01.0 to 0:02.0",
  ])
    expect(html).toContain(words);
});

test("the log of hand checks stands on the note as it holds: corrected, withdrawn, with its cautions", () => {
  const at = (n: number): string => `2024-03-02T1${n}:00:00.000+01:00`;
  const item = (order: number, entry: object): object => ({ order, entry });
  const note = noteOf(
    jobWith({
      log: {
        a: item(1, {
          k: "result",
          id: "a",
          at: at(0),
          by: "Jo",
          check: "rest-voltage",
          reading: { values: [11.5], unit: "V" },
        }),
        b: item(2, {
          k: "correct",
          id: "b",
          at: at(1),
          of: "a",
          reading: { values: [12.5], unit: "V" },
          words: "read again",
        }),
        c: item(3, { k: "result", id: "c", at: at(2), check: "drop-cranking", outcome: "large" }),
        d: item(4, { k: "withdraw", id: "d", at: at(3), of: "c", words: "wrong terminal" }),
      },
    }),
  );
  const html = noteHtml(note);
  for (const words of [
    "Battery voltage at rest",
    "12.4 V or more",
    "12.5 V",
    "read again",
    "Corrected after it was entered first",
    "Withdrawn: wrong terminal",
    "Battery gas explodes",
  ])
    expect(html).toContain(words);
  expect(html).not.toContain("11.5");
});

test("base64 is that of RFC 4648, section 10, and of the platform for any bytes", () => {
  const vectors = {
    "": "",
    f: "Zg==",
    fo: "Zm8=",
    foo: "Zm9v",
    foob: "Zm9vYg==",
    fooba: "Zm9vYmE=",
    foobar: "Zm9vYmFy",
  };
  for (const [plain, coded] of Object.entries(vectors)) expect(base64(Buffer.from(plain))).toBe(coded);
  const long = Uint8Array.from({ length: 100_001 }, (_, i) => (i * 7919) & 255);
  expect(base64(long)).toBe(Buffer.from(long).toString("base64"));
});
