/** What the page asks of the program about jobs. Every answer is checked; a failure carries its code. */
import { z } from "zod/mini";
import { CranksideError } from "../../../../shared/errors.ts";
import {
  jobListSchema,
  keptPhotoSchema,
  type JobList,
  type KeptPhoto,
} from "../../../../shared/jobMessages.ts";
import type { Change, Conflict } from "../../../sheet/change.ts";
import { reached, toldIn } from "../app/leave.ts";
import { checkJob, tieSchema, type JobDocument, type Tie } from "../../../sheet/job.ts";
import { wrongShape } from "../../../../shared/wrongShape.ts";

const stateSchema = z.array(
  z.object({
    file: z.string(),
    sha256: z.string(),
    state: z.enum(["fits", "altered", "missing", "unreadable"]),
  }),
);
export type NoteForm = "note.html" | "markdown.zip" | "clips.zip" | "bundle.zip";

export type TieStates = z.infer<typeof stateSchema>;

const changedSchema = z.object({
  job: z.unknown(),
  conflicts: z.array(
    z.object({ path: z.array(z.string()), theirs: z.optional(z.json()), yours: z.optional(z.json()) }),
  ),
});

const openedSchema = z.object({ job: z.unknown(), files: z.int(), about: z.array(z.string()) });

/** A bundle that was opened: the job, how many files fit their sums, and what it says of itself. */
export interface OpenedBundle {
  readonly job: JobDocument;
  readonly files: number;
  readonly about: readonly string[];
}

export interface SavedJob {
  readonly job: JobDocument;
  readonly conflicts: readonly Conflict[];
}

export class JobApi {
  /** Where jobs are answered, with a slash at the end. */
  readonly base: string;

  readonly #reads: () => boolean;

  /** `page` is the page's own address. `reads`: a device of the network, which opens jobs to read alone. */
  constructor(page: string, reads: () => boolean = () => false) {
    this.base = new URL("api/jobs/", page).href;
    this.#reads = reads;
  }

  async list(search: string): Promise<JobList> {
    return this.#checked(jobListSchema, await this.#ask(`?search=${encodeURIComponent(search)}`));
  }

  /** The job that was opened last, without the others. */
  async last(): Promise<string | null> {
    return this.#checked(jobListSchema, await this.#ask("?only=last")).last;
  }

  async create(name: string): Promise<JobDocument> {
    return checkJob(await this.#send("", { name }), "the new job");
  }

  async open(id: string): Promise<JobDocument> {
    return checkJob(this.#reads() ? await this.#ask(id) : await this.#send(`${id}/open`, {}), `job ${id}`);
  }

  /** The job when it is at another revision than this by now, else null. */
  async newer(id: string, revision: number): Promise<JobDocument | null> {
    const value = await this.#ask(`${id}?since=${revision}`);
    return value === null ? null : checkJob(value, `job ${id}`);
  }

  async change(id: string, changes: readonly Change[]): Promise<SavedJob> {
    const { job, conflicts } = this.#checked(changedSchema, await this.#send(`${id}/changes`, { changes }));
    return { job: checkJob(job, `job ${id}`), conflicts };
  }

  async tie(id: string, file: string): Promise<Tie> {
    return this.#checked(tieSchema, await this.#ask(`${id}/tie?file=${encodeURIComponent(file)}`));
  }

  async ties(id: string): Promise<TieStates> {
    return this.#checked(stateSchema, await this.#ask(`${id}/ties`));
  }

  async addPhoto(id: string, photo: Blob): Promise<KeptPhoto> {
    return this.#checked(keptPhotoSchema, await this.#send(`${id}/photos`, photo));
  }

  /** It is not opened by itself when the page comes again. A device of the network only looks away from it. */
  async leave(id: string): Promise<void> {
    if (!this.#reads()) await this.#send(`${id}/leave`, {});
  }

  async takeIn(id: string, file: string): Promise<void> {
    await this.#send(`${id}/take-in`, { file });
  }

  async openBundle(file: Blob): Promise<OpenedBundle> {
    const { job, ...opened } = this.#checked(openedSchema, await this.#send("?bundle", file));
    return { ...opened, job: checkJob(job, "the bundle's job") };
  }

  photoUrl(id: string, file: string): string {
    return `${this.base}${id}/photos/${file}`;
  }

  noteUrl(id: string, form: NoteForm, query: string): string {
    return `${this.base}${id}/${form}?${query}`;
  }

  #checked<T>(schema: z.ZodMiniType<T>, value: unknown): T {
    const result = schema.safeParse(value);
    if (result.success) return result.data;
    const wrong = wrongShape(result.error.issues, value, "a known answer");
    throw new CranksideError("message-invalid", "not an answer about jobs", { ...wrong });
  }

  #send(path: string, body: object): Promise<unknown> {
    const content = body instanceof Blob ? body : JSON.stringify(body);
    return this.#ask(path, { method: "POST", body: content });
  }

  async #ask(path: string, init: RequestInit = {}): Promise<unknown> {
    const base = this.base.replace(/\/$/, path === "" || path.startsWith("?") ? "" : "/");
    const response = await reached(base + path, init);
    if (response.status === 204) return null;
    const text = await response.text();
    let value: unknown;
    try {
      value = JSON.parse(text);
    } catch (error) {
      throw new CranksideError(
        "message-invalid",
        "not an answer about jobs",
        { found: text.slice(0, 80) },
        error,
      );
    }
    if (response.ok) return value;
    throw toldIn(text);
  }
}
