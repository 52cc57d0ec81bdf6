import type { Clock } from "../../../../shared/clock.ts";
import type { Failure } from "../../../../shared/messages.ts";
import { Analyst } from "../../../analyst/index.ts";
import type { RegimeSpan } from "../../../interpret/folds/regimes.ts";
import type { Findings } from "../../../interpret/index.ts";
import { NewsOf } from "../../../reading/index.ts";
import { failureOf } from "../app/failure.ts";
import type { FromRecording, ReadBy, ToRecording, WantedRecording } from "./analystTalk.ts";
import type { bodyOf } from "./body.ts";
import { ByteJoin } from "./join.ts";
import { WorkPieces } from "./workPieces.ts";

/** Where recordings are read: on a thread of its own, or on the page where it has none. */
export interface Workplace {
  readonly clock: Clock;
  /** Lets others who wait have their turn. */
  readonly rest: () => Promise<void>;
  readonly bodyOf: typeof bodyOf;
}

/** Queued live lines beyond this are let go: the file has them, and is asked again. */
const mostQueuedBytes = 4 * 1024 * 1024;
/** A file that is read is shown as soon as there is anything, again after so long, and then after twice as long each time. */
const shownAgainMs = 1000;
/** Recording time that is taken between two looks at the clock. */
const strideMs = 15_000;
/**
 * Between two looks at what is found lies so long, and so many times what a look took: live lines go first. A look takes
 * a few milliseconds after an hour, so that a sign is told within a third of a second after its last reading.
 */
const leastRestMs = 100;
const restFactor = 10;
/** However long it takes: findings that are far behind are no findings. */
const mostRestMs = 3000;
/** Figures that change and say nothing new are told so often. */
const calmMs = 900;
/** Regimes are worked out so often. */
const spansMs = 240;

/** One recording, read by its analyst as it grows: says what came, and what it means, as soon as there is any. */
export class Analysing {
  readonly #wanted: WantedRecording;
  readonly #at: Workplace;
  readonly #tell: (say: FromRecording) => void;
  readonly #analyst: Analyst;
  readonly #news: NewsOf;
  readonly #join = new ByteJoin();
  readonly #abort = new AbortController();
  #isLive: boolean;
  #fetching: Promise<Failure | null> | null = null;
  #next: Promise<Failure | null> | null = null;
  #queue: { from: number; bytes: Uint8Array }[] = [];
  #queuedBytes = 0;
  /** The page's time minus the recording's, at the promptest arrival so far. */
  #lag = Number.POSITIVE_INFINITY;
  #pageTime = 0;
  #spansDueAt = Number.NEGATIVE_INFINITY;
  #spansFor = "";
  #saying = false;
  #finding = false;
  #lookDueAt = Number.NEGATIVE_INFINITY;
  #cancelLook: (() => void) | null = null;
  #toldAt = Number.NEGATIVE_INFINITY;
  #toldKey = "";
  /** Worked out and not told, as it says nothing new. */
  #owed: Findings | null = null;
  #lookedTo = 0;
  #lookedBy = "";

  constructor(wanted: WantedRecording, at: Workplace, tell: (say: FromRecording) => void) {
    this.#wanted = wanted;
    this.#at = at;
    this.#tell = tell;
    this.#isLive = wanted.live;
    this.#analyst = new Analyst(wanted.file);
    this.#news = new NewsOf(this.#analyst.reading);
  }

  hear(say: ToRecording): void {
    switch (say.kind) {
      case "lines":
        this.#pageTime = say.at;
        this.#lines(say.from, say.bytes);
        break;
      case "catch-up":
        if (say.ended) this.#isLive = false;
        void this.#caughtUp(say.ask);
        break;
      case "read-by":
        this.#readBy(say);
        break;
      case "beat":
        this.#pageTime = say.at;
        this.#say(false);
        this.#look();
        break;
      case "stand":
        this.#lag = Number.POSITIVE_INFINITY;
        break;
      case "close":
        this.#cancelLook?.();
        this.#abort.abort();
        break;
    }
  }

  get #closed(): boolean {
    return this.#abort.signal.aborted;
  }

  #lines(from: number, bytes: Uint8Array): void {
    if (this.#fetching === null && this.#take(from, bytes)) {
      if (!this.#saying) void this.#saySoon();
      return;
    }
    this.#enqueue(from, bytes);
    if (this.#fetching === null) void this.#catchUp();
  }

  /** Once for all lines that wait already: there are many when a page was asleep. */
  async #saySoon(): Promise<void> {
    this.#saying = true;
    await this.#at.rest();
    this.#saying = false;
    if (this.#closed) return;
    this.#say(true);
    this.#look();
  }

  #take(from: number, bytes: Uint8Array): boolean {
    const fresh = this.#join.take(from, bytes);
    if (fresh === null) return false;
    if (fresh.length === 0) return true;
    this.#analyst.push(fresh);
    this.#lag = Math.min(this.#lag, this.#pageTime - this.#analyst.reading.lastTime);
    return true;
  }

  #enqueue(from: number, bytes: Uint8Array): void {
    this.#queue.push({ from, bytes });
    this.#queuedBytes += bytes.length;
    while (this.#queuedBytes > mostQueuedBytes)
      this.#queuedBytes -= this.#queue.shift()?.bytes.length ?? this.#queuedBytes;
  }

  #drainQueue(): void {
    const queue = this.#queue;
    this.#queue = [];
    this.#queuedBytes = 0;
    for (const { from, bytes } of queue) {
      // A hole that the file could not fill yet is filled when the next lines come.
      if (!this.#take(from, bytes)) break;
    }
  }

  async #caughtUp(ask: number): Promise<void> {
    const failure = await this.#catchUp();
    if (this.#closed) return;
    this.#tell({ kind: "caught", ask, failure });
    if (failure === null || this.#isLive) this.#look();
  }

  /** Reads what the file holds beyond what is known. */
  #catchUp(): Promise<Failure | null> {
    // The file may have grown after a running fetch began: one more follows it, and serves all who asked.
    if (this.#fetching !== null) {
      this.#next ??= this.#fetching.then(() => {
        this.#next = null;
        return this.#catchUp();
      });
      return this.#next;
    }
    this.#fetching = this.#fetchAll().finally(() => {
      this.#fetching = null;
    });
    return this.#fetching;
  }

  async #fetchAll(): Promise<Failure | null> {
    let failure: Failure | null = null;
    try {
      await this.#fetchOnce();
      this.#drainQueue();
      if (!this.#isLive) this.#analyst.finish();
    } catch (error) {
      if (this.#closed) return null;
      failure = failureOf(error);
    }
    this.#spansDueAt = Number.NEGATIVE_INFINITY;
    this.#say(false);
    return failure;
  }

  async #fetchOnce(): Promise<void> {
    const { clock, bodyOf } = this.#at;
    const { reading } = this.#analyst;
    // What came before the pause says nothing of how late lines come after it.
    this.#lag = Number.POSITIVE_INFINITY;
    const begin = this.#join.offset;
    let from = begin;
    const { next, length } = await bodyOf(`${this.#wanted.url}${from}`, this.#abort.signal);
    let showAt = Number.NEGATIVE_INFINITY;
    let restMs = shownAgainMs;
    const pieces = new WorkPieces(this.#at);
    for (let piece = await next(); piece !== null; piece = await next()) {
      if (length !== null && begin === 0 && !this.#isLive)
        reading.channels.reached((from + piece.length) / length);
      const fresh = this.#join.take(from, piece);
      from += piece.length;
      if (fresh !== null && fresh.length > 0) {
        this.#analyst.push(fresh);
        // While the next bytes are on their way.
        this.#analyst.follow();
      }
      await pieces.next();
      const now = clock.now();
      if (now < showAt || reading.channels.size === 0) continue;
      showAt = now + restMs;
      restMs *= 2;
      this.#say(false);
    }
  }

  #readBy({ vehicle, normal }: ReadBy): void {
    this.#analyst.readBy({ facts: (recorded) => ({ ...recorded, vehicle }), normal });
    // From the beginning, and at once: a person waits for it.
    this.#lookedTo = 0;
    this.#spansDueAt = Number.NEGATIVE_INFINITY;
    this.#lookDueAt = Number.NEGATIVE_INFINITY;
    if (this.#fetching !== null || this.#analyst.reading.header === null) return;
    this.#say(false);
    this.#look();
  }

  /** What came since it was said the last time. */
  #say(prompt: boolean): void {
    const spans = this.#spansIfDue();
    const crank = this.#isLive ? this.#analyst.crank(this.#now()) : null;
    const told = { bytes: this.#join.offset, prompt, crank, ...(spans === null ? {} : { spans }) };
    this.#tell({ kind: "news", news: this.#news.next(), ...told });
  }

  #now(): number {
    const { lastTime } = this.#analyst.reading;
    return Number.isFinite(this.#lag) ? Math.max(lastTime, this.#pageTime - this.#lag) : lastTime;
  }

  #spansIfDue(): readonly RegimeSpan[] | null {
    const now = this.#at.clock.now();
    const state = `${this.#join.offset} ${this.#analyst.whole} ${this.#analyst.vehicle.idleRpm ?? ""}`;
    if (now < this.#spansDueAt || state === this.#spansFor) return null;
    this.#spansFor = state;
    this.#spansDueAt = now + spansMs;
    return this.#analyst.spans();
  }

  /** Works out what is found, now or as soon as it is due. */
  #look(): void {
    if (this.#finding || this.#fetching !== null || this.#closed) return;
    if (this.#owed !== null) this.#found(this.#owed);
    const wait = this.#analyst.whole ? 0 : this.#lookDueAt - this.#at.clock.now();
    // It looks by itself then: each line need not ask whether there is anything new.
    if (wait > 0 && this.#cancelLook !== null) return;
    if (!this.#analyst.behind) return;
    if (wait <= 0) {
      void this.#find();
      return;
    }
    this.#cancelLook ??= this.#at.clock.after(wait, () => {
      this.#cancelLook = null;
      this.#look();
    });
  }

  async #find(): Promise<void> {
    const { clock } = this.#at;
    this.#finding = true;
    let spent = 0;
    try {
      spent = await this.#advance();
      if (this.#closed) return;
      const from = clock.now();
      const findings = this.#analyst.findings();
      spent += clock.now() - from;
      this.#found(findings);
    } finally {
      this.#finding = false;
      this.#lookDueAt = clock.now() + Math.min(mostRestMs, Math.max(leastRestMs, spent * restFactor));
    }
    // What came meanwhile.
    this.#look();
  }

  /** Milliseconds of work, rests left out. */
  async #advance(): Promise<number> {
    const end = this.#analyst.reading.lastTime;
    const by = JSON.stringify(this.#analyst.vehicle);
    // Other facts: from the beginning.
    if (by !== this.#lookedBy) this.#lookedTo = 0;
    this.#lookedBy = by;
    const pieces = new WorkPieces(this.#at);
    for (; this.#lookedTo < end && !this.#closed; this.#lookedTo += strideMs) {
      this.#analyst.advance(this.#lookedTo);
      await pieces.next();
    }
    return pieces.spent;
  }

  /** What is new is told at once; what only goes on, now and then. */
  #found(findings: Findings): void {
    const now = this.#at.clock.now();
    const key = keyOf(findings);
    this.#owed = findings;
    if (!this.#analyst.whole && key === this.#toldKey && now < this.#toldAt + calmMs) return;
    this.#owed = null;
    this.#toldKey = key;
    this.#toldAt = now;
    this.#tell({ kind: "found", findings });
  }
}

/** Another text where something new is found: not where a figure went on. */
function keyOf({ signs, cranks, codes, comparisons, profile = [] }: Findings): string {
  return [
    ...signs.map(({ key, verdict }) => `${key} ${verdict}`),
    ...cranks.map(({ outcome }) => outcome),
    ...codes.map(({ code }) => code),
    ...profile.map(({ of, value }) => `${of} ${String(value)}`),
    comparisons.length,
  ].join("\n");
}
