/**
 * A recording, read: what looks wrong, how much, against which range. A fold over readings in time order that follows
 * a growing `Reading`: call `advance` after each batch, `finish` at the end, and `findings` whenever a person looks.
 * Times of a recording never fall (its format says so); where one does, the fold begins anew, and nothing is left out.
 */
import { channelInfo } from "../../shared/decode.ts";
import type { VehicleFacts } from "../../shared/vehicle.ts";
import { codeSigns, foundCodes, freezeFrame, freezeSign, youngSign } from "./codes/codes.ts";
import { Comparisons } from "./running/compare.ts";
import { Balances, balanceSign } from "./running/unplugged.ts";
import type { Context } from "./folds/context.ts";
import type { Source } from "./folds/source.ts";
import { Counters } from "./running/counters.ts";
import { linkSigns, LostSignal, stallSigns } from "./crank/course.ts";
import { crankSigns } from "./crank/crankSigns.ts";
import { cranksOf } from "./crank/cranksOf.ts";
import { Hunting } from "./running/hunting.ts";
import { Idle } from "./running/idle.ts";
import { NormalEvidence, type RecordingNormal } from "./normal/gather.ts";
import { heldAgainst } from "./normal/hold.ts";
import type { Normal } from "./normal/learn.ts";
import { KeyOn } from "./sensors/keyOn.ts";
import { StoreWalk } from "./folds/merge.ts";
import { monitorSigns } from "./codes/monitors.ts";
import { ofKind } from "./profile/gate.ts";
import { MisfireCounts } from "./running/misfire.ts";
import { Mixture } from "./mixture/mixture.ts";
import { StrengthMemo } from "./crank/strengthIn.ts";
import { strengthSigns } from "./crank/strengthSigns.ts";
import { movesOf } from "./running/moved.ts";
import { fitsOf, mixtureSigns } from "./mixture/mixtureSigns.ts";
import { Disturbed } from "./folds/disturbed.ts";
import type { Disturbable } from "./tables/disturbs.ts";
import { Placer, type Topic } from "./folds/placed.ts";
import { profileEntries, profileOf } from "./profile/profile.ts";
import { ProfileEvidence } from "./profile/profileSeen.ts";
import { placedCylinders } from "./report/cylinderPlace.ts";
import { VehicleRanges } from "./report/ranges.ts";
import { weakCylinders } from "./report/weakCylinder.ts";
import { RegimeFold, type RegimeSpan } from "./folds/regimes.ts";
import { Roughness } from "./running/roughness.ts";
import { findingsVersion, verdicts, type Findings, type Sign } from "./report/schema.ts";
import { Wiggles } from "./running/wiggle.ts";
import { SupplyTopic } from "./power/supply.ts";
import { Temperatures } from "./sensors/temperatures.ts";
import { weighAgainstMisfire } from "./running/weigh.ts";

/** How much of a recording is taken at once, milliseconds. */
const sliceMs = 20_000;

class Fold {
  readonly regimes: RegimeFold;
  readonly ranges: VehicleRanges;
  readonly kind = new ProfileEvidence();
  readonly normal = new NormalEvidence();
  readonly keyOn = new KeyOn();
  readonly temperatures = new Temperatures();
  readonly supply = new SupplyTopic();
  readonly idle = new Idle();
  readonly hunting = new Hunting();
  readonly mixture = new Mixture();
  readonly roughness = new Roughness();
  readonly lost = new LostSignal();
  readonly misfire: MisfireCounts;
  readonly counters: Counters;
  readonly comparisons = new Comparisons();
  readonly balances = new Balances();
  readonly wiggles = new Wiggles();
  readonly #walk: StoreWalk;
  readonly #placer = new Placer();
  readonly #topics: readonly (readonly [Topic, Disturbable | null])[];
  #disturbed: Disturbed;
  /** Instants before this were handed to the topics, milliseconds. */
  #handed = Number.NEGATIVE_INFINITY;
  #taken = 0;
  finished = false;

  constructor(source: Source, facts: VehicleFacts) {
    this.ranges = new VehicleRanges(facts);
    this.#disturbed = new Disturbed(source.marks);
    this.regimes = new RegimeFold(facts, (t, readings) => {
      this.#placer.push(t, readings);
    });
    this.misfire = new MisfireCounts(source);
    this.counters = new Counters(
      (channel) => channelInfo(channel) === undefined && source.info(channel).unit === "count",
      (channel) => source.info(channel).defined?.length,
    );
    this.#walk = new StoreWalk(source.channels);
    this.#topics = [
      [this.kind, null],
      [this.normal, "normal"],
      [this.keyOn, null],
      [this.temperatures, null],
      [this.supply, "supply"],
      [this.idle, "idle"],
      [this.hunting, "hunting"],
      [this.mixture, "mixture"],
      [this.roughness, "roughness"],
      [this.lost, null],
      [this.misfire, null],
      [this.counters, null],
    ];
  }

  /** Takes every whole instant: the one at `limit` may still grow. In slices, so that little waits at once. */
  advance(limit: number, last = limit): void {
    for (; this.#taken + sliceMs < Math.min(limit, last); this.#taken += sliceMs)
      this.#step(this.#taken + sliceMs);
    this.#step(limit);
  }

  #step(limit: number): void {
    this.#walk.advance(limit, (channel, module, t, value) => {
      this.regimes.take(channel, module, t, value);
    });
    if (limit === Number.POSITIVE_INFINITY) this.regimes.finish();
    const settled = limit === Number.POSITIVE_INFINITY ? limit : this.regimes.settled;
    const disturbed = this.#disturbed;
    this.#placer.advance(settled, this.regimes, (instant) => {
      this.misfire.act = !disturbed.none && disturbed.at(instant.t, "counts");
      for (const [topic, of] of this.#topics)
        if (of === null || disturbed.none || !disturbed.at(instant.t, of)) topic.take(instant);
    });
    this.#handed = Math.max(this.#handed, settled);
  }

  /** Marks that were set or named. False: they change what was taken already, and everything has to be taken anew. */
  mark(disturbed: Disturbed): boolean {
    if (!this.#disturbed.sameBefore(this.#handed, disturbed)) return false;
    this.#disturbed = disturbed;
    return true;
  }

  get disturbed(): Disturbed {
    return this.#disturbed;
  }

  /** `last` is the time of the last reading, milliseconds. */
  finish(last: number): void {
    this.advance(Number.POSITIVE_INFINITY, last);
    this.misfire.finish();
    this.finished = true;
  }
}

export class Interpreter {
  readonly #source: Source;
  readonly #given: VehicleFacts | undefined;
  readonly #normal: Normal | undefined;
  #facts = "";
  #fold: Fold;
  readonly #strength = new StrengthMemo();

  /** `facts`, when given, stand in place of those of the recording; `normal` is what was learned of the vehicle. */
  constructor(source: Source, facts?: VehicleFacts, normal?: Normal) {
    this.#source = source;
    this.#given = facts;
    this.#normal = normal;
    this.#fold = this.#begin();
  }

  /**
   * Takes what the source has got since the last call, up to `until` where that is given (milliseconds), so that a
   * long recording can be taken in pieces. Cheap: each reading is looked at once.
   */
  advance(until = Number.POSITIVE_INFINITY): void {
    this.#follow();
    this.#take((fold) => fold.advance(Math.min(until, this.#source.lastTime)));
  }

  /** The recording has ended: its last instant is whole, and what was pending is settled. */
  finish(): void {
    this.#follow();
    this.#take((fold) => fold.finish(this.#source.lastTime));
  }

  /** A recording whose times fall is none of the format, yet a file of it is read in order: so it is when followed. */
  #take(step: (fold: Fold) => void): void {
    step(this.#fold);
    if (this.#fold.regimes.late === 0) return;
    this.#fold = this.#begin();
    step(this.#fold);
  }

  /** Spans of what the engine did, to `until`; milliseconds. */
  regimes(until: number): RegimeSpan[] {
    return this.#fold.regimes.spans(until);
  }

  /** Facts that are corrected, or an act that is marked behind its time, change what counts: the fold begins anew. */
  #follow(): void {
    const marked = this.#fold.mark(new Disturbed(this.#source.marks));
    if (marked && JSON.stringify(this.#vehicle()) === this.#facts) return;
    const { finished } = this.#fold;
    this.#fold = this.#begin();
    if (finished) this.#fold.finish(this.#source.lastTime);
  }

  #vehicle(): VehicleFacts {
    return this.#given ?? this.#source.facts.vehicle ?? {};
  }

  #begin(): Fold {
    this.#facts = JSON.stringify(this.#vehicle());
    return new Fold(this.#source, this.#vehicle());
  }

  /** The figures from which what is normal for a vehicle is learned. */
  normal(): RecordingNormal {
    const { cranks, profile = [] } = this.findings();
    const throttled = profile.some((p) => p.of === "throttled" && p.value === "yes");
    return this.#fold.normal.of(this.#fold.mixture, this.#fold.roughness, { cranks, throttled });
  }

  #held(signs: readonly Sign[], { cranks, profile }: Context, normal: Normal): Sign[] {
    const { mixture, roughness, normal: figures } = this.#fold;
    const throttled = profile.throttled.value === true;
    return heldAgainst(signs, figures.of(mixture, roughness, { cranks, throttled }), normal);
  }

  findings(): Findings {
    this.#follow();
    const fold = this.#fold;
    const source = this.#source;
    const until = fold.finished ? source.lastTime : Math.max(0, fold.regimes.settled);
    const spans = fold.regimes.spans(until);
    const profile = profileOf(fold.ranges.facts, source, fold.kind.seen(spans));
    const diesel = profile.fuel.value === "diesel";
    const hybrid = profile.hybrid.value === true;
    const cranks = cranksOf(source, spans, { ranges: fold.ranges, fuel: profile.fuel.value, until });
    const ended = fold.finished;
    const { ranges } = fold;
    const { disturbed } = fold;
    const context: Context = {
      source,
      ranges,
      spans,
      cranks,
      until,
      ended,
      profile,
      diesel,
      hybrid,
      disturbed,
    };
    const codes = foundCodes(source);
    const frame = freezeFrame(source);
    const balance = fold.balances.of(context);
    const strength = this.#strength.of(source, cranks, ranges.facts.cylinders);
    const stated = ofKind(
      [
        ...crankSigns(context),
        ...strengthSigns(context, strength),
        ...fold.supply.signs(context),
        ...fold.keyOn.signs(context),
        ...fold.temperatures.signs(context),
        ...fold.idle.signs(context, fold.keyOn),
        ...fold.hunting.signs(context),
        ...mixtureSigns(fold.mixture, context),
        ...fold.roughness.signs(context),
        ...fold.misfire.signs(context),
        ...balanceSign(balance, context),
        ...fold.lost.signs(context),
        ...stallSigns(context),
        ...fold.counters.signs(context),
        ...linkSigns(context),
        ...codeSigns(codes, source),
        ...freezeSign(frame, context),
        ...monitorSigns(source, codes),
        ...youngSign(source),
      ],
      profile,
    );
    const weighed = weakCylinders(weighAgainstMisfire(stated), ranges.facts);
    const signs = placedCylinders(weighed, ranges.facts);
    const normal = this.#normal;
    const held = normal === undefined ? signs : this.#held(signs, context, normal);
    const moves = movesOf(context, fold);
    const wiggles = fold.wiggles.of(context);
    return {
      version: findingsVersion,
      until,
      regimes: spans,
      cranks,
      signs: inOrder(held),
      comparisons: fold.comparisons.of(context),
      balance,
      ...(moves.length === 0 ? {} : { moves }),
      ...(wiggles.length === 0 ? {} : { wiggles }),
      ...(strength === null ? {} : { strength }),
      fits: fitsOf(fold.mixture, context),
      freezeFrame: frame,
      codes,
      profile: profileEntries(profile),
      replaced: fold.ranges.replaced,
    };
  }
}

/** Reads a whole recording at once. `facts`, when given, stand in place of those of the recording. */
export function interpret(source: Source, facts?: VehicleFacts, normal?: Normal): Findings {
  const interpreter = new Interpreter(source, facts, normal);
  interpreter.finish();
  return interpreter.findings();
}

/** The figures of a whole recording, to learn from. */
export function normalOf(source: Source, facts?: VehicleFacts): RecordingNormal {
  const interpreter = new Interpreter(source, facts);
  interpreter.finish();
  return interpreter.normal();
}

/** Outside first; the newest evidence first among equals, then by key, so that the order is one. */
function inOrder(signs: readonly Sign[]): Sign[] {
  const newest = (s: Sign): number => Math.max(-1, ...s.windows.map((w) => w.to));
  return [...signs].sort(
    (a, b) =>
      verdicts.indexOf(a.verdict) - verdicts.indexOf(b.verdict) ||
      newest(b) - newest(a) ||
      (a.key < b.key ? -1 : a.key > b.key ? 1 : 0),
  );
}
