/** Before and after in one small table, for who has no use for intervals. */
import { capital } from "../../../shared/letters.ts";
import { outcomeWords } from "../../interpret/report/text.ts";
import { comparedRows } from "../advised.ts";
import { saysOf, type ModuleSays } from "../snapshot.ts";
import { inOrder, type Entry } from "../job.ts";
import type { Table } from "./blocks.ts";
import { dateText, type Composing } from "./composing.ts";
import { latestCompared } from "./found.ts";
import { surveysOf } from "./surveys.ts";
import { instantOf, startedOf, surveyInstant } from "./times.ts";
import { isReadiness, mil, milOn } from "../../../shared/surveyWords.ts";

interface Row {
  readonly cells: readonly [what: string, before: string, after: string];
  /** Milliseconds since 1970 of both sides. */
  readonly times: readonly [before: number, after: number];
}

/** So many figures of the comparison; the rest stands in the annex. */
const mostFigures = 3;

/** Null where nothing was looked at twice. */
export function smallTable(composing: Composing): Table | null {
  const rows = [...startRows(composing), ...codeRows(composing), ...figureRows(composing)];
  if (rows.length === 0) return null;
  const { mask } = composing;
  const first = rows.map((row) => row.times[0]).reduce((a, b) => Math.min(a, b));
  const last = rows.map((row) => row.times[1]).reduce((a, b) => Math.max(a, b));
  return {
    kind: "table",
    caption: "",
    head: ["", headOf("before", first, composing), headOf("after", last, composing)],
    rows: rows.map(({ cells }) => cells.map(mask)),
  };
}

/** A recording's own day and hour, in its own zone. */
function headOf(words: string, at: number, { job }: Composing): string {
  const { tie } =
    inOrder(job.recordings).findLast((r) => Date.parse(r.started) <= at) ?? inOrder(job.recordings)[0] ?? {};
  const started = tie === undefined ? null : startedOf(job, tie.file);
  return started === null ? words : `${words} (${dateText(started)})`;
}

/** The first crank on the sheet, and the last one of a later recording. */
function startRows({ job }: Composing): Row[] {
  const cranks = inOrder(job.entries)
    .flatMap((entry) => {
      const says = saysOf(entry.says);
      if (says?.kind !== "crank") return [];
      return [{ crank: says.crank, at: instantOf(job, entry.tie, says.crank.from) }];
    })
    .filter(({ at }) => Number.isFinite(at))
    .sort((a, b) => a.at - b.at);
  const [first, last] = [cranks[0], cranks.at(-1)];
  if (first === undefined || last === undefined || first === last) return [];
  if (first.crank.outcome === last.crank.outcome) return [];
  const told = ({ crank }: typeof first): string =>
    `${outcomeWords[crank.outcome]}${crank.outcome === "started" && crank.fireS !== null ? ` after ${crank.fireS.value.toFixed(1)} s` : ""}`;
  return [{ cells: ["At the key", told(first), told(last)], times: [first.at, last.at] }];
}

function codeRows(composing: Composing): Row[] {
  const { job } = composing;
  const surveys = surveysOf(composing);
  const [first, last] = [surveys[0], surveys.at(-1)];
  if (first === undefined || last === undefined || first === last) return [];
  const times = [surveyInstant(job, first), surveyInstant(job, last)] as const;
  return [
    { cells: ["Trouble codes", storedIn(first), storedIn(last)], times },
    ...(lampIn(first) === "" || lampIn(last) === ""
      ? []
      : [{ cells: ["Engine lamp", lampIn(first), lampIn(last)] as const, times }]),
  ];
}

function rowsIn(entry: Entry): ModuleSays["rows"] {
  const says = saysOf(entry.says);
  return says?.kind === "modules" ? says.modules.flatMap((m) => m.rows) : [];
}

/** SAE J2012: a letter and four digits, of which the last three may be letters. */
const codeShape = /\b[PCBU][0-3][0-9A-F]{3}\b/g;

function storedIn(entry: Entry): string {
  const said = rowsIn(entry).filter((r) => r.what === "stored codes");
  const codes = [...new Set(said.flatMap((r) => r.says.match(codeShape) ?? []))];
  if (codes.length > 4) return `${codes.slice(0, 4).join(", ")} and ${codes.length - 4} more`;
  if (codes.length > 0) return codes.join(", ");
  return said.some((r) => r.says === "none") ? "none" : "not answered";
}

function lampIn(entry: Entry): string {
  const said = rowsIn(entry).filter((r) => isReadiness(r.what) && mil.test(r.says));
  if (said.length === 0) return "";
  return said.some((r) => milOn.test(r.says)) ? "on" : "off";
}

/** Figures that changed, as the last comparison has them. */
function figureRows({ job, system }: Composing): Row[] {
  const entry = latestCompared(job);
  const says = entry === null ? null : saysOf(entry.says);
  if (entry === null || says?.kind !== "before-after") return [];
  const { compared, before } = says;
  const changed = compared.rows.filter((row) => row.says === "higher" || row.says === "lower");
  const rows = comparedRows({ ...compared, rows: changed.slice(0, mostFigures) }, system);
  const times = [instantOf(job, before), instantOf(job, entry.tie)] as const;
  return rows.map(([when = "", what = "", was = "", is = ""]) => ({
    cells: [whatWhen(what, when), withoutCount(was), withoutCount(is)],
    times,
  }));
}

/** "Voltage at the socket, cranking"; "Cranking speed". */
function whatWhen(what: string, when: string): string {
  return what.toLowerCase().includes(when.toLowerCase()) ? capital(what) : `${capital(what)}, ${when}`;
}

/** "12.4 V (31)": how many readings it was is told in the annex. */
const withoutCount = (text: string): string => text.replace(/ \(\d+\)$/, "");
