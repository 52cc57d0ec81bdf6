/**
 * Logs from elsewhere that the page sends: looked at first, then made into a recording by what the person confirmed. A log
 * waits in a folder of the system's for its confirmation, a few at most, and is removed behind it.
 */
import { mkdtemp, rm } from "node:fs/promises";
import type { IncomingMessage, ServerResponse } from "node:http";
import { randomBytes } from "node:crypto";
import { tmpdir } from "node:os";
import { basename, join } from "node:path";
import { z } from "zod/mini";
import type { Clock } from "../../shared/clock.ts";
import { CranksideError } from "../../shared/errors.ts";
import { choiceSchema, stillAsked, type LogLook } from "../../shared/logLook.ts";
import { lookAtFile } from "../recorder/import/logFile.ts";
import { importLog, mapsFolder } from "../recorder/import/logs.ts";
import { isOwnOrigin, type Door } from "./doors.ts";
import { answerError, answerJson, forbid } from "./answers.ts";
import { writeNew } from "../recorder/jobs/write.ts";
import { bodyOf } from "./jobs.ts";

/** A log of a whole day, as text. */
export const longestLog = 512 * 1024 * 1024;
/** Logs that wait to be confirmed. */
const mostWaiting = 4;

const confirmedSchema = z.strictObject({
  choices: z.array(choiceSchema).check(z.maxLength(500)),
  keep: z.boolean(),
});

interface Waiting {
  readonly path: string;
  readonly name: string;
  readonly look: LogLook;
}

export interface ImportsOptions {
  /** Asked anew each time: the folder may change while recording. */
  readonly own: () => string;
  readonly clock: Clock;
  readonly writer: string;
}

export class Imports {
  readonly #options: ImportsOptions;
  readonly #waiting = new Map<string, Waiting>();
  #folder: Promise<string> | null = null;

  constructor(options: ImportsOptions) {
    this.#options = options;
  }

  /** True when the address is one of ours; it is then answered. */
  answer(
    request: IncomingMessage,
    response: ServerResponse,
    { url, door }: { url: URL; door: Door },
  ): boolean {
    const [, api, what, id = ""] = url.pathname.split("/");
    if (api !== "api" || what !== "logs") return false;
    if (request.method !== "POST" || door.role !== "full" || !isOwnOrigin(request, door)) {
      forbid(response, "brings in logs");
      return true;
    }
    const name =
      basename((url.searchParams.get("name") ?? "").replaceAll("\\", "/")).slice(0, 200) || "log.csv";
    const done = id === "" ? this.#take(request, name) : this.#confirm(request, id);
    done.then(
      (answer) => answerJson(response, answer),
      (error: unknown) => answerError(response, error),
    );
    return true;
  }

  async close(): Promise<void> {
    if (this.#folder !== null) await rm(await this.#folder, { recursive: true, force: true });
  }

  async #take(request: IncomingMessage, name: string): Promise<object> {
    this.#folder ??= mkdtemp(join(tmpdir(), "crankside-logs-"));
    const id = randomBytes(8).toString("hex");
    const path = join(await this.#folder, id);
    try {
      await writeNew(path, limited(request));
      const look = await lookAtFile(path, mapsFolder(this.#options.own()), name);
      this.#waiting.set(id, { path, name, look });
      for (const oldest of [...this.#waiting.keys()].slice(0, -mostWaiting)) await this.#remove(oldest);
      return { id, look };
    } catch (error) {
      await rm(path, { force: true });
      throw error;
    }
  }

  async #confirm(request: IncomingMessage, id: string): Promise<object> {
    const waiting = this.#waiting.get(id);
    if (waiting === undefined)
      throw new CranksideError("file-missing", "this log does not wait any more", {
        advice: "Drop it again.",
      });
    const { choices, keep } = await bodyOf(request, confirmedSchema);
    const { path: csv, name, look } = waiting;
    const asked = stillAsked(look, choices);
    if (choices.length !== look.columns.length || asked.length > 0)
      throw new CranksideError("csv-columns", "not everything is said yet", {
        found: asked.join(" "),
        where: name,
      });
    const { own, clock, writer } = this.#options;
    const result = await importLog({
      ...{ csv, name, look, choices, keep, clock, writer },
      own: own(),
      out: null,
    });
    await this.#remove(id);
    const { rows, samples, channels, notices } = result;
    return { file: basename(result.path), rows, samples, channels, notices };
  }

  async #remove(id: string): Promise<void> {
    const path = this.#waiting.get(id)?.path;
    this.#waiting.delete(id);
    if (path !== undefined) await rm(path, { force: true });
  }
}

async function* limited(source: AsyncIterable<Buffer>): AsyncGenerator<Buffer> {
  let bytes = 0;
  for await (const piece of source) {
    bytes += piece.length;
    if (bytes > longestLog) {
      const expected = `at most ${longestLog >> 20} MB`;
      throw new CranksideError("too-much", "the log is too long", { expected });
    }
    yield piece;
  }
}
