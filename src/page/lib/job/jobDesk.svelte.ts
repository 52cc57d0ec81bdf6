import { CranksideError } from "../../../../shared/errors.ts";
import type { Clock } from "../../../../shared/clock.ts";
import type { Failure } from "../../../../shared/messages.ts";
import type { JobList } from "../../../../shared/jobMessages.ts";
import {
  applyChanges,
  folded,
  setting,
  valueAt,
  type Change,
  type Conflict,
  type Json,
} from "../../../sheet/change.ts";
import type { JobDocument, Tie } from "../../../sheet/job.ts";
import { failureOf } from "../app/failure.ts";
import { Outbox, type Saved, type Sent } from "../app/outbox.svelte.ts";
import type { JobApi, OpenedBundle } from "./jobApi.ts";
import type { JobKeep } from "./jobKeep.ts";
import { remaining } from "./jobPending.ts";
import { JobSteps } from "./jobSteps.svelte.ts";
import { JobTies } from "./jobTies.svelte.ts";

const leftByLaterWords =
  "a later version of the program left words of this job in this browser, which this one cannot read; they stay there";

const saveAfterMs = 600;
/** Another page's changes are looked for this often. */
const lookEveryMs = 4000;

/**
 * The job that is open, as it is typed: what the program has, and on top the changes that it does not have yet, which
 * wait in the outbox.
 */
export class JobDesk {
  readonly api: JobApi;
  readonly ties: JobTies;
  readonly steps = new JobSteps((changes) => this.#add(changes));
  readonly #clock: Clock;
  readonly #keep: JobKeep;
  readonly #outbox: Outbox<readonly Change[]>;
  readonly #hidden: () => boolean;
  #known: JobDocument | null = $state.raw(null);
  readonly #job: JobDocument | null = $derived.by(() => this.#withPending());
  #failure: Failure | null = $state.raw(null);
  #conflicts: readonly Conflict[] = $state.raw([]);
  #list: JobList = $state.raw({ jobs: [], last: null });
  #search = "";
  /** Other jobs with words that a page which is gone did not save. */
  #left: readonly string[] = $state.raw([]);
  #cancelLook: (() => void) | null = null;
  #closed = false;

  /** `hidden`: nobody looks at the page now. */
  constructor(api: JobApi, clock: Clock, keep: JobKeep, hidden = () => document.hidden) {
    this.#hidden = hidden;
    this.api = api;
    this.ties = new JobTies(api);
    this.#clock = clock;
    this.#keep = keep;
    this.#outbox = new Outbox({
      ...{ kept: keep.kept, clock, settleMs: saveAfterMs },
      send: (key, changes) => this.#send(key.slice(0, key.indexOf("/")), changes),
      failed: (failure) => {
        this.#failure = failure;
        // What only the laptop may change does not stand on another device as if it were kept.
        if (failure.code !== "role-refused") return "soon";
        this.steps.forget();
        return "taken back";
      },
      rest: (sent, now) => someOf(remaining(sent, now ?? [])),
    });
    this.#lookOn();
  }

  /** As it stands on the page, unsaved words included. */
  get job(): JobDocument | null {
    return this.#job;
  }

  get #key(): string {
    return this.#known === null ? "" : this.#keep.key(this.#known.id);
  }

  get saved(): Saved {
    return this.#outbox.saved(this.#key);
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

  /** Typed words are safe with the program only, not against a crash before they are saved. */
  get careless(): boolean {
    return this.#outbox.careless;
  }

  /** Closing the page now would lose words. */
  get wouldLose(): boolean {
    return this.#outbox.wouldLose;
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

  /** Turns to the job that was opened last on the laptop, and lays this one aside where none is open there any more. */
  async followLast(): Promise<void> {
    const now = this.#known?.id ?? null;
    let last = now;
    await this.#guarded(async () => {
      last = await this.api.last();
    });
    if (last !== now) await (last === null ? this.leave() : this.open(last));
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
    if (known === null || this.#outbox.words(this.#key) !== null) return;
    await this.#guarded(() => this.api.leave(known.id));
    this.#turnTo(null);
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
    if (change !== null) this.steps.type(change, this.#clock.now());
  }

  /** Changes that belong together: one step back takes all of them back. */
  do(changes: readonly Change[], goesOn = false): void {
    this.steps.do(changes, goesOn);
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
    await this.#outbox.flush(this.#key);
  }

  close(): void {
    this.#closed = true;
    this.#outbox.close();
    this.#cancelLook?.();
  }

  #withPending(): JobDocument | null {
    const known = this.#known;
    const pending = this.#outbox.words(this.#key);
    if (known === null || pending === null) return known;
    try {
      return applyChanges(known, pending, known.changed).job;
    } catch {
      // A change that no longer fits what is known: the program says why when it is sent.
      return known;
    }
  }

  async #take(job: JobDocument): Promise<void> {
    const left = await this.#takeOver(job.id);
    this.#turnTo(job);
    if (left !== null) {
      this.#outbox.put(this.#key, left);
      void this.#outbox.flush(this.#key);
    }
    await this.ties.look(job.id);
    if (this.#keep.leftByLater(job.id)) throw new CranksideError("newer-format", leftByLaterWords);
  }

  /** What a page left that went away meanwhile: this job's is saved, of others it is told. */
  async #lookForLeft(): Promise<void> {
    this.#left = await this.#keep.left();
    const known = this.#known;
    if (known === null || !this.#left.includes(known.id)) return;
    const left = await this.#takeOver(known.id);
    if (this.#known?.id === known.id && left !== null) this.#add(left);
  }

  #takeOver(id: string): Promise<readonly Change[] | null> {
    return this.#keep.takeOver(id, () => this.#outbox.words(this.#keep.key(id)) ?? []);
  }

  #turnTo(job: JobDocument | null): void {
    this.#known = job;
    this.#conflicts = [];
    this.steps.forget();
    this.ties.forget();
  }

  /** False, and nothing is changed, where the changes do not fit the job; the failure is told. */
  #add(changes: readonly Change[]): boolean {
    const known = this.#known;
    if (known === null) return false;
    const pending = folded([...(this.#outbox.words(this.#key) ?? []), ...changes]);
    try {
      applyChanges(known, pending, known.changed);
    } catch (error) {
      this.#failure = failureOf(error);
      return false;
    }
    this.#failure = null;
    this.#outbox.put(this.#key, someOf(pending));
    return true;
  }

  async #send(id: string, changes: readonly Change[]): Promise<Sent> {
    try {
      const { job, conflicts } = await this.api.change(id, changes);
      const took = (): void => {
        if (this.#known?.id !== id) return;
        this.#known = job;
        this.#conflicts = [...this.#conflicts, ...conflicts];
        this.#failure = null;
      };
      return { ok: true, took };
    } catch (error) {
      return { ok: false, failure: failureOf(error) };
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
    if (known === null || this.saved === "saving" || this.#hidden()) return;
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

function someOf(changes: readonly Change[]): readonly Change[] | null {
  return changes.length === 0 ? null : changes;
}

/** A desk that lasts as long as the page: what it derives would else end with the component that asked for it first. */
export function lastingDesk(make: () => JobDesk): JobDesk {
  const made: JobDesk[] = [];
  $effect.root(() => void made.push(make()));
  return made[0] ?? make();
}
