/** What the page asks of the program, answered from memory: away, slow or refusing as a test says. */
import { CranksideError } from "../../shared/errors.ts";
import type { JobList } from "../../shared/jobMessages.ts";
import { JobApi, type SavedJob, type TieStates } from "../../src/page/lib/job/jobApi.ts";
import { applyChanges, type Change } from "../../src/sheet/change.ts";
import { newJob, type JobDocument } from "../../src/sheet/job.ts";

const when = "2024-03-02T08:00:00Z";

/** Waits until everything that is ready to go on has gone on. */
export async function settled(): Promise<void> {
  for (let i = 0; i < 3; i++) await new Promise((resolve) => setImmediate(resolve));
}

export class FakeJobs extends JobApi {
  readonly jobs = new Map<string, JobDocument>();
  lastOpened: string | null = null;
  /** How often it was asked which job was opened last. */
  asked = 0;
  away = false;
  /** Changes are not this page's to make. */
  guest = false;
  /** Changes are answered when this is called; null: at once. */
  hold: (() => void) | null = null;
  #holding = false;
  readonly sent: (readonly Change[])[] = [];

  constructor(...ids: readonly string[]) {
    super("http://localhost/");
    for (const id of ids) this.jobs.set(id, newJob(id, when));
    this.lastOpened = ids[0] ?? null;
  }

  /** The next changes wait for `hold`. */
  slow(): void {
    this.#holding = true;
  }

  override list(): Promise<JobList> {
    return this.#there(() => ({ jobs: [], last: this.lastOpened }));
  }

  override last(): Promise<string | null> {
    this.asked += 1;
    return this.#there(() => this.lastOpened);
  }

  override create(name: string): Promise<JobDocument> {
    return this.#there(() => {
      this.jobs.set(name, newJob(name, when));
      this.lastOpened = name;
      return this.#job(name);
    });
  }

  override open(id: string): Promise<JobDocument> {
    return this.#there(() => this.#job(id));
  }

  override newer(id: string, revision: number): Promise<JobDocument | null> {
    return this.#there(() => (this.#job(id).revision === revision ? null : this.#job(id)));
  }

  override ties(): Promise<TieStates> {
    return this.#there(() => []);
  }

  override async leave(): Promise<void> {
    await this.#there(() => {
      this.lastOpened = null;
    });
  }

  override async change(id: string, changes: readonly Change[]): Promise<SavedJob> {
    this.sent.push(changes);
    if (this.#holding) {
      this.#holding = false;
      await new Promise<void>((resolve) => (this.hold = resolve));
      this.hold = null;
    }
    return this.#there(() => {
      if (this.guest) throw new CranksideError("role-refused", "a guest");
      const { job, conflicts } = applyChanges(this.#job(id), changes, when);
      this.jobs.set(id, job);
      return { job, conflicts };
    });
  }

  #there<T>(answer: () => T): Promise<T> {
    if (this.away) return Promise.reject(new CranksideError("link-closed", "away"));
    return Promise.resolve().then(answer);
  }

  #job(id: string): JobDocument {
    const job = this.jobs.get(id);
    if (job === undefined) throw new CranksideError("job-missing", id);
    return job;
  }
}
