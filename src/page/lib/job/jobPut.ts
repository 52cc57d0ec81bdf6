/** Putting what was found on the sheet of the open job, or of a new one where none is open. */
import { protocols } from "../../../../shared/protocols.ts";
import { isoWithZoneOf } from "../../../../shared/times.ts";
import { foldSurvey } from "../../../../shared/survey.ts";
import type { Balance, Comparison, Crank, Sign, Wiggle } from "../../../interpret/report/schema.ts";
import { applyChanges, setting, type Change, type Json } from "../../../sheet/change.ts";
import { inOrder, nextOrder, type Entry, type JobDocument, type Tie } from "../../../sheet/job.ts";
import {
  clipOfCranks,
  clipOfSign,
  modulesOf,
  putting,
  puttingClip,
  puttingStatement,
  type Putting,
} from "../../../sheet/put.ts";
import { notYetOn, type Rests } from "../../../sheet/restsOn.ts";
import type { SectionId } from "../../../sheet/sections.ts";
import { saysOf, type Says } from "../../../sheet/snapshot.ts";
import { newId } from "../app/newId.ts";
import { usualLanes, type LaneSet } from "../chart/lanes.ts";
import type { JobDesk } from "./jobDesk.svelte.ts";
import type { RecordingView } from "../recording/recording.svelte.ts";
import type { Shown } from "../app/page.svelte.ts";

/** A recording that was read, on the chart or beside it. */
export type ShownRecording = Pick<Shown, "recording">;

/** The first thing that is put on a sheet begins a job, with what the recording's own sheet says. */
export async function beginFrom(desk: JobDesk, { recording }: ShownRecording): Promise<void> {
  if (desk.job !== null) return;
  const { complaint, vehicle } = recording.reading.facts;
  await desk.create(vehicle?.name ?? "", [
    ...Object.entries(vehicle ?? {}).map(([name, value]) => [["vehicle", name], value as Json] as const),
    ...(complaint === undefined ? [] : [[["texts", "complaint"], complaint] as const]),
  ]);
}

/** What puts something of a recording with this tie on the sheet. */
type Make = (job: JobDocument, tie: Tie) => readonly Change[];

/** Nothing is put where the tie cannot be had; the desk then tells why. */
async function withTie(
  desk: JobDesk,
  shown: ShownRecording,
  make: (...at: Parameters<Make>) => readonly Change[] | Promise<readonly Change[]>,
): Promise<boolean> {
  await beginFrom(desk, shown);
  const tie = await desk.tie(shown.recording.file);
  const { job } = desk;
  if (tie === null || job === null) return false;
  const changes = await make(job, tie);
  if (desk.job === null) return false;
  desk.do([...recordingChange(desk.job, tie, shown), ...changes]);
  return true;
}

/**
 * What several recordings have, in one step: one undoing takes all of it back. `last` is made of the sheet with all that
 * on it. Nothing is put where one tie cannot be had.
 */
export async function putTogether(
  desk: JobDesk,
  shown: ShownRecording,
  parts: readonly { readonly recording: RecordingView; readonly rests: Rests }[],
  last: (job: JobDocument) => readonly Change[],
): Promise<boolean> {
  await beginFrom(desk, shown);
  const ties: Tie[] = [];
  for (const { recording } of parts) {
    const tie = await desk.tie(recording.file);
    if (tie === null) return false;
    ties.push(tie);
  }
  let { job } = desk;
  if (job === null) return false;
  const all: Change[] = [];
  const add = (changes: readonly Change[]): void => {
    if (job === null) return;
    all.push(...changes);
    job = applyChanges(job, changes, job.changed).job;
  };
  for (const [i, { recording, rests }] of parts.entries()) {
    const tie = ties[i];
    if (tie === undefined) continue;
    add(recordingChange(job, tie, { recording }));
    for (const make of makesOf(recording, notYetOn(job, rests))) add(make(job, tie));
  }
  add(last(job));
  desk.do(all);
  return true;
}

function makesOf(recording: RecordingView, { signs, cranks, comparisons, wiggles, modules }: Rests): Make[] {
  const asked = modules ? modulesMake(recording) : null;
  return [
    ...(cranks.length === 0 ? [] : [cranksMake(recording, cranks)]),
    ...signs.map((sign) => signMake(recording, sign)),
    ...(comparisons.length === 0 ? [] : [comparisonsMake(comparisons)]),
    ...wiggles.map(wiggleMake),
    ...(asked === null ? [] : [asked]),
  ];
}

/** The recording itself, with nothing taken from it yet. */
export function putRecording(desk: JobDesk, shown: ShownRecording): Promise<boolean> {
  return withTie(desk, shown, () => []);
}

/** The recording itself stands on the sheet once. */
export function recordingChange(job: JobDocument, tie: Tie, { recording }: ShownRecording): Change[] {
  if (inOrder(job.recordings).some((r) => r.tie.file === tie.file)) return [];
  const { header } = recording.reading;
  const started = header?.started ?? "";
  const from = header?.from ?? "";
  return [
    putting(job, "recordings", newId(), {
      tie,
      started,
      from,
      invented: header?.invented ?? false,
      caption: "",
    }),
  ];
}

/** What is seen on the chart, with its lanes. */
export function putStretch(
  desk: JobDesk,
  shown: Shown,
  lanes: LaneSet,
  section: SectionId,
): Promise<boolean> {
  const { from, to } = shown.view.stretch;
  const end = shown.recording.end;
  const there = lanesRead(lanes, [shown.recording]);
  if (there.length === 0) return Promise.resolve(false);
  return withTie(desk, shown, (job, tie) => [
    puttingClip(
      { job, id: newId(), tie },
      { section, from: Math.max(0, from), to: Math.min(to, end), lanes: there, caption: "" },
    ),
  ]);
}

export interface Window {
  /** Milliseconds since the recording's start. */
  readonly from: number;
  readonly to: number;
  readonly caption: string;
  readonly section: SectionId;
}

/** A stretch of a recording that need not be on the chart, with the lanes that are usual. */
export function putWindow(
  desk: JobDesk,
  shown: ShownRecording,
  { from, to, ...rest }: Window,
): Promise<boolean> {
  const { recording } = shown;
  const lanes = usualLanes([...answered(recording)]);
  if (lanes.length === 0 || !(from < recording.end)) return Promise.resolve(false);
  return withTie(desk, shown, (job, tie) => [
    puttingClip({ job, id: newId(), tie }, { ...rest, from, to: Math.min(to, recording.end), lanes }),
  ]);
}

/** What is seen while another recording lies under this one: that one's stretch before, this one's after. */
export function putCompared(
  desk: JobDesk,
  shown: Shown,
  lanes: LaneSet,
  other: { readonly recording: RecordingView; readonly offset: number },
): Promise<boolean> {
  const { from, to } = shown.view.stretch;
  const until = Math.min(to, shown.recording.end);
  const there = lanesRead(lanes, [shown.recording, other.recording]);
  if (there.length === 0) return Promise.resolve(false);
  return withTie(desk, shown, async (job, tie) => {
    const before = await desk.tie(other.recording.file);
    if (before === null) return [];
    return [
      ...recordingChange(job, before, other),
      puttingClip(
        { job, id: newId(), tie: before },
        {
          ...{ section: "compared", caption: "", lanes: there },
          ...{ from: from - other.offset, to: until - other.offset },
          against: { tie, from: Math.max(0, from), to: until },
        },
      ),
    ];
  });
}

/** As many lanes as a clip takes, with what was read in any of these. */
function lanesRead(lanes: LaneSet, recordings: readonly RecordingView[]): string[][] {
  const read = new Set(recordings.flatMap((r) => r.reading.channels.channels));
  const there = lanes.map((lane) => lane.filter((c) => read.has(c)));
  return there.filter((lane) => lane.length > 0).slice(0, 16);
}

function answered({ reading: { channels } }: RecordingView): ReadonlySet<string> {
  return new Set(channels.channels.filter((channel) => (channels.find(channel)?.answered ?? 0) > 0));
}

type OnSheet = Entry & { readonly id: string };

/** What stands on the sheet already of this recording, and says such a thing. */
function onSheet(job: JobDocument, file: string, fits: (says: Says) => boolean): readonly OnSheet[] {
  return inOrder(job.entries).filter((e) => {
    const says = e.tie.file === file ? saysOf(e.says) : null;
    return says !== null && fits(says);
  });
}

/** Where this sign of a recording stands on the sheet. */
export function signEntry(job: JobDocument, sign: Sign, file: string): OnSheet | undefined {
  return onSheet(job, file, (says) => says.kind === "sign" && says.sign.key === sign.key)[0];
}

export function putSign(desk: JobDesk, shown: ShownRecording, sign: Sign): Promise<boolean> {
  return withTie(desk, shown, signMake(shown.recording, sign));
}

function signMake(recording: RecordingView, sign: Sign): Make {
  return (job, tie) => {
    const id = newId();
    const own = signEntry(job, sign, tie.file);
    const at: Putting = { job, id, tie };
    return [
      ...puttingAnew(at, own, { kind: "sign", sign }),
      puttingClip(
        { ...at, id: newId() },
        {
          section: own?.section ?? "signs",
          of: id,
          ...clipOfSign(sign, recording.end, answered(recording)),
        },
      ),
    ];
  };
}

/**
 * These cranks with a clip that shows them; a crank that is on the sheet already is put anew, in the place of its
 * former self. The clip of a single one stands beside it.
 */
export function putCranks(desk: JobDesk, shown: ShownRecording, cranks: readonly Crank[]): Promise<boolean> {
  return withTie(desk, shown, cranksMake(shown.recording, cranks));
}

function cranksMake(recording: RecordingView, cranks: readonly Crank[]): Make {
  const read = new Set(recording.reading.channels.channels);
  return (job, tie) => {
    const entries = cranks.map((crank, i) => {
      const { number } = crank;
      const own = onSheet(job, tie.file, (says) => says.kind === "crank" && says.crank.number === number);
      const id = newId();
      const put = puttingStatement({ job, id, tie }, { kind: "crank", crank });
      const change = inPlaceOf(own[0] ?? { order: nextOrder(job.entries) + i }, put);
      return { id, away: own.flatMap((e) => takingOff(job, e.id)), change };
    });
    const [first] = entries;
    const clip = puttingClip(
      { job, id: newId(), tie },
      {
        section: "cranks",
        ...(entries.length === 1 && first !== undefined ? { of: first.id } : {}),
        ...clipOfCranks(cranks, recording.end, read),
      },
    );
    return [...entries.flatMap(({ away, change }) => [...away, change]), clip];
  };
}

/** What is put anew stands where its former self stood, with the words that the person gave it. */
function inPlaceOf(
  own: Partial<Pick<Entry, "order" | "section" | "words">> | undefined,
  change: Change,
): Change {
  if (own === undefined) return change;
  const { order, section, words } = own;
  const after: Json = {
    ...(change.after as Record<string, Json>),
    ...(order === undefined ? {} : { order }),
    ...(section === undefined ? {} : { section }),
    ...(words === undefined ? {} : { words }),
  };
  return { path: change.path, after };
}

/** Takes an entry off the sheet, and the clips that show it. */
function takingOff(job: JobDocument, entry: string): Change[] {
  const clips = inOrder(job.clips).filter((clip) => clip.of === entry);
  return [
    { path: ["entries", entry, "removed"], after: true },
    ...clips.map(({ id }): Change => ({ path: ["clips", id, "removed"], after: true })),
  ];
}

/** A statement in the place of its former self, else behind all and `behind` others that are put with it. */
function puttingAnew(at: Putting, own: OnSheet | undefined, says: Says, behind = 0): Change[] {
  const away = own === undefined ? [] : takingOff(at.job, own.id);
  return [
    ...away,
    inPlaceOf(own ?? { order: nextOrder(at.job.entries) + behind }, puttingStatement(at, says)),
  ];
}

/** What was measured during one mark, channel by channel, beside the hand checks. */
export function putComparisons(
  desk: JobDesk,
  shown: ShownRecording,
  comparisons: readonly Comparison[],
): Promise<boolean> {
  return withTie(desk, shown, comparisonsMake(comparisons));
}

function comparisonsMake(comparisons: readonly Comparison[]): Make {
  return (job, tie) =>
    comparisons.flatMap((comparison, i) => {
      const { markId, channel, of } = comparison;
      const [own] = onSheet(job, tie.file, (says) => {
        const there = says.kind === "comparison" ? says.comparison : null;
        return there?.markId === markId && there.channel === channel && there.of === of;
      });
      return puttingAnew({ job, id: newId(), tie }, own, { kind: "comparison", comparison }, i);
    });
}

export function putBalance(desk: JobDesk, shown: ShownRecording, balance: Balance): Promise<boolean> {
  return withTie(desk, shown, (job, tie) => {
    const [own] = onSheet(job, tie.file, (says) => says.kind === "balance");
    return puttingAnew({ job, id: newId(), tie }, own, { kind: "balance", balance });
  });
}

export function putWiggle(desk: JobDesk, shown: ShownRecording, wiggle: Wiggle): Promise<boolean> {
  return withTie(desk, shown, wiggleMake(wiggle));
}

function wiggleMake(wiggle: Wiggle): Make {
  return (job, tie) => {
    const [own] = onSheet(
      job,
      tie.file,
      (says) => says.kind === "wiggle" && says.wiggle.markId === wiggle.markId,
    );
    return puttingAnew({ job, id: newId(), tie }, own, { kind: "wiggle", wiggle });
  };
}

/** Codes, identity and readiness as the modules told them in this recording; the VIN goes to the vehicle. */
export function putModules(desk: JobDesk, shown: ShownRecording): Promise<boolean> {
  const make = modulesMake(shown.recording);
  return make === null ? Promise.resolve(false) : withTie(desk, shown, make);
}

/** Null where no module told anything. */
function modulesMake(recording: RecordingView): Make | null {
  const { answers, protocol, header } = recording.reading;
  const survey = foldSurvey(answers, protocol !== null && protocols[protocol].family === "can", null);
  const modules = modulesOf(survey);
  if (modules.length === 0) return null;
  const last = answers.reduce((t, answer) => Math.max(t, answer.t), 0);
  const at = header === null ? {} : { at: isoWithZoneOf(header.started)(last) };
  return (job, tie) => {
    const vin = survey.modules.find((m) => m.vin !== null && m.vin.checkDigit !== "malformed")?.vin?.text;
    const vinChanges =
      vin === undefined || (job.vehicle.vin ?? "") !== ""
        ? []
        : [setting(job, ["vehicle", "vin"], vin), setting(job, ["vinFrom"], "read")];
    return [
      puttingStatement({ job, id: newId(), tie }, { kind: "modules", modules, ...at }),
      ...vinChanges.filter((c) => c !== null),
    ];
  };
}
