import { flushSync } from "svelte";
import type { BenchAct, Status } from "../../../../shared/messages.ts";
import type { JobFacts } from "../../../../shared/vehicle.ts";
import { ChartLanes } from "../chart/chartLanes.svelte.ts";
import { Frames } from "../chart/index.ts";
import { pageClock } from "./clock.ts";
import { Hookup } from "../connection/hookup.svelte.ts";
import { NextFacts } from "../job/nextFacts.svelte.ts";
import { RecordingFacts } from "../job/recordingFacts.svelte.ts";
import { seriesOf } from "../chart/lanes.ts";
import { AnalystThread } from "../recording/analystThread.ts";
import { RecordingView } from "../recording/recording.svelte.ts";
import { Server, type Answer } from "../connection/server.svelte.ts";
import { SettingsState } from "./settings.svelte.ts";
import { Compared } from "../recording/compared.svelte.ts";
import { around, nextPlace, steppedTime, type Place, type PlaceKind } from "../chart/goTo.ts";
import { shownOn, type Screen, type Sheet, type Shown } from "../recording/shown.ts";
import { placesBeside, type Places } from "../connection/places.ts";
import { keptFacts, recordingOutboxes } from "./recordingOutboxes.ts";
import { Tone } from "./tone.svelte.ts";
import { benchWords, inventedWords, unkeptWords } from "./words.ts";

export type { Screen, Sheet, Shown };

/** Time goes on without readings too: ages and the live end are renewed this often. */
const beatMs = 250;
const storage = (): Storage => localStorage;
const saidForMs = 7000;

/** All that the page knows and can do; components read it and call it. */
export class Page {
  readonly clock = pageClock;
  readonly settings = new SettingsState(() => this.say(unkeptWords));
  readonly tone = new Tone();
  readonly frames = new Frames(flushSync);
  /** Where recordings are read. */
  readonly analysts = new AnalystThread(pageClock);
  readonly #outboxes = recordingOutboxes({
    ...{ clock: pageClock, storage },
    ask: (ask) => this.server.ask(ask),
    isLive: (file) => this.#live?.recording.file === file,
    written: async (file) => {
      const shown = [this.#live, this.#shown].find((one) => one?.recording.file === file);
      await shown?.recording.catchUp();
    },
    say: (text) => this.say(text),
  });
  /** Of the recording that is shown. */
  readonly facts = new RecordingFacts(this.#outboxes.facts);
  /** What the next recording begins with, filled in at the hookup. */
  readonly nextFacts = new NextFacts(keptFacts(storage));
  readonly server: Server;
  readonly hookup: Hookup;
  readonly #places: Places;
  #live: Shown | null = $state.raw(null);
  #shown: Shown | null = $state.raw(null);
  #screen: Screen = $state("hookup");
  /** Speed and volts fill the screen. */
  far = $state(false);
  dialog: "none" | "help" | "lanes" | "compare" | "picture" = $state("none");
  sheet: Sheet = $state("lanes");
  readonly lanes = new ChartLanes(this, (ask) => this.#ask(ask));
  /** Another recording under the lanes. */
  readonly compared: Compared;
  #said = $state("");
  #unsay: (() => void) | null = null;
  #stopBeat: (() => void) | null = null;
  /** The last recording of the vehicle that was connected: what its sheet says holds for the next one too. */
  #fromHere: Shown | null = null;
  /** There is a live recording that was not shown yet. */
  #unseen = false;
  /** The person asked for the live recording, and it is shown as soon as it is there. */
  #wantsLive = true;
  /** `place` is the page's own address: the program answers beside it. */
  constructor(place: string) {
    this.hookup = new Hookup(this);
    this.#places = placesBeside(place);
    this.compared = new Compared(this.beside);
    this.server = new Server(this.#places.socket, pageClock, {
      joined: () => {
        void this.hookup.lookForPorts();
        void this.hookup.lookForRecordings();
        void this.#live?.recording.catchUp();
        this.#retry();
      },
      parted: () => this.#live?.recording.stand(),
      status: (status) => this.#follow(status),
      lines: ({ file, from, bytes }) => {
        if (this.#live?.recording.file === file) this.#live.recording.lines(from, bytes);
      },
    });
    this.#beatOn();
  }

  /** Another recording, to be looked at beside the one that is shown; who asks closes it. */
  readonly beside = (file: string): RecordingView =>
    this.#recording(file, { live: false, bundled: this.hookup.isBundled(file) });

  get live(): Shown | null {
    return this.#live;
  }

  get shown(): Shown | null {
    return this.#shown;
  }

  get screen(): Screen {
    return this.#screen;
  }

  /** A short word to the person about what just happened. */
  get said(): string {
    return this.#said;
  }

  /** Invented data is named on every screen that shows it; null for a real vehicle's. */
  get invented(): string | null {
    if (this.#screen === "chart" && this.#shown !== null && this.#shown !== this.#live) {
      return inventedWords(this.#shown.recording.reading);
    }
    return this.server.status.bench === null ? null : benchWords;
  }

  goTo(screen: Screen): void {
    if (screen === "hookup") this.nextFacts.begin(this.#factsForNext());
    this.#screen = screen;
  }

  /** Where a mark goes: at the cursor, else at the live end or at the end of what is seen. */
  markTime(): number {
    const view = this.#shown?.view;
    if (view === undefined) return 0;
    return view.cursor ?? (view.following ? (this.#shown?.recording.now() ?? 0) : view.readingTime);
  }

  goToNext(kind: PlaceKind, by: 1 | -1): void {
    if (this.#shown === null) return;
    const { place, words } = nextPlace(kind, by, around(this.#shown));
    if (place !== null) this.#bring(place);
    this.say(words);
  }

  #bring({ from, to }: Pick<Place, "from" | "to">): void {
    this.sheet = "lanes";
    this.#shown?.view.goTo(from, to);
  }

  /** The chart at a window, with the lanes that show it; the lanes that were there can be had back. */
  showMe(window: { readonly from: number; readonly to: number }, channels: readonly string[]): void {
    this.#bring(window);
    this.lanes.lend(channels);
  }

  /** The cursor to the next or previous reading of the first lane. */
  stepCursor(by: number): void {
    if (this.#shown === null) return;
    const { view, recording } = this.#shown;
    const series = seriesOf(recording.reading.channels, this.lanes.now[0]?.[0] ?? "");
    const t = series === undefined ? null : steppedTime(series, view.steppingTime, by);
    if (t !== null) view.stepTo(t);
  }

  /** False when there is nothing to start or stop. */
  toggleRecording(): boolean {
    const { status } = this.server;
    if (status.recording !== null && status.link !== "connecting") void this.stopRecording();
    else if (status.link === "paused" || status.link === "listening") void this.startRecording();
    else return false;
    return true;
  }

  say(text: string): void {
    this.#said = text;
    this.#unsay?.();
    this.#unsay = text === "" ? null : this.clock.after(saidForMs, () => this.say(""));
  }

  connect(address: string, more: { readonly unconfirmed?: true }): Promise<Answer> {
    this.#wantsLive = true;
    return this.server.ask({ type: "connect", address, facts: this.nextFacts.facts, ...more });
  }

  async disconnect(): Promise<void> {
    await this.facts.flush();
    this.#report(await this.server.ask({ type: "disconnect" }));
  }

  async stopRecording(): Promise<void> {
    await this.facts.flush();
    this.#report(await this.server.ask({ type: "stop" }));
  }

  async startRecording(): Promise<void> {
    this.#wantsLive = true;
    this.#report(await this.server.ask({ type: "start", facts: this.#factsForNext() }));
  }

  /** The live recording goes on in the folder that is offered while its own fails. */
  moveRecording = (): Promise<void> => this.#ask({ type: "move" });

  takeOver = (): Promise<void> => this.#ask({ type: "take" });

  closeLan = (): Promise<void> => this.#ask({ type: "close-lan" });

  arm = (on: boolean, more: { readonly strength?: true } = {}): Promise<void> =>
    this.#ask({ type: "arm", on, ...more });

  bench = (act: BenchAct): Promise<void> => this.#ask({ type: "bench", act });

  async #ask(request: Parameters<Server["ask"]>[0]): Promise<void> {
    this.#report(await this.server.ask(request));
  }

  /** Shows a finished recording; the live one, if any, goes on beside it. */
  open(file: string, bundled: boolean): void {
    if (this.#live?.recording.file === file) {
      this.backToLive();
      return;
    }
    this.#letGo();
    const shown = this.#view(file, { live: false, bundled });
    void shown.recording.catchUp();
    this.#show(shown);
  }

  backToLive(): void {
    if (this.#live === null) return;
    const fresh = this.#unseen;
    this.#unseen = false;
    if (this.#shown !== this.#live) this.#letGo();
    this.#fromHere = this.#live;
    this.#show(this.#live);
    this.#live.view.follow();
    if (fresh) this.lanes.meet();
  }

  #follow(status: Status): void {
    const file = status.recording?.file ?? null;
    const before = this.#live;
    if (before !== null && before.recording.file !== file) {
      this.#live = null;
      this.#unseen = false;
      void before.recording.ended();
      if (this.#shown !== before) before.recording.close();
    }
    if (file !== null && this.#live === null) {
      this.#live = this.#view(file, { live: true, bundled: false });
      void this.#live.recording.catchUp();
      this.#unseen = true;
    }
    // While the adapter is being set up the hookup tells how it goes; the chart comes with the first readings.
    const flows = status.link === "listening" || status.link === "lost";
    if (this.#unseen && flows && (this.#wantsLive || this.#screen === "hookup")) this.backToLive();
  }

  #show(shown: Shown): void {
    if (this.#shown !== shown) {
      this.#shown?.playback.stop();
      this.compared.end();
    }
    this.#shown = shown;
    this.#screen = "chart";
    this.#wantsLive = false;
    const { recording } = shown;
    this.facts.turnTo({
      file: recording.file,
      get facts() {
        return recording.reading.facts;
      },
      readOnly: recording.bundled,
    });
  }

  #letGo(): void {
    if (this.#shown !== null && this.#shown !== this.#live) this.#shown.recording.close();
  }

  #recording(file: string, { live, bundled }: { live: boolean; bundled: boolean }): RecordingView {
    const { clock, frames, analysts } = this;
    return new RecordingView({ file, live, bundled, clock, frames, analysts, base: this.#places.recordings });
  }

  #view(file: string, how: { live: boolean; bundled: boolean }): Shown {
    const { clock, frames } = this;
    const spanMs = this.settings.current.span * 1000;
    const say = (text: string): void => this.say(text);
    return shownOn({ clock, frames, spanMs, marks: this.#outboxes.marks, say }, this.#recording(file, how));
  }

  #factsForNext(): JobFacts {
    return this.#shown !== null && this.#shown === this.#fromHere ? this.facts.told : this.nextFacts.facts;
  }

  /** Lets go of the program and of everything that still comes from it. */
  close(): void {
    this.#stopBeat?.();
    this.#unsay?.();
    this.#outboxes.facts.close();
    this.#outboxes.marks.close();
    this.server.close();
    this.compared.end();
    this.#live?.recording.close();
    this.#shown?.recording.close();
    this.analysts.close();
  }

  /** What was typed while the program was away is kept now. */
  #retry(): void {
    this.#outboxes.facts.retry();
    this.#outboxes.marks.retry();
  }

  #report(answer: Answer): void {
    if (!answer.ok) this.say(answer.failure.message);
  }

  #beatOn(): void {
    this.#stopBeat = this.clock.after(beatMs, () => {
      this.#live?.recording.beat();
      this.#beatOn();
    });
  }
}
