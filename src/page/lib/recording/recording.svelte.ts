import type { Failure } from "../../../../shared/messages.ts";
import type { VehicleFacts } from "../../../../shared/vehicle.ts";
import { pause, type Clock } from "../../../../shared/clock.ts";
import type { Findings, Normal } from "../../../interpret/index.ts";
import { kindIn, kindText, VehicleRanges } from "../../../interpret/report/ranges.ts";
import { Reading } from "../../../reading/index.ts";
import { signBands, type Frames, type RegimeSpan, type SignBand } from "../chart/index.ts";
import { bodyOf } from "./body.ts";
import { failureOf } from "../app/failure.ts";
import { Cranks, type ToldCrank } from "../../../analyst/cranks.ts";
import { FindingsWatch } from "./findingsWatch.ts";
import { ByteJoin } from "./join.ts";
import { Regimes } from "../../../analyst/regimes.ts";
import { wholeFile, type WholeRead } from "./wholeFile.ts";

export interface RecordingOptions {
  readonly file: string;
  readonly live: boolean;
  readonly bundled: boolean;
  readonly clock: Clock;
  readonly frames: Frames;
  /** Where recordings are served, with a slash at the end. */
  readonly base: string;
}

export type Phase = "reading" | "live" | "whole" | "failed";

/** Queued live text beyond this is let go: the file has it, and is asked again. */
const mostQueuedBytes = 4 * 1024 * 1024;
/** Parsing gives way to the screen after this long. */
const breathAfterMs = 48;
/** What else there is to see or to work out waits for so long, until the paper has been painted. */
const behindPaperMs = 150;

/**
 * One recording on the page: a file that is read, and goes on being read while it grows. What has been drawn stays
 * when the program behind the page goes away.
 */
export class RecordingView {
  readonly file: string;
  readonly bundled: boolean;
  #reading: Reading;
  #regimes: Regimes;
  readonly #options: RecordingOptions;
  #join = new ByteJoin();
  readonly #abort = new AbortController();
  #phase: Phase = $state("reading");
  #failure: Failure | null = $state.raw(null);
  #bytes = $state(0);
  #onPaper = $state(false);
  /** The reading in a new wrapper for each frame that changed it: whoever reads it is brought up to date. */
  #seen: { readonly reading: Reading } = $state.raw({ reading: new Reading("") });
  /** The same, renewed a few times a second only. */
  #calm: { readonly reading: Reading; readonly end: number } = $state.raw({
    reading: new Reading(""),
    end: 0,
  });
  #end = $state(0);
  #spans: readonly RegimeSpan[] = $state.raw([]);
  #findings: Findings | null = $state.raw(null);
  /** With the findings and not with each reading: what they were worked out from is behind it anyway. */
  readonly #signBands = $derived.by(() => signBands(this.#findings?.signs ?? [], this.#reading.channels));
  #findingsWatch: FindingsWatch;
  #crankWatch: Cranks;
  #crank: ToldCrank | null = $state.raw(null);
  /** Facts that go before the recording's own. */
  #given: VehicleFacts | null = $state.raw(null);
  #normal: Normal | undefined;
  readonly #vehicle: VehicleFacts = $derived(this.#given ?? this.#seen.reading.facts.vehicle ?? {});
  /** As text: the ranges are made anew where it says something else, not with each finding. */
  readonly #kind = $derived(kindText(this.#findings?.profile));
  readonly #ranges = $derived(new VehicleRanges(this.#vehicle, kindIn(this.#kind)));
  #isLive: boolean;
  #fetching: Promise<void> | null = null;
  #next: Promise<void> | null = null;
  #queue: { from: number; bytes: Uint8Array }[] = [];
  #queuedBytes = 0;
  #encoder = new TextEncoder();
  /** clock.now() minus the recording's time, at the promptest arrival so far. */
  #lag = Number.POSITIVE_INFINITY;
  #spansDueAt = 0;
  /** The byte up to which the regimes were worked out where the file was read. */
  #spansAt: number | null = null;

  constructor(options: RecordingOptions) {
    this.#options = options;
    this.file = options.file;
    this.bundled = options.bundled;
    this.#reading = new Reading(options.file);
    this.#regimes = new Regimes(this.#reading, this.#vehicleNow);
    this.#findingsWatch = this.#watch();
    this.#crankWatch = new Cranks(this.#reading, () => this.#ranges);
    this.#seen = { reading: this.#reading };
    this.#calm = { reading: this.#reading, end: 0 };
    this.#isLive = options.live;
  }

  get phase(): Phase {
    return this.#phase;
  }

  get failure(): Failure | null {
    return this.#failure;
  }

  /** What it began with is on the paper: from now on there is time for what stands beside it. */
  get onPaper(): boolean {
    return this.#onPaper;
  }

  /** Bytes read so far. */
  get bytes(): number {
    return this.#bytes;
  }

  /** What was read so far; changes with each frame in which something came. */
  get reading(): Reading {
    return this.#seen.reading;
  }

  /** What was read so far; changes a few times a second, for figures that a person reads. */
  get calm(): { readonly reading: Reading; readonly end: number } {
    return this.#calm;
  }

  /** The recording's time as of this frame: the live end, or the end of a finished one. Milliseconds. */
  get end(): number {
    return this.#end;
  }

  /** What is known of the vehicle, and what it is read by. */
  get vehicle(): VehicleFacts {
    return this.#vehicle;
  }

  /** Read by these facts of the vehicle in place of its own, and by what was learned of it, from now on: found anew. */
  readBy(vehicle: VehicleFacts, normal?: Normal): void {
    const before = this.#vehicleNow();
    if (normal === this.#normal && JSON.stringify(vehicle) === JSON.stringify(before)) return;
    this.#normal = normal;
    this.#given = vehicle;
    if (vehicle.idleRpm !== before.idleRpm) {
      this.#spansAt = null;
      this.#spansDueAt = 0;
    }
    this.#changed();
    if (this.#onPaper && this.#phase === "whole") void this.#findingsWatch.renew(true);
  }

  /** As of now, not of the last frame. */
  readonly #vehicleNow = (): VehicleFacts => this.#given ?? this.#reading.facts.vehicle ?? {};

  /** What is plausible for this vehicle, with its own facts taken in. */
  get ranges(): VehicleRanges {
    return this.#ranges;
  }

  /** Ranges that were worked out for signs, where they lie over a trace. */
  get signBands(): readonly SignBand[] {
    return this.#signBands;
  }

  get spans(): readonly RegimeSpan[] {
    return this.#spans;
  }

  /** What it shows so far; null until that was worked out for the first time. */
  get findings(): Findings | null {
    return this.#findings;
  }

  /** The crank that goes on, or the last one, while the recording grows; null before the first. */
  get crank(): ToldCrank | null {
    return this.#crank;
  }

  /** It is still being written. */
  get live(): boolean {
    return this.#phase === "live";
  }

  /** The recording's time at this very moment, while it is live; else its end. Milliseconds. */
  now(): number {
    const { lastTime } = this.#reading;
    if (!this.#isLive || !Number.isFinite(this.#lag)) return lastTime;
    return Math.max(lastTime, this.#options.clock.now() - this.#lag);
  }

  /** Reads what the file holds beyond what is known. */
  catchUp(): Promise<void> {
    // The file may have grown after a running fetch began: one more follows it, and serves all who asked.
    if (this.#fetching !== null) {
      this.#next ??= this.#fetching.then(() => {
        this.#next = null;
        return this.catchUp();
      });
      return this.#next;
    }
    this.#fetching = this.#fetchAll().finally(() => {
      this.#fetching = null;
    });
    return this.#fetching;
  }

  /** Live lines, which stand at byte `from` of the file. */
  lines(from: number, text: string): void {
    const bytes = this.#encoder.encode(text);
    if (this.#fetching !== null) {
      this.#enqueue(from, bytes);
      return;
    }
    if (!this.#take(from, bytes)) {
      this.#enqueue(from, bytes);
      void this.catchUp();
    }
  }

  /** The recording has ended: reads its last lines and takes it as whole. */
  async ended(): Promise<void> {
    this.#isLive = false;
    await this.catchUp();
  }

  close(): void {
    this.#findingsWatch.stop();
    this.#abort.abort();
  }

  /** Nothing can come for now: its time stands still at what came last. */
  stand(): void {
    this.#lag = Number.POSITIVE_INFINITY;
  }

  /** Time went on, with or without readings. */
  beat(): void {
    this.#renewSpans();
    this.#end = this.now();
    this.#calm = { reading: this.#reading, end: this.#end };
    if (this.#isLive) this.#crank = this.#crankWatch.told(this.#end);
    void this.#findingsWatch.renew(false);
  }

  /** Regimes are worked out anew a few times a second at most, less often where that takes long. */
  #renewSpans(): void {
    const now = this.#options.clock.now();
    if (now < this.#spansDueAt || this.#spansAt === this.#join.offset) return;
    this.#spans = this.#isLive ? this.#regimes.growing() : this.#regimes.whole();
    const took = this.#options.clock.now() - now;
    this.#spansDueAt = now + Math.max(240, took * 20);
  }

  #watch(): FindingsWatch {
    return new FindingsWatch(
      { reading: this.#reading, vehicle: this.#vehicleNow, normal: () => this.#normal },
      this.#options.clock,
      (findings) => (this.#findings = findings),
    );
  }

  async #fetchAll(): Promise<void> {
    try {
      const aside = !this.#isLive && this.#join.offset === 0 ? await this.#readAside() : null;
      if (aside === null) await this.#fetchOnce();
      else this.#adopt(aside);
      this.#drainQueue();
      this.#failure = aside?.failure ?? null;
      if (this.#failure === null) this.#read();
    } catch (error) {
      if (this.#abort.signal.aborted) return;
      this.#failure = failureOf(error);
    }
    // What was read stays; only a file of which nothing was understood is a failure as a whole.
    if (this.#failure !== null && this.#reading.header === null) this.#phase = "failed";
    this.#spansDueAt = 0;
    this.#changed();
    this.#options.clock.after(behindPaperMs, () => {
      this.#onPaper = true;
      if (this.#phase === "whole") void this.#findingsWatch.renew(true);
    });
  }

  /** All that there is for now was read. */
  #read(): void {
    if (!this.#isLive) this.#reading.finish();
    this.#phase = this.#isLive ? "live" : "whole";
  }

  /** All of the file, read by a thread of its own; null where that cannot be had. */
  async #readAside(): Promise<WholeRead | null> {
    const { file } = this;
    const { signal } = this.#abort;
    try {
      return await wholeFile(
        { file, url: this.#url(0) },
        {
          signal,
          part: ({ bytes, reading }) => {
            this.#bytes = bytes;
            this.#reading = new Reading(file, reading);
            this.#changed();
          },
        },
      );
    } catch (error) {
      if (signal.aborted) throw error;
      this.#readOn(new Reading(file));
      return null;
    }
  }

  /** Goes on from what was read elsewhere. */
  #adopt({ bytes, reading, spans }: WholeRead): void {
    this.#readOn(new Reading(this.file, reading));
    this.#join = new ByteJoin(bytes);
    this.#bytes = bytes;
    this.#spans = spans;
    // The thread knows the recording's own facts alone.
    this.#spansAt = this.#vehicleNow().idleRpm === this.#reading.facts.vehicle?.idleRpm ? bytes : null;
  }

  #readOn(reading: Reading): void {
    this.#reading = reading;
    this.#regimes = new Regimes(reading, this.#vehicleNow);
    this.#crankWatch = new Cranks(reading, () => this.#ranges);
    this.#findingsWatch.stop();
    this.#findingsWatch = this.#watch();
  }

  /** Where its bytes are, from this one on. */
  #url(from: number): string {
    return `${this.#options.base}${encodeURIComponent(this.file)}?from=${from}`;
  }

  async #fetchOnce(): Promise<void> {
    const { clock } = this.#options;
    // What came before the pause says nothing of how late lines come after it.
    this.stand();
    let from = this.#join.offset;
    const { next } = await bodyOf(this.#url(from), this.#abort.signal);
    let breathAt = clock.now() + breathAfterMs;
    for (;;) {
      const value = await next();
      if (value === null) break;
      const fresh = this.#join.take(from, value);
      from += value.length;
      if (fresh !== null && fresh.length > 0) {
        this.#reading.push(fresh);
        // While the next bytes are on their way.
        this.#regimes.follow();
      }
      if (clock.now() < breathAt) continue;
      this.#bytes = this.#join.offset;
      await pause(clock, 0);
      breathAt = clock.now() + breathAfterMs;
    }
    this.#bytes = this.#join.offset;
  }

  #enqueue(from: number, bytes: Uint8Array): void {
    this.#queue.push({ from, bytes });
    this.#queuedBytes += bytes.length;
    while (this.#queuedBytes > mostQueuedBytes) {
      this.#queuedBytes -= this.#queue.shift()?.bytes.length ?? this.#queuedBytes;
    }
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

  #take(from: number, bytes: Uint8Array): boolean {
    const fresh = this.#join.take(from, bytes);
    if (fresh === null) return false;
    if (fresh.length === 0) return true;
    this.#reading.push(fresh);
    this.#bytes = this.#join.offset;
    this.#lag = Math.min(this.#lag, this.#options.clock.now() - this.#reading.lastTime);
    this.#changed();
    return true;
  }

  #changed(): void {
    this.#options.frames.update(this.#bump);
  }

  readonly #bump = (): void => {
    this.#renewSpans();
    this.#end = this.now();
    this.#seen = { reading: this.#reading };
    this.#crank = this.#isLive ? this.#crankWatch.told(this.#end) : null;
    if (this.#isLive) return;
    this.#calm = { reading: this.#reading, end: this.#end };
  };
}
