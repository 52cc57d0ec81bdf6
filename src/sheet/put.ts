/** Making items for the sheet from what was found: one act puts a sign, a crank, a stretch or a survey on it. */
import type { Survey } from "../../shared/survey.ts";
import { surveyRows } from "../../shared/surveyWords.ts";
import type { Crank, Sign } from "../interpret/report/schema.ts";
import type { Change } from "./change.ts";
import { nextOrder, type JobDocument, type ListName, type Tie } from "./job.ts";
import type { SectionId } from "./sections.ts";
import type { ModuleSays, Says } from "./snapshot.ts";
import { saidNow } from "./statement.ts";

/** A change that puts a new item at the end of its list. */
export function putting(
  job: JobDocument,
  list: ListName,
  id: string,
  item: Readonly<Record<string, unknown>>,
): Change {
  // An item is JSON: it comes from values of the job's own shapes.
  return { path: [list, id], after: { order: nextOrder(job[list]), ...item } };
}

const ownSection: Readonly<Record<Says["kind"], SectionId>> = {
  sign: "signs",
  crank: "cranks",
  comparison: "checks",
  balance: "checks",
  wiggle: "checks",
  modules: "modules",
  advice: "causes",
  "before-after": "compared",
};

export interface Putting {
  readonly job: JobDocument;
  readonly id: string;
  readonly tie: Tie;
}

export function puttingStatement(
  { job, id, tie }: Putting,
  says: Says,
  section = ownSection[says.kind],
): Change {
  return putting(job, "entries", id, { section, tie, words: "", says, said: saidNow(says) });
}

export interface Stretched {
  readonly section: SectionId;
  readonly from: number;
  readonly to: number;
  readonly lanes: readonly (readonly string[])[];
  readonly caption: string;
  /** The entry that it shows. */
  readonly of?: string;
  readonly against?: { readonly tie: Tie; readonly from: number; readonly to: number };
}

/** A shorter stretch than this cannot be drawn. */
const shortestMs = 50;

export function puttingClip({ job, id, tie }: Putting, clip: Stretched): Change {
  const from = Math.max(0, clip.from);
  return putting(job, "clips", id, { ...clip, from, to: Math.max(clip.to, from + shortestMs), tie });
}

/**
 * The stretch and lanes that show what a sign speaks of, with some of what stands around it. `read` are the channels
 * that answered: a lane without readings shows nothing.
 */
export function clipOfSign(
  sign: Sign,
  end: number,
  read: ReadonlySet<string>,
): Pick<Stretched, "from" | "to" | "lanes" | "caption"> {
  const channels = sign.channels.filter((channel) => read.has(channel));
  const first = sign.windows[0] ?? { from: 0, to: end };
  const room = Math.max(1500, (first.to - first.from) * 0.25);
  return {
    from: Math.max(0, first.from - room),
    to: Math.min(end, first.to + room),
    lanes: channels.length === 0 ? [["engine-speed"]] : channels.slice(0, 6).map((channel) => [channel]),
    caption: sign.title,
  };
}

/** Some of what stands before and after an attempt, in which it is compared. */
const besideCrankMs = 1500;

/** The stretch that shows these attempts. `read` are the channels that the recording has. */
export function clipOfCranks(
  cranks: readonly Pick<Crank, "from" | "to" | "number">[],
  end: number,
  read: ReadonlySet<string>,
): Pick<Stretched, "from" | "to" | "lanes" | "caption"> {
  const wanted = ["engine-speed", "socket-voltage", "manifold"].filter((channel) => read.has(channel));
  const numbers = cranks.map((crank) => crank.number);
  const [first = 0] = numbers;
  return {
    from: Math.max(0, Math.min(...cranks.map((crank) => crank.from)) - besideCrankMs),
    to: Math.min(end, Math.max(...cranks.map((crank) => crank.to)) + besideCrankMs),
    lanes: (wanted.length === 0 ? ["engine-speed"] : wanted).map((channel) => [channel]),
    caption: cranks.length === 1 ? `Crank ${first}` : `Cranks ${first} to ${numbers.at(-1) ?? first}`,
  };
}

/** A sheet takes so many rows of a module; a module with more tests than that has its last ones left out. */
const mostRows = 200;

/** What each module says, in the words of every other place that says it: a row for each line. */
export function modulesOf(survey: Survey): ModuleSays[] {
  return survey.modules.map((m) => ({
    module: m.module,
    rows: [
      ...(m.name === null || m.name === "" ? [] : [{ what: "name", says: m.name }]),
      ...surveyRows(m).flatMap(({ name, lines }) => lines.map((says) => ({ what: name, says }))),
    ].slice(0, mostRows),
  }));
}
