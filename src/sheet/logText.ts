/** Entries of the log of hand checks and changes in words, for the page and the note. */
import { effectWords } from "../interpret/causes/evidence.ts";
import { unclear, type Act, type LogEntry, type Result } from "../interpret/causes/results.ts";
import { causeRow, checkRow } from "../interpret/causes/rows.ts";
import { clockText } from "../interpret/report/text.ts";
import { dateText } from "./note/composing.ts";

interface Read {
  readonly values: readonly (number | null)[];
  readonly unit: string;
  readonly beside?: number | undefined;
}

/** As it was read, with the sum where it is a difference; beside it the figure that was judged, where that is another. */
export function readingText(
  reading: Read | undefined,
  { figure, sum }: Pick<Result, "figure" | "sum">,
): string {
  if (sum !== undefined) return sum;
  const judged = figure === undefined ? "" : `${Number(figure.value.toPrecision(4))} ${figure.unit}`;
  if (reading === undefined) return judged;
  const other = reading.beside === undefined ? "" : ` beside ${reading.beside} ${reading.unit}`;
  const read = `${reading.values.map((v) => v ?? "–").join(", ")} ${reading.unit}${other}`;
  return judged === "" || judged === read ? read : `${read} (judged as ${judged})`;
}

const stateWords: Readonly<Record<Result["state"], string>> = {
  used: "",
  unclear: "says nothing either way",
  questioned: "in question, not counted",
  withdrawn: "withdrawn",
};

export interface EntryText {
  readonly name: string;
  readonly says: string;
}

export function resultText(result: Result): EntryText & { readonly state: string } {
  const row = checkRow(result.check);
  const named = result.outcome === null ? undefined : result.latest.said?.outcome;
  const outcome = named ?? outcomeWords(result.check, result.outcome);
  const read = readingText(result.latest.reading, result);
  const cylinder = result.latest.cylinder;
  const says = [
    cylinder === undefined ? "" : `Cylinder ${cylinder}`,
    outcome ?? "",
    read === "" ? "" : `Reading: ${read}`,
  ];
  return {
    name: result.history[0]?.said?.name ?? row?.name ?? result.check,
    state: stateWords[result.state],
    says: says.filter((text) => text !== "").join(". "),
  };
}

/** "Works: power and ground are there"; undefined where the tables have no such outcome. */
function outcomeWords(check: string, id: string | null | undefined): string | undefined {
  const outcome = checkRow(check)?.outcomes.find((o) => o.id === id);
  return outcome === undefined ? undefined : `${outcome.text}: ${outcome.means}`;
}

/** The entry with the words that the tables have for it now; they stay with it when the tables are changed. */
export function withWords(entry: LogEntry, log: readonly LogEntry[]): LogEntry {
  if (entry.k === "withdraw") return entry;
  if (entry.k === "act") {
    const row = causeRow(entry.cause);
    return row === undefined ? entry : { ...entry, said: { name: row.repair.does } };
  }
  const first = entry.k === "result" ? entry : log.find((e) => e.id === entry.of);
  const check = first?.k === "result" ? first.check : "";
  const row = checkRow(check);
  if (row === undefined) return entry;
  const outcome = outcomeWords(check, entry.outcome);
  return { ...entry, said: { name: row.name, ...(outcome === undefined ? {} : { outcome }) } };
}

const didWords: Readonly<Record<Act["did"], string>> = {
  changed: "Done",
  reversed: "Undone again",
  left: "Left in place",
};

export function actText(act: Act): EntryText {
  const others = act.together ?? 0;
  const more =
    others === 0 ? "" : `; ${others} more ${others === 1 ? "thing was" : "things were"} changed with it`;
  return {
    name: `${didWords[act.did]}: ${act.said?.name ?? causeRow(act.cause)?.repair.does ?? act.cause}`,
    says: `${effectWords[act.effect]}${more}`,
  };
}

export function whenBy({ at, by }: { readonly at: string; readonly by?: string | undefined }): string {
  return [dateText(at), by ?? ""].filter((text) => text !== "").join(", by ");
}

interface Place {
  readonly recording: string;
  readonly from?: number | undefined;
  readonly to?: number | undefined;
}

export function entryPlace({ recording, from, to }: Place): string {
  if (from === undefined) return `in ${recording}`;
  return `in ${recording} at ${clockText(from)}${to === undefined ? "" : ` to ${clockText(to)}`}`;
}

/** What an entry says by itself, as it was entered. */
function enteredText(check: string, entry: LogEntry): string {
  if (entry.k === "withdraw") return `withdrawn: ${entry.words ?? "no reason given"}`;
  if (entry.k === "act") return effectWords[entry.effect];
  const { outcome, reading, words } = entry;
  const seen = outcome === unclear ? "could not tell" : outcomeText(check, outcome);
  return [seen, readingText(reading, {}), words ?? ""].filter((text) => text !== "").join("; ");
}

function outcomeText(check: string, outcome: string | undefined): string {
  if (outcome === undefined) return "";
  return checkRow(check)?.outcomes.find((o) => o.id === outcome)?.text ?? outcome;
}

const entryWords: Readonly<Record<LogEntry["k"], string>> = {
  result: "entered",
  act: "entered",
  correct: "corrected",
  withdraw: "",
};

/** Every entry about one result or change, oldest first. */
export function historyLines(one: Result | Act): string[] {
  const check = "check" in one ? one.check : "";
  return one.history.map((entry) => {
    const lead = entryWords[entry.k];
    return `${whenBy(entry)}: ${lead === "" ? "" : `${lead}: `}${enteredText(check, entry)}`;
  });
}
