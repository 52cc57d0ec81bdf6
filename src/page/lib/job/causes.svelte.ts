import { untrack } from "svelte";
import type { VehicleFacts } from "../../../../shared/vehicle.ts";
import type { Advice } from "../../../interpret/causes/adviceSchema.ts";
import type { BeforeAfter } from "../../../interpret/causes/beforeAfterSchema.ts";
import type { HeardRecording } from "../../../interpret/causes/evidence.ts";
import { markedResults, type MarkedResult } from "../../../interpret/causes/marked.ts";
import { foldLog, type Log, type LogEntry } from "../../../interpret/causes/results.ts";
import type { Complaint } from "../../../interpret/causes/types.ts";
import { setting, type Change, type Json } from "../../../sheet/change.ts";
import { complaintsTold, countedRecordings, type Counted, type Told } from "../../../sheet/counted.ts";
import { effectiveFacts } from "../../../sheet/effectiveFacts.ts";
import { inOrder, type JobDocument } from "../../../sheet/job.ts";
import { withWords } from "../../../sheet/logText.ts";
import { putting, puttingStatement } from "../../../sheet/put.ts";
import { restsOn } from "../../../sheet/restsOn.ts";
import { saidNow } from "../../../sheet/statement.ts";
import { AdviceWatch } from "./adviceWatch.svelte.ts";
import { placesBeside } from "../connection/places.ts";
import { OwnCaseList } from "./ownCases.svelte.ts";
import { OwnNormals } from "./ownNormals.svelte.ts";
import { Beside } from "../recording/beside.svelte.ts";
import type { JobDesk } from "./jobDesk.svelte.ts";
import type { SheetFacts } from "./jobFacts.svelte.ts";
import { newId } from "../app/newId.ts";
import { beginFrom, putTogether, recordingChange } from "./jobPut.ts";
import { nowText } from "./jobTime.ts";
import type { RecordingView } from "../recording/recording.svelte.ts";
import type { Page } from "../app/page.svelte.ts";
import type { Shown } from "../recording/shown.ts";

/** Of a job with many recordings the latest so many are looked through beside the one that is shown. */
const mostBeside = 6;

export interface Answered extends MarkedResult {
  readonly file: string;
}

/**
 * The causes and the next check of the sheet: what they are worked out from, what the person put in place of it, and
 * what is entered.
 */
export class Causes {
  readonly #page: Page;
  readonly #desk: JobDesk;
  readonly #facts: SheetFacts;
  readonly #shown: () => Shown;
  readonly #beside: Beside;
  readonly #watch: AdviceWatch;
  readonly ownCases = new OwnCaseList(placesBeside(document.baseURI).cases);
  readonly normals: OwnNormals;
  /** Something was entered: the causes on the sheet are renewed with it. */
  #renew = false;

  readonly log: Log = $derived.by(() => this.#foldedLog());
  readonly counted: readonly Counted[] = $derived.by(() =>
    countedRecordings(this.#desk.job, this.log, { file: this.#shown().recording.file }),
  );
  readonly heard: readonly HeardRecording[] = $derived.by(() => this.#heardNow());
  readonly told: Told = $derived.by(() =>
    complaintsTold(
      this.#desk.job,
      this.#facts.facts.complaint ?? "",
      this.heard.map((h) => h.findings),
    ),
  );
  /** What marked intervals answer by themselves. */
  readonly answered: readonly Answered[] = $derived.by(() =>
    this.heard.flatMap((h) => markedResults(h.findings).map((m) => ({ ...m, file: h.recording }))),
  );

  constructor(page: Page, desk: JobDesk, facts: SheetFacts, shown: () => Shown) {
    this.#page = page;
    this.normals = new OwnNormals(placesBeside(document.baseURI).normals, page.settings);
    this.#desk = desk;
    this.#facts = facts;
    this.#shown = shown;
    this.#beside = new Beside(page.beside);
    this.#watch = new AdviceWatch(page.analysts, (advice) => this.#toldAnew(advice));
  }

  get advice(): Advice | null {
    return this.#watch.advice;
  }

  get behind(): boolean {
    return this.#watch.behind;
  }

  get vehicle(): VehicleFacts {
    return this.#facts.facts.vehicle;
  }

  /** Everything that was entered, as it was. */
  get entries(): readonly LogEntry[] {
    return this.#entries();
  }

  get job(): JobDocument | null {
    return this.#desk.job;
  }

  /** Recordings of the job that are wanted beside the one that is shown. */
  get #wanted(): string[] {
    const { file } = this.#shown().recording;
    return this.counted
      .filter((c) => c.counts && c.file !== file)
      .map((c) => c.file)
      .slice(-mostBeside);
  }

  /** Hands what there is to be weighed to the watch; to be called whenever any of it changed. */
  follow(): void {
    this.#beside.want(this.#wanted);
    for (const file of this.#wanted) this.#readByJob(file);
    const { job } = this.#desk;
    const { lacking, perHour, giveUp } = this.#page.settings.current;
    const { order, next, declined = [] } = job?.advice ?? {};
    const entries = this.#entries();
    const own = this.ownCases.counted(this.#page.settings.current, job?.id ?? null);
    this.#watch.about(
      {
        complaints: this.told.complaints,
        facts: this.vehicle,
        heard: this.heard,
        log: entries,
        ...(own === undefined ? {} : { own }),
      },
      {
        preferences: { lacking, perHour, giveUp, declined },
        own: {
          ...(order === undefined ? {} : { order }),
          ...(next === undefined ? {} : { next }),
        },
      },
      this.#renew || !this.#shown().recording.live,
    );
  }

  stop(): void {
    this.#watch.stop();
    this.#beside.want([]);
  }

  /** Recordings that may be laid side by side: the one that is shown, and those opened beside it. */
  view(file: string): RecordingView | undefined {
    const { recording } = this.#shown();
    return recording.file === file ? recording : this.#beside.get(file);
  }

  /** A job to enter things into; the one that is open, else a new one. */
  begin(): Promise<void> {
    return beginFrom(this.#desk, this.#shown());
  }

  /** Adds to the log, in one step with what else belongs to it. False where no job could be begun. */
  async enter(entry: LogEntry, more: (job: JobDocument) => readonly Change[] = () => []): Promise<boolean> {
    const said = withWords(entry, this.#entries());
    return this.#put((job) => [...more(job), putting(job, "log", entry.id, { entry: said })]);
  }

  async withdraw(of: string, words: string): Promise<boolean> {
    const by = this.#desk.job?.who.mechanic ?? "";
    return this.enter({
      k: "withdraw",
      id: newId(),
      at: nowText(),
      of,
      ...(by === "" ? {} : { by: by.slice(0, 80) }),
      ...(words.trim() === "" ? {} : { words: words.trim() }),
    });
  }

  /** Null: as the words or the recording say. */
  complain(complaints: readonly Complaint[] | null): Promise<boolean> {
    return this.#choose("complaints", complaints);
  }

  /** This cause before the others; those that were put first earlier follow. Null: by the tables again. */
  putFirst(cause: string | null): Promise<boolean> {
    const before = this.#desk.job?.advice.order ?? [];
    return this.#choose("order", cause === null ? null : [cause, ...before.filter((c) => c !== cause)]);
  }

  /** Null: what the tables choose. */
  chooseNext(check: string | null): Promise<boolean> {
    return this.#choose("next", check);
  }

  decline(check: string, not: boolean): Promise<boolean> {
    const others = (this.#desk.job?.advice.declined ?? []).filter((c) => c !== check);
    return this.#choose("declined", not ? [...others, check] : others);
  }

  count(file: string, counts: boolean): Promise<boolean> {
    const others = (this.#desk.job?.advice.uncounted ?? []).filter((f) => f !== file);
    return this.#choose("uncounted", counts ? others : [...others, file]);
  }

  /** Two recordings or stretches that were laid side by side, with the ties of both. False where a tie cannot be had. */
  async putCompared(
    compared: BeforeAfter,
    files: { readonly before: string; readonly after: string },
  ): Promise<boolean> {
    const desk = this.#desk;
    await this.begin();
    const before = await desk.tie(files.before);
    const tie = await desk.tie(files.after);
    if (before === null || tie === null) return false;
    return this.#put((job) => [
      puttingStatement({ job, id: newId(), tie }, { kind: "before-after", compared, before }),
    ]);
  }

  /** The causes as they stand now, on the sheet, in place of those that stood there. */
  async putAdvice(): Promise<boolean> {
    const { advice } = this;
    return advice !== null && this.#put((job) => this.#advising(job, advice));
  }

  /** The causes, and whatever speaks for or against one of them, from each recording, in one step. */
  async putRests(): Promise<boolean> {
    const { advice } = this;
    if (advice === null) return false;
    const parts = restsOn(advice, this.heard).flatMap((rests) => {
      const recording = this.view(rests.file);
      return recording === undefined ? [] : [{ recording, rests }];
    });
    this.#renew = true;
    return putTogether(this.#desk, this.#shown(), parts, (job) => this.#advising(job, advice));
  }

  async #choose(field: string, value: Json | null): Promise<boolean> {
    await this.begin();
    if (this.#desk.job === null) return false;
    this.#renew = this.#onSheet(this.#desk.job) !== undefined;
    this.#desk.set(["advice", field], value ?? undefined);
    return true;
  }

  /** The job is begun and its first recording put on it, where there is none yet. */
  async #put(make: (job: JobDocument) => readonly Change[]): Promise<boolean> {
    const desk = this.#desk;
    const shown = this.#shown();
    // A device of the network adds to the job that is open on the laptop, and to nothing else of it.
    if (this.#page.server.role === "mark") {
      if (desk.job !== null) desk.do(make(desk.job));
      return desk.job !== null;
    }
    await this.begin();
    const bare = desk.job !== null && inOrder(desk.job.recordings).length === 0;
    const tie = bare ? await desk.tie(shown.recording.file) : null;
    const { job } = desk;
    if (job === null) return false;
    this.#renew = true;
    desk.do([...(tie === null ? [] : recordingChange(job, tie, shown)), ...make(job)]);
    return true;
  }

  #onSheet(job: JobDocument): string | undefined {
    return inOrder(job.entries).find((e) => e.says.kind === "advice")?.id;
  }

  /** Causes that were taken off the sheet by hand do not come back by themselves. */
  #toldAnew(advice: Advice): void {
    const { job } = this.#desk;
    if (!this.#renew || job === null) return;
    this.#renew = false;
    const known = Object.values(job.entries).some((e) => e.says.kind === "advice");
    if (known && this.#onSheet(job) === undefined) return;
    this.#desk.do(this.#advising(job, advice), true);
  }

  #advising(job: JobDocument, advice: Advice): Change[] {
    const recordings = inOrder(job.recordings);
    const { file } = this.#shown().recording;
    const tie = (recordings.find((r) => r.tie.file === file) ?? recordings[0])?.tie;
    if (tie === undefined) return [];
    const says = {
      kind: "advice" as const,
      advice,
      at: nowText(),
      recordings: this.heard.map((h) => h.recording),
    };
    const own = this.#onSheet(job);
    if (own === undefined) return [puttingStatement({ job, id: newId(), tie }, says)];
    // Anew with its words: those that stand there were said of what was known before.
    return [
      setting(job, ["entries", own, "says"], says as Json),
      setting(job, ["entries", own, "said"], saidNow(says)),
    ].filter((change) => change !== null);
  }

  /** A recording beside the shown one is read by the facts of the open job, as that one is. */
  #readByJob(file: string): void {
    const view = this.#beside.get(file);
    if (view === undefined || view.reading.header === null) return;
    const { vehicle } = effectiveFacts(view.reading.facts, this.#desk.job, file).facts;
    const normal = this.normals.of(vehicle, file);
    untrack(() => view.readBy(vehicle, normal));
  }

  #entries(): LogEntry[] {
    const { job } = this.#desk;
    return job === null ? [] : inOrder(job.log).map((item) => item.entry);
  }

  #foldedLog(): Log {
    return foldLog(this.#entries(), this.vehicle);
  }

  #heardNow(): HeardRecording[] {
    return this.counted.flatMap(({ file, counts }) => {
      const view = counts ? this.view(file) : undefined;
      const findings = view?.findings ?? null;
      if (view === undefined || findings === null) return [];
      return [{ recording: file, started: view.reading.header?.started ?? "", findings }];
    });
  }
}
