/**
 * Looking through the folder: GET /api/find, its proved cases: GET /api/cases, and sound
 * recordings to be laid under another: GET /api/references. The indexes are held in memory; those that are missing are made behind the
 * answer, one after the other, and never while a vehicle is listened to: that would hold up its line.
 */
import { existsSync } from "node:fs";
import type { IncomingMessage, ServerResponse } from "node:http";
import type { Clock } from "../../shared/clock.ts";
import { CranksideError } from "../../shared/errors.ts";
import { lookedAtSchema, type FoundList } from "../../shared/found.ts";
import { allCases } from "../recorder/shelf/cases.ts";
import { Shelf } from "../recorder/shelf/shelf.ts";
import { referencesFor, type Reference } from "../sheet/shelf/references.ts";
import { lineOf, search, wordsOf } from "../sheet/shelf/search.ts";
import { answerError, answerJson, forbid } from "./answers.ts";
import type { Door } from "./doors.ts";

/** More than this nobody reads: another word is wanted. */
const mostListed = 100;
/** Whether anything has changed on the disk is looked at no more often than this. */
const lookEveryMs = 5000;

export interface FinderOptions {
  /** Asked anew each time: the folder may change while recording. */
  readonly own: () => string;
  /** A vehicle is listened to. */
  readonly busy: () => boolean;
  readonly clock: Clock;
}

export class Finder {
  readonly #options: FinderOptions;
  #shelf: Shelf | null = null;
  #lookedAt = Number.NEGATIVE_INFINITY;
  #missing = 0;
  #making: Promise<void> | null = null;
  #closed = false;

  constructor(options: FinderOptions) {
    this.#options = options;
  }

  /** True when the address is ours; it is then answered. Names of customers stand in jobs: on this machine only. */
  answer(
    request: IncomingMessage,
    response: ServerResponse,
    { url, door }: { url: URL; door: Door },
  ): boolean {
    if (!["/api/find", "/api/cases", "/api/references"].includes(url.pathname)) return false;
    if (request.method !== "GET" || door.role !== "full") {
      forbid(response, "looks through jobs");
      return true;
    }
    try {
      answerJson(
        response,
        url.pathname === "/api/find"
          ? this.#find(url.searchParams)
          : url.pathname === "/api/references"
            ? this.#references(url.searchParams)
            : { cases: allCases(this.#looked()).cases },
      );
    } catch (error) {
      answerError(response, error);
    }
    return true;
  }

  /** A recording was closed: its index is made while nothing else is going on. */
  settle(): void {
    this.#lookedAt = Number.NEGATIVE_INFINITY;
    if (this.#options.busy() || this.#closed) return;
    this.#make(this.#current());
  }

  async close(): Promise<void> {
    this.#closed = true;
    await this.#making;
  }

  #find(asked: URLSearchParams): FoundList {
    const shelf = this.#looked();
    const told = (name: string): Record<string, string> => {
      const value = asked.get(name) ?? "";
      return value === "" ? {} : { [name]: value };
    };
    const fits = search(shelf.all, {
      words: wordsOf(asked.get("words") ?? ""),
      ...told("vehicle"),
      ...told("code"),
      ...told("sign"),
      ...(/^\d{4}-\d\d(-\d\d)?$/.test(asked.get("since") ?? "") ? told("since") : {}),
    });
    return {
      found: fits.slice(0, mostListed).map((one) => {
        const { kind, started } = one.entry;
        return { kind, name: one.name, started, line: lineOf(one) };
      }),
      fits: fits.length,
      all: shelf.all.length,
      making: this.#missing,
    };
  }

  #references(params: URLSearchParams): { references: Reference[]; making: number } {
    const of = params.get("of") ?? "";
    let asked: unknown;
    try {
      asked = JSON.parse(of);
    } catch {
      asked = null;
    }
    const looked = lookedAtSchema.safeParse(asked);
    if (!looked.success)
      throw new CranksideError("message-invalid", "expected the recording that is looked at", {
        found: of.slice(0, 60),
      });
    // A person asks for them by a deliberate act: what lies there since the last look is among them. The page asks again.
    if (!params.has("again")) this.#lookedAt = Number.NEGATIVE_INFINITY;
    const shelf = this.#looked();
    return { references: referencesFor(shelf.all, looked.data), making: this.#missing };
  }

  /** The shelf, looked at whether it has changed; what is missing is begun. */
  #looked(): Shelf {
    const shelf = this.#current();
    const now = this.#options.clock.now();
    if (now - this.#lookedAt > lookEveryMs && this.#making === null) {
      this.#lookedAt = now;
      // Before the first recording the folder is not there, and nothing is in it.
      this.#missing = existsSync(shelf.folder) ? shelf.load().length : 0;
      if (this.#missing > 0 && !this.#options.busy()) this.#make(shelf);
    }
    return shelf;
  }

  #current(): Shelf {
    const own = this.#options.own();
    if (this.#shelf?.folder !== own) {
      this.#shelf = new Shelf(own);
      this.#lookedAt = Number.NEGATIVE_INFINITY;
    }
    return this.#shelf;
  }

  #make(shelf: Shelf): void {
    this.#making ??= shelf
      .refresh({
        stopped: () => this.#closed || this.#options.busy(),
        onProgress: (made, toMake) => {
          this.#missing = toMake - made;
        },
      })
      .then(() => {
        this.#missing = this.#options.busy() ? this.#missing : 0;
      })
      .catch(() => {
        // The folder cannot be listed: the next question tells it.
        this.#missing = 0;
      })
      .finally(() => {
        this.#making = null;
      });
  }
}
