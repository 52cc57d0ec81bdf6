/** What is asked of the modules beside their readings: by a person, or by the session itself, between two polls. */
import type { Clock } from "../../shared/clock.ts";
import type { CranksideError } from "../../shared/errors.ts";
import type { Survey } from "../../shared/survey.ts";
import type { Plan } from "../dialogue/index.ts";
import { Clearing, type ClearOutcome } from "./clearing.ts";
import { TaskQueue } from "./taskQueue.ts";
import type { AdapterLine } from "./line.ts";
import { OwnSurvey } from "./ownSurvey.ts";
import type { Poller, Vehicle } from "./poller.ts";
import type { Rest } from "./rest.ts";
import { announced, askSupport } from "./support.ts";
import { surveyPlan } from "./surveyPlan.ts";

interface Parts {
  readonly line: AdapterLine;
  readonly poller: Poller;
  readonly rest: Rest;
  readonly clock: Clock;
  /** Every module is asked without being told to. */
  readonly byItself: boolean;
  /** Why nothing can be asked any more, or null. */
  readonly ended: () => CranksideError | null;
  /** Why there is no vehicle to ask. */
  readonly noVehicle: () => CranksideError;
}

export class Asking {
  readonly #parts: Parts;
  readonly #jobs = new TaskQueue();
  readonly #clearing = new Clearing();
  readonly #own: OwnSurvey;
  #cut = false;

  constructor(parts: Parts) {
    this.#parts = parts;
    this.#own = new OwnSurvey(parts.byItself);
  }

  /** What a person asked for and waits for. */
  next(): (() => Promise<void>) | undefined {
    return this.#jobs.next();
  }

  /** The end: each that waits settles at once, a survey that did not begin is rejected. */
  settle(): Promise<void> {
    return this.#jobs.settle();
  }

  /** A vehicle is there, or a recording begins that holds nothing of it yet. */
  begin(): void {
    this.#own.begin(this.#parts.poller.vehicle, this.#parts.clock.now());
  }

  /** The link was lost. */
  forget(): void {
    this.#clearing.forget();
    this.#own.begin(null, this.#parts.clock.now());
  }

  /** The vehicle fell silent, or answers again. */
  turned(to: "silent" | "answering"): void {
    this.#own.turned(to, this.#parts.poller.vehicle, this.#parts.clock.now());
  }

  /** Asks every module once what it has to say; all of it is in the recording too. Rejects with `no-vehicle`. */
  survey(): Promise<Survey> {
    const { line, clock } = this.#parts;
    return this.#job(async (vehicle) => {
      const { sink } = line;
      this.#clearing.forget();
      const survey = await line.follow(surveyPlan(vehicle));
      // One that was begun in another recording is whole in none.
      this.#clearing.keep(survey, sink === line.sink ? sink : null, clock.now());
      this.#own.settled(clock.now());
      return survey;
    });
  }

  /** Clears codes once, in the words that name what is lost; rejects with `clear-refused`. See clearing.ts. */
  clearCodes(typed: string): Promise<ClearOutcome> {
    const { line, clock, poller } = this.#parts;
    return this.#job(({ protocol, byIdentifier }) => {
      const quiet = poller.focus === "survey" && !poller.armed;
      const identified = byIdentifier === undefined ? {} : { identified: byIdentifier };
      return this.#clearing.run({ line, protocol, now: () => clock.now(), quiet, typed, ...identified });
    });
  }

  /** Runs between two polls. */
  #job<Result>(work: (vehicle: Vehicle) => Promise<Result>): Promise<Result> {
    const { poller, rest, ended, noVehicle } = this.#parts;
    const done = this.#jobs.add(async () => {
      const end = ended();
      if (end !== null) throw end;
      const { vehicle } = poller;
      if (vehicle === null) throw noVehicle();
      return work(vehicle);
    });
    if (ended() !== null) void this.#jobs.settle();
    rest.nudge();
    return done;
  }

  /** A survey at the end would tell something new, and stands in nobody's way. */
  get endDue(): boolean {
    const { poller, clock, ended } = this.#parts;
    if (!this.#own.wanted || ended() !== null || poller.vehicle === null || poller.quiet) return false;
    return poller.focus !== "cranking" && !this.#own.fresh(poller, clock.now());
  }

  /** The survey at the end: until it is done, cut short, or for so long. What was said until then is recorded. */
  async endSurvey(mostMs: number): Promise<void> {
    const { line, clock } = this.#parts;
    const until = clock.now() + mostMs;
    this.#cut = false;
    const over = (): boolean => this.#cut || clock.now() >= until;
    const done = this.#job(async (vehicle) => {
      const whole = await line.follow(cutWhen(surveyPlan(vehicle), over));
      if (whole) this.#own.settled(clock.now());
    });
    // What fails is seen by the session itself.
    await done.catch(() => undefined);
  }

  /** Whoever waits for the survey at the end waits no longer. */
  cutEnd(): void {
    this.#cut = true;
  }

  /** One of the session's own questions: what came of it, or null where none may be put now. */
  async askOwn(): Promise<"asked" | "newcomer" | null> {
    const { line, poller, clock } = this.#parts;
    const begun = clock.now();
    const { vehicle } = poller;
    const asked = vehicle === null ? null : this.#own.next(poller, begun);
    if (asked === null || vehicle === null) return null;
    const exchange = await line.ask(asked.ask, asked.waits);
    const now = clock.now();
    if (!this.#own.take(exchange, vehicle, { now, tookMs: now - begun })) return "asked";
    await this.#welcome(vehicle);
    return "newcomer";
  }

  /** A module that had not booted yet when the others were met. */
  async #welcome({ protocol, modules }: Vehicle): Promise<void> {
    const { line, poller } = this.#parts;
    const found = await line.follow(askSupport(protocol, null));
    const all = new Map([...modules, ...found]);
    poller.setVehicle({ protocol, modules: all });
    line.emit("modules", { modules: announced(all) });
    this.begin();
  }
}

/** A plan that ends before its next question once `over` says so; true when it came to its own end. */
function* cutWhen(plan: Plan<unknown>, over: () => boolean): Plan<boolean> {
  let turn = plan.next();
  while (turn.done !== true) {
    if (over()) return false;
    turn = plan.next(yield turn.value);
  }
  return true;
}
