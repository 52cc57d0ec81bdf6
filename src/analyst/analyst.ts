/**
 * One recording, from its bytes to what is said of it: columns, spans, facts, findings, headline, advice, and the crank
 * while it happens. Whole, or growing. The page (on a thread of its own), the command line, the note's sheet and the shelf
 * all ask one of these.
 */
import type { UnitSystem } from "../../shared/units.ts";
import type { JobFacts, VehicleFacts } from "../../shared/vehicle.ts";
import type { Advice } from "../interpret/causes/adviceSchema.ts";
import { advise, type AdviceOptions } from "../interpret/causes/advice.ts";
import { complaintsInWords, complaintsOf } from "../interpret/causes/complaint.ts";
import type { OwnCases } from "../interpret/causes/own.ts";
import type { Complaint } from "../interpret/causes/types.ts";
import { Interpreter, VehicleRanges, type Findings, type Normal } from "../interpret/index.ts";
import type { RegimeSpan } from "../interpret/folds/regimes.ts";
import type { RecordingNormal } from "../interpret/normal/gather.ts";
import { headlineOf, type Headline } from "../interpret/report/headline.ts";
import { kindIn, kindText } from "../interpret/report/ranges.ts";
import { Reading } from "../reading/index.ts";
import { Cranks, type ToldCrank } from "./cranks.ts";
import { Regimes } from "./regimes.ts";

export interface ReadBy {
  /** In place of the recording's own facts, made of those that it has by then. */
  readonly facts?: ((recorded: JobFacts) => JobFacts) | undefined;
  /** What was learned of the vehicle. */
  readonly normal?: Normal | undefined;
}

export interface AdviceOf {
  /** In place of what the recording is told to be about. */
  readonly complaints?: readonly Complaint[] | undefined;
  /** The person's own proved cases, which count beside the tables. */
  readonly own?: OwnCases | undefined;
  readonly options?: AdviceOptions;
}

export class Analyst {
  /** As it is named in error messages and in advice. */
  readonly file: string;
  readonly reading: Reading;
  #by: ReadBy;
  /** How often it was to be held against something else that was learned. */
  #normals = 0;
  readonly #regimes: Regimes;
  readonly #cranks: Cranks;
  #interpreter: Interpreter | null = null;
  #interpretedBy = "";
  #ranges: { readonly by: string; readonly ranges: VehicleRanges } | null = null;
  #whole = false;
  /** What the last findings were for. */
  #state = "";
  #findings: Findings | null = null;

  constructor(file: string, by: ReadBy = {}) {
    this.file = file;
    this.#by = by;
    this.reading = new Reading(file);
    this.#regimes = new Regimes(this.reading, () => this.vehicle);
    this.#cranks = new Cranks(this.reading, () => this.ranges);
  }

  /** Bytes of the recording in any pieces. Throws only for a wrong header. */
  push(bytes: Uint8Array): void {
    this.reading.push(bytes);
  }

  /** When it began, ISO 8601 with zone; empty before its header came. */
  get started(): string {
    return this.reading.header?.started ?? "";
  }

  /** Something is wrong with the file as such, and part of it may be missing. */
  notice(text: string): void {
    this.reading.notices.push({ line: 0, text, lost: true });
  }

  /** All that there is was read. It may be read on all the same: marks are added days later. */
  finish(): void {
    this.reading.finish();
    this.#whole = true;
  }

  get whole(): boolean {
    return this.#whole;
  }

  /** What it is about, and by what it is read. */
  get facts(): JobFacts {
    const recorded = this.reading.facts;
    return this.#by.facts?.(recorded) ?? recorded;
  }

  get vehicle(): VehicleFacts {
    return this.facts.vehicle ?? {};
  }

  /** What is plausible for this vehicle, as far as was found out what kind it is. */
  get ranges(): VehicleRanges {
    const { vehicle } = this;
    const kind = kindText(this.#findings?.profile);
    const by = JSON.stringify([vehicle, kind]);
    if (this.#ranges?.by !== by) this.#ranges = { by, ranges: new VehicleRanges(vehicle, kindIn(kind)) };
    return this.#ranges.ranges;
  }

  /** From now on; what was found is worked out anew where that changes it. */
  readBy(by: ReadBy): void {
    if (by.normal !== this.#by.normal) this.#normals += 1;
    this.#by = by;
  }

  /** What the engine did, up to the last reading. Milliseconds. */
  spans(): RegimeSpan[] {
    return this.#whole ? this.#regimes.whole() : this.#regimes.growing();
  }

  /** Takes what came into the spans without telling them yet. */
  follow(): void {
    this.#regimes.follow();
  }

  /** The crank that goes on, or the last one, as of this time of the recording; null before the first. */
  crank(now: number): ToldCrank | null {
    return this.#cranks.told(now);
  }

  /** Looks at the readings up to a time, milliseconds, so that a long recording can be taken in pieces. */
  advance(until: number): void {
    this.#interpreterNow().advance(until);
  }

  /** Something was added, or it is read by other facts, since the findings were worked out. */
  get behind(): boolean {
    return this.#stateNow() !== this.#state;
  }

  /** What it shows so far; all that it shows once it is whole. */
  findings(): Findings {
    const state = this.#stateNow();
    if (this.#findings !== null && state === this.#state) return this.#findings;
    const interpreter = this.#interpreterNow();
    if (this.#whole) interpreter.finish();
    else interpreter.advance();
    this.#findings = interpreter.findings();
    this.#state = state;
    return this.#findings;
  }

  /** The figures from which is learned what is normal. */
  normal(): RecordingNormal {
    this.findings();
    return this.#interpreterNow().normal();
  }

  /** What it is about: as it is told, else what the recording itself complains of. */
  complaints(told = this.facts.complaint ?? ""): readonly Complaint[] {
    const named = complaintsInWords(told);
    return named.length > 0 ? named : complaintsOf(this.findings());
  }

  /** Likely causes and the next check, by this recording alone. */
  advice({ complaints = this.complaints(), own, options = {} }: AdviceOf = {}): Advice {
    const findings = this.findings();
    return advise(
      {
        complaints,
        facts: this.vehicle,
        heard: [{ recording: this.file, started: this.started, findings }],
        ...(own === undefined ? {} : { own }),
      },
      options,
    );
  }

  headline(advice: Advice | null, system: UnitSystem = "metric"): Headline {
    return headlineOf(this.findings(), advice, system);
  }

  #interpreterNow(): Interpreter {
    const { vehicle } = this;
    const { normal } = this.#by;
    const by = `${this.#normals} ${JSON.stringify(vehicle)}`;
    // Corrected facts change what everything is measured against.
    if (this.#interpreter === null || by !== this.#interpretedBy)
      this.#interpreter = new Interpreter(this.reading, vehicle, normal);
    this.#interpretedBy = by;
    return this.#interpreter;
  }

  #stateNow(): string {
    const { lastTime, marks, notices } = this.reading;
    const marked = marks.map((m) => `${m.id} ${m.at} ${m.until ?? ""} ${m.label}`).join();
    const by = `${this.#normals} ${JSON.stringify(this.vehicle)}`;
    return `${this.#whole} ${lastTime} ${notices.length} ${marked} ${by}`;
  }
}
