/**
 * What is normal for a vehicle, over HTTP: GET /api/normals lists what was learned and what is used for which vehicle, POST
 * /api/normals/learn learns from recordings of the folder, POST /api/normals takes such a file in, POST /api/normals/use
 * uses one for a vehicle, GET /api/normals/ID hands one out.
 */
import type { IncomingMessage, ServerResponse } from "node:http";
import { CranksideError } from "../../shared/errors.ts";
import { learnRequestSchema, longestNormal, useRequestSchema } from "../../shared/normalMessages.ts";
import {
  keepNormal,
  keptNormals,
  keptNormalText,
  learnFromFiles,
  normalText,
  usedNormals,
  useNormal,
} from "../recorder/normals.ts";
import { answerError, answerJson, counted, forbid } from "./answers.ts";
import { isOwnOrigin, type Door } from "./doors.ts";
import { recordingPath, type Folders } from "./folders.ts";
import { bodyOf } from "./jobs.ts";

export interface NormalsOptions {
  /** Asked anew each time: the folder may change while recording. */
  readonly folders: () => Folders;
  /** A vehicle is listened to: reading whole recordings would hold up its line. */
  readonly busy: () => boolean;
  /** Another is used for some vehicle: what was judged by the one before is judged anew. */
  readonly onUsed: () => void;
}

const notNow = (found: string): CranksideError =>
  new CranksideError("wrong-use", "not learned now", {
    found,
    advice: "Learn from recordings once the live one has ended.",
  });

export class Normals {
  readonly #options: NormalsOptions;
  #learning = false;
  /** One choice is written after the other. */
  #using: Promise<unknown> = Promise.resolve();

  constructor(options: NormalsOptions) {
    this.#options = options;
  }

  /** True when the address is ours; it is then answered. Only the page on this machine is. */
  answer(
    request: IncomingMessage,
    response: ServerResponse,
    { url, door }: { url: URL; door: Door },
  ): boolean {
    const [, api, what, id, ...more] = url.pathname.split("/");
    if (api !== "api" || what !== "normals" || more.length > 0) return false;
    const reads = request.method === "GET";
    if (door.role !== "full" || (!reads && (request.method !== "POST" || !isOwnOrigin(request, door)))) {
      forbid(response, "learns what is normal for a vehicle");
      return true;
    }
    if (reads) {
      try {
        this.#read(response, id);
      } catch (error) {
        answerError(response, error);
      }
      return true;
    }
    const done =
      id === "learn"
        ? this.#learn(request, response)
        : id === "use"
          ? this.#use(request, response)
          : this.#take(request, response, url.searchParams.get("name") ?? "vehicle");
    done.catch((error: unknown) => answerError(response, error));
    return true;
  }

  /** Asked before each recording that is read: one may begin meanwhile. */
  #mustBeIdle(): void {
    if (this.#options.busy()) throw notNow("a vehicle is being recorded");
  }

  get #own(): string {
    return this.#options.folders().own;
  }

  #read(response: ServerResponse, id: string | undefined): void {
    if (id === undefined) {
      answerJson(response, { normals: keptNormals(this.#own), used: usedNormals(this.#own) });
      return;
    }
    const text = keptNormalText(this.#own, id);
    response.writeHead(200, {
      "content-type": "application/json; charset=utf-8",
      "cache-control": "no-store",
      "content-disposition": `attachment; filename="${id}.json"`,
    });
    response.end(text);
  }

  async #learn(request: IncomingMessage, response: ServerResponse): Promise<void> {
    const { name, files } = await bodyOf(request, learnRequestSchema);
    if (this.#learning) throw notNow("it is being learned already");
    this.#mustBeIdle();
    this.#learning = true;
    try {
      const paths = files.map((file) => recordingPath(this.#options.folders(), file).path);
      const normal = await learnFromFiles(paths, name.trim() === "" ? undefined : name.trim(), () =>
        this.#mustBeIdle(),
      );
      answerJson(response, keepNormal(this.#own, normalText(normal), "vehicle"));
    } finally {
      this.#learning = false;
    }
  }

  async #use(request: IncomingMessage, response: ServerResponse): Promise<void> {
    const asked = await bodyOf(request, useRequestSchema);
    const done = this.#using.then(() => useNormal(this.#own, asked));
    this.#using = done.catch(() => undefined);
    answerJson(response, { used: await done });
    this.#options.onUsed();
  }

  async #take(request: IncomingMessage, response: ServerResponse, name: string): Promise<void> {
    const pieces: Buffer[] = [];
    for await (const piece of counted(request, longestNormal, "too-much")) pieces.push(piece);
    answerJson(response, keepNormal(this.#own, Buffer.concat(pieces).toString("utf8"), name));
  }
}
