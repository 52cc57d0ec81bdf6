import { CranksideError } from "../../../../shared/errors.ts";
import type { Clock } from "../../../../shared/clock.ts";
import type { Failure } from "../../../../shared/messages.ts";
import type { JobList } from "../../../../shared/jobMessages.ts";
import {
  applyChanges,
  folded,
  reversed,
  setting,
  valueAt,
  type Change,
  type Conflict,
  type Json,
} from "../../../sheet/change.ts";
import type { JobDocument, Tie } from "../../../sheet/job.ts";
import { failureOf } from "../app/failure.ts";
import type { JobApi, OpenedBundle } from "./jobApi.ts";
import type { Keep } from "./jobKeep.ts";
import { remaining } from "./jobPending.ts";
import { JobTies } from "./jobTies.svelte.ts";

const leftByLaterWords =
  "a later version of the program left words of this job in this browser, which this one cannot read; they stay there";

export type JobSaved = "kept" | "typing" | "saving" | "failed";

const saveAfterMs = 600;
const retryAfterMs = 3000;
/** Another page's changes are looked for this often. */
const lookEveryMs = 4000;
/** Words typed one after the other into one field are one step back. */
const stepMs = 1500;
const mostSteps = 200;

/**
 * The job that is open, as it is typed: what the program has, and on top the changes that it does not have yet. They
 * are kept beside the page until they are saved, and each can be taken back.
 */
export class JobDesk {
  readonly api: JobApi;
  readonly ties: JobTies;
  readonly #clock: Clock;
  readonly #keep: Keep;
  readonly #hidden: () => boolean;
  #known: JobDocument | null = $state.raw(null);
  #pending: readonly Change[] = $state.raw([]);
  readonly #job: JobDocument | null = $derived.by(() => this.#withPending());
  #saved: JobSaved = $state("kept");
  #failure: Failure | null = $state.raw(null);
  #conflicts: readonly Conflict[] = $state.raw([]);
  #list: JobList = $state.raw({ jobs: [], last: null });
  #search = "";
  #back: readonly (readonly Change[])[] = $state.raw([]);
  #forth: readonly (readonly Change[])[] = $state.raw([]);
  /** Nothing can be kept beside the page. */
  #careless: boolean = $state(false);
  /** Other jobs with words that a page which is gone did not save. */
  #left: readonly string[] = $state.raw([]);
  #lastSet: { readonly path: string; readonly at: number } | null = null;
  #cancelSave: (() => void) | null = null;
  #cancelLook: (() => void) | null = null;
  #saving: Promise<void> | null = null;
  #closed = false;

  /** `hidden`: nobody looks at the page now. */
  constructor(api: JobApi, clock: Clock, keep: Keep, hidden = () => document.hidden) {
    this.#hidden = hidden;
    this.api = api;
    this.ties = new JobTies(api);
    this.#careless = !keep.write("trial", []);
    this.#clock = clock;
    this.#keep = keep;
    this.#lookOn();
  }

  /** As it stands on the page, unsaved words included. */
  get job(): JobDocument | null {
    return this.#job;
  }

  get saved(): JobSaved {
    return this.#saved;
  }

  get failure(): Failure | null {
    return this.#failure;
  }

  /** Fields that another page had changed meanwhile: ours stand, theirs are told here. */
  get conflicts(): readonly Conflict[] {
    return this.#conflicts;
  }

  get list(): JobList {
    return this.#list;
  }

  get canUndo(): boolean {
    return this.#back.length > 0;
  }

  get canRedo(): boolean {
    return this.#forth.length > 0;
  }

  /** Typed words are safe with the program only, not against a crash before they are saved. */
  get careless(): boolean {
    return this.#careless;
  }

  /** Closing the page now would lose words. */
  get wouldLose(): boolean {
    return this.#careless && this.#saved !== "kept";
  }

  /** Jobs of which words are kept in this browser that the program does not have; opening one saves them. */
  get left(): readonly string[] {
    return this.#left.filter((id) => id !== this.#known?.id);
  }

  /** The job that was opened last opens by itself. */
  async begin(): Promise<void> {
    await this.look("");
    const { last } = this.#list;
    if (last !== null && this.#known === null) await this.open(last);
    await this.#lookForLeft();
  }

  /** The list is then of the jobs that fit these words, until others are searched for. */
  look(search = this.#search): Promise<void> {
    this.#search = search;
    return this.#guarded(async () => {
      const list = await this.api.list(search);
      // Typed on meanwhile: the later words' answer stands, whichever comes first.
      if (this.#search === search) this.#list = list;
    });
  }

  async open(id: string): Promise<void> {
    await this.flush();
    await this.#guarded(async () => this.#take(await this.api.open(id)));
  }

  /** What came with the bundle in words, or null where it is not opened; the failure is then told. */
  async openBundle(file: Blob): Promise<OpenedBundle | null> {
    await this.flush();
    let opened: OpenedBundle | null = null;
    await this.#guarded(async () => {
      opened = await this.api.openBundle(file);
      await this.#take(opened.job);
      await this.look();
    });
    return opened;
  }

  async create(
    name: string,
    first: readonly (readonly [path: readonly string[], value: Json])[],
  ): Promise<void> {
    await this.flush();
    await this.#guarded(async () => {
      await this.#take(await this.api.create(name));
      // What was typed meanwhile stands.
      for (const [path, value] of first)
        if (this.#job !== null && valueAt(this.#job, path) === undefined) this.set(path, value);
      await this.look();
    });
  }

  /** Lays the job aside; the sheet is then that of the recording alone. */
  async leave(): Promise<void> {
    await this.flush();
    const known = this.#known;
    if (this.#pending.length > 0 || known === null) return;
    await this.#guarded(() => this.api.leave(known.id));
    this.#known = null;
    this.#forget();
    this.ties.forget();
  }

  async archive(id: string, archived: boolean): Promise<void> {
    if (this.#job?.id === id) this.set(["archived"], archived);
    else {
      const change = { path: ["archived"], before: !archived, after: archived };
      await this.#guarded(async () => {
        await this.api.change(id, [change]);
      });
    }
    await this.flush();
    await this.look();
  }

  /** Sets one field; words typed on in one field are one step back. */
  set(path: readonly string[], value: Json | undefined): void {
    const job = this.#job;
    const change = job === null ? null : setting(job, path, value);
    if (change === null) return;
    const now = this.#clock.now();
    const name = path.join("/");
    const goesOn = this.#lastSet?.path === name && now - this.#lastSet.at < stepMs;
    this.#lastSet = { path: name, at: now };
    this.do([change], goesOn);
  }

  /** Changes that belong together: one step back takes all of them back. */
  do(changes: readonly Change[], goesOn = false): void {
    if (!this.#add(changes)) return;
    const last = goesOn ? this.#back.at(-1) : undefined;
    const step = last === undefined ? changes : folded([...last, ...changes]);
    this.#back = [...(last === undefined ? this.#back : this.#back.slice(0, -1)), step].slice(-mostSteps);
    this.#forth = [];
  }

  undo(): void {
    const step = this.#back.at(-1);
    if (step === undefined || !this.#add(reversed(step))) return;
    this.#lastSet = null;
    this.#back = this.#back.slice(0, -1);
    this.#forth = [...this.#forth, step];
  }

  redo(): void {
    const step = this.#forth.at(-1);
    if (step === undefined || !this.#add(reversed(reversed(step)))) return;
    this.#lastSet = null;
    this.#forth = this.#forth.slice(0, -1);
    this.#back = [...this.#back, step];
  }

  /** Takes the other page's words in place of ours. */
  takeTheirs(conflict: Conflict): void {
    this.set(conflict.path, conflict.theirs);
    this.forgetConflict(conflict);
  }

  forgetConflict(conflict: Conflict): void {
    this.#conflicts = this.#conflicts.filter((c) => c !== conflict);
  }

  /** What ties a clip to this recording as it is on disk now; null where it cannot be said, and the failure is told. */
  async tie(file: string): Promise<Tie | null> {
    const { job } = this;
    let tie: Tie | null = null;
    if (job !== null)
      await this.#guarded(async () => {
        tie = await this.api.tie(job.id, file);
      });
    return tie;
  }

  tell(error: unknown): void {
    this.#failure = failureOf(error);
  }

  forgetFailure(): void {
    this.#failure = null;
  }

  /** Saves at once what waits. */
  async flush(): Promise<void> {
    this.#cancelSave?.();
    this.#cancelSave = null;
    while (this.#saving !== null) await this.#saving;
    if (this.#pending.length > 0) await this.#save();
  }

  close(): void {
    this.#closed = true;
    this.#cancelSave?.();
    this.#cancelLook?.();
  }

  #withPending(): JobDocument | null {
    const known = this.#known;
    if (known === null || this.#pending.length === 0) return known;
    try {
      return applyChanges(known, this.#pending, known.changed).job;
    } catch {
      // A change that no longer fits what is known: the program says why when it is sent.
      return known;
    }
  }

  async #take(job: JobDocument): Promise<void> {
    const left = await this.#keep.takeOver(job.id);
    this.#known = job;
    this.#forget();
    this.ties.forget();
    this.#pending = left;
    this.#saved = left.length > 0 ? "typing" : "kept";
    if (left.length > 0) this.#due(0);
    await this.ties.look(job.id);
    if (this.#keep.leftByLater(job.id)) throw new CranksideError("newer-format", leftByLaterWords);
  }

  /** What a page left that went away meanwhile: this job's is saved, of others it is told. */
  async #lookForLeft(): Promise<void> {
    this.#left = await this.#keep.left();
    const known = this.#known;
    if (known === null || !this.#left.includes(known.id)) return;
    const left = await this.#keep.takeOver(known.id);
    if (this.#known?.id === known.id && left.length > 0) this.#add(left);
  }

  #forget(): void {
    this.#pending = [];
    this.#back = [];
    this.#forth = [];
    this.#conflicts = [];
    this.#lastSet = null;
  }

  /** False, and nothing is changed, where the changes do not fit the job; the failure is told. */
  #add(changes: readonly Change[]): boolean {
    const known = this.#known;
    if (known === null) return false;
    const pending = folded([...this.#pending, ...changes]);
    try {
      applyChanges(known, pending, known.changed);
    } catch (error) {
      this.#failure = failureOf(error);
      return false;
    }
    this.#failure = null;
    this.#pending = pending;
    this.#careless = !this.#keep.write(known.id, pending);
    // What was typed back to what it had been leaves nothing to be saved.
    this.#saved = pending.length === 0 && this.#saving === null ? "kept" : "typing";
    this.#due(saveAfterMs);
    return true;
  }

  #due(ms: number): void {
    this.#cancelSave?.();
    this.#cancelSave = this.#clock.after(ms, () => void this.flush());
  }

  async #save(): Promise<void> {
    this.#saving = this.#saveOnce().finally(() => {
      this.#saving = null;
    });
    await this.#saving;
  }

  async #saveOnce(): Promise<void> {
    const known = this.#known;
    const sent = this.#pending;
    if (known === null || sent.length === 0) return;
    this.#saved = "saving";
    try {
      const { job, conflicts } = await this.api.change(known.id, sent);
      if (this.#known?.id !== job.id) return;
      // Typed on meanwhile: what was sent is taken off, the rest stays on top of what is known now.
      this.#pending = remaining(sent, this.#pending);
      this.#known = job;
      this.#keep.write(job.id, this.#pending);
      if (conflicts.length > 0) this.#conflicts = [...this.#conflicts, ...conflicts];
      this.#failure = null;
      this.#saved = this.#pending.length > 0 ? "typing" : "kept";
      if (this.#pending.length > 0) this.#due(saveAfterMs);
    } catch (error) {
      this.#failure = failureOf(error);
      this.#saved = "failed";
      if (!this.#closed) this.#due(retryAfterMs);
    }
  }

  #lookOn(): void {
    this.#cancelLook = this.#clock.after(lookEveryMs, () => {
      void Promise.all([this.#lookForNewer(), this.#lookForLeft()]).finally(() => {
        if (!this.#closed) this.#lookOn();
      });
    });
  }

  async #lookForNewer(): Promise<void> {
    const known = this.#known;
    if (known === null || this.#saving !== null || this.#hidden()) return;
    try {
      const job = await this.api.newer(known.id, known.revision);
      // Not across a save of our own, which knows better.
      if (job !== null && this.#known === known) this.#known = job;
    } catch {
      // The program is away: the page says so elsewhere, and it is asked again.
    }
  }

  async #guarded(work: () => Promise<void>): Promise<void> {
    try {
      await work();
      this.#failure = null;
    } catch (error) {
      this.#failure = failureOf(error);
    }
  }
}

/** A desk that lasts as long as the page: what it derives would else end with the component that asked for it first. */
export function lastingDesk(make: () => JobDesk): JobDesk {
  const made: JobDesk[] = [];
  $effect.root(() => void made.push(make()));
  return made[0] ?? make();
}
