import type { Failure } from "../../../../shared/messages.ts";
import type { VehicleFacts } from "../../../../shared/vehicle.ts";
import type { Clock } from "../../../../shared/clock.ts";
import type { ToldCrank } from "../../../analyst/index.ts";
import type { Findings, Normal } from "../../../interpret/index.ts";
import { kindIn, kindText, VehicleRanges } from "../../../interpret/report/ranges.ts";
import { ReadCopy, type Read } from "../../../reading/index.ts";
import { signBands, type Frames, type RegimeSpan, type SignBand } from "../chart/index.ts";
import type { AnalystThread, RecordingLine } from "./analystThread.ts";
import type { FromRecording } from "./analystTalk.ts";

export interface RecordingOptions {
  readonly file: string;
  readonly live: boolean;
  readonly bundled: boolean;
  readonly clock: Clock;
  readonly frames: Frames;
  /** Where it is read. */
  readonly analysts: AnalystThread;
  /** Where recordings are served, with a slash at the end. */
  readonly base: string;
}

export type Phase = "reading" | "live" | "whole" | "failed";

/** What else there is to see or to work out waits for so long, until the paper has been painted. */
const behindPaperMs = 150;

/**
 * One recording on the page: a file that is read, and goes on being read while it grows. What has been drawn stays
 * when the program behind the page goes away.
 */
export class RecordingView {
  readonly file: string;
  readonly bundled: boolean;
  readonly #options: RecordingOptions;
  readonly #line: RecordingLine;
  #copy = new ReadCopy();
  #phase: Phase = $state("reading");
  #failure: Failure | null = $state.raw(null);
  #bytes = $state(0);
  #onPaper = $state(false);
  /** What was read in a new wrapper for each frame that changed it: whoever reads it is brought up to date. */
  #seen: { readonly reading: Read } = $state.raw({ reading: this.#copy });
  /** The same, renewed a few times a second only. */
  #calm: { readonly reading: Read; readonly end: number } = $state.raw({ reading: this.#copy, end: 0 });
  #end = $state(0);
  #spans: readonly RegimeSpan[] = $state.raw([]);
  #findings: Findings | null = $state.raw(null);
  /** With the findings and not with each reading: what they were worked out from is behind it anyway. */
  readonly #signBands = $derived.by(() => signBands(this.#findings?.signs ?? [], this.#copy.channels));
  #crank: ToldCrank | null = $state.raw(null);
  /** Told, and shown with the next frame. */
  #news: { spans: readonly RegimeSpan[]; crank: ToldCrank | null } = { spans: [], crank: null };
  /** Facts that go before the recording's own. */
  #given: VehicleFacts | null = $state.raw(null);
  #normal: Normal | undefined;
  readonly #vehicle: VehicleFacts = $derived(this.#given ?? this.#seen.reading.facts.vehicle ?? {});
  /** As text: the ranges are made anew where it says something else, not with each finding. */
  readonly #kind = $derived(kindText(this.#findings?.profile));
  readonly #ranges = $derived(new VehicleRanges(this.#vehicle, kindIn(this.#kind)));
  #isLive: boolean;
  /** clock.now() minus the recording's time, at the promptest arrival so far. */
  #lag = Number.POSITIVE_INFINITY;

  constructor(options: RecordingOptions) {
    this.#options = options;
    this.file = options.file;
    this.bundled = options.bundled;
    this.#isLive = options.live;
    const { file, live, base } = options;
    this.#line = options.analysts.open(
      { file, live, url: `${base}${encodeURIComponent(file)}?from=` },
      { hear: (say) => this.#hear(say), again: () => this.#again() },
    );
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
  get reading(): Read {
    return this.#seen.reading;
  }

  /** What was read so far; changes a few times a second, for figures that a person reads. */
  get calm(): { readonly reading: Read; readonly end: number } {
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
    const before = this.#given ?? this.#copy.facts.vehicle ?? {};
    if (normal === this.#normal && JSON.stringify(vehicle) === JSON.stringify(before)) return;
    this.#normal = normal;
    this.#given = vehicle;
    this.#line.readBy({ vehicle, normal });
    this.#changed();
  }

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

  /** The end of the last crank that the findings have; what is told live of a later one is news. */
  get cranksUntil(): number {
    return Math.max(0, ...(this.findings?.cranks ?? []).map((crank) => crank.to));
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
    const { lastTime } = this.#copy;
    if (!this.#isLive || !Number.isFinite(this.#lag)) return lastTime;
    return Math.max(lastTime, this.#options.clock.now() - this.#lag);
  }

  /** Reads what the file holds beyond what is known. */
  async catchUp(): Promise<void> {
    // What came before the pause says nothing of how late lines come after it.
    this.stand();
    await this.#line.catchUp(!this.#isLive);
  }

  /** Live lines, which stand at byte `from` of the file; their memory is handed over. */
  lines(from: number, bytes: Uint8Array<ArrayBuffer>): void {
    this.#line.lines(from, bytes);
  }

  /** The recording has ended: reads its last lines and takes it as whole. */
  async ended(): Promise<void> {
    this.#isLive = false;
    await this.catchUp();
  }

  close(): void {
    this.#line.close();
  }

  /** Nothing can come for now: its time stands still at what came last. */
  stand(): void {
    this.#lag = Number.POSITIVE_INFINITY;
    this.#line.stand();
  }

  /** Time went on, with or without readings. */
  beat(): void {
    this.#end = this.now();
    this.#calm = { reading: this.#copy, end: this.#end };
    this.#line.beat();
  }

  #hear(say: FromRecording): void {
    switch (say.kind) {
      case "news":
        this.#take(say);
        break;
      case "found":
        this.#findings = say.findings;
        break;
      case "caught":
        this.#caughtUp(say.failure);
        break;
    }
  }

  #take({ news, bytes, prompt, spans, crank }: Extract<FromRecording, { kind: "news" }>): void {
    this.#copy.take(news);
    this.#bytes = bytes;
    if (prompt) this.#lag = Math.min(this.#lag, this.#options.clock.now() - this.#copy.lastTime);
    this.#news = { spans: spans ?? this.#news.spans, crank };
    if (news.tails.length > 0 || news.told !== null) this.#changed();
    else this.#showNews();
  }

  #caughtUp(failure: Failure | null): void {
    this.#failure = failure;
    if (failure === null) this.#phase = this.#isLive ? "live" : "whole";
    // What was read stays; only a file of which nothing was understood is a failure as a whole.
    else if (this.#copy.header === null) this.#phase = "failed";
    this.#changed();
    this.#options.clock.after(behindPaperMs, () => (this.#onPaper = true));
  }

  /** The thread came to grief, and all is read once more. */
  #again(): void {
    this.#copy = new ReadCopy();
    this.#changed();
  }

  #changed(): void {
    this.#options.frames.update(this.#bump);
  }

  readonly #bump = (): void => {
    this.#end = this.now();
    this.#seen = { reading: this.#copy };
    this.#showNews();
    if (this.#isLive) return;
    this.#calm = { reading: this.#copy, end: this.#end };
  };

  #showNews(): void {
    this.#spans = this.#news.spans;
    this.#crank = this.#isLive ? this.#news.crank : null;
  }
}
