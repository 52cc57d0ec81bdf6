/** The figures of one recording that are learned from, or held against what was learned. */
import { socketVoltage } from "../../../shared/decode.ts";
import { regimeGroup } from "../../../shared/ranges.ts";
import { FigureReadings } from "../folds/figureReadings.ts";
import { enough, type Mixture } from "../mixture/mixture.ts";
import type { Instant, Topic } from "../folds/placed.ts";
import type { Roughness } from "../running/roughness.ts";
import type { Crank, Window } from "../report/schema.ts";
import { median } from "../maths/stats.ts";
import { normalLimits, type NormalKind } from "./table.ts";

/** One figure of one recording. `of` is a kind, and behind a slash what tells it from others: `trim/b1/idle`. */
export interface NormalFigure {
  readonly of: string;
  readonly value: number;
  readonly readings: number;
  readonly windows: readonly Window[];
}

export interface RecordingNormal {
  readonly figures: readonly NormalFigure[];
  /** Of the outside air, °C; null where nothing told it. */
  readonly temperature: number | null;
}

interface Around {
  readonly cranks: readonly Crank[];
  /** A plate throttles the engine. */
  readonly throttled: boolean;
}

export function kindOfFigure(of: string): NormalKind {
  return of.split("/")[0] as NormalKind;
}

const afterStartMs = 30_000;
const staleMs = 3000;

export class NormalEvidence implements Topic {
  readonly #idleSpeed = new FigureReadings();
  readonly #idleManifold = new FigureReadings();
  readonly #idleAir = new FigureReadings();
  readonly #volts = new Map<string, FigureReadings>();
  readonly #zones = new Map<number, FigureReadings>();
  readonly #ambient = new FigureReadings();
  readonly #intake = new FigureReadings();
  #runningSince: number | null = null;

  take(instant: Instant): void {
    const { t, regime, running } = instant;
    if (!running) this.#runningSince = null;
    else this.#runningSince ??= instant.since;
    const ambient = instant.get("ambient");
    if (ambient !== undefined) this.#ambient.add(t, ambient);
    if (!running || this.#runningSince === null || t - this.#runningSince < afterStartMs) return;
    for (const channel of ["module-voltage", socketVoltage]) {
      const volts = instant.get(channel);
      if (volts === undefined) continue;
      const evidence = this.#volts.get(channel) ?? new FigureReadings();
      evidence.add(t, Math.round(volts * 100) / 100);
      this.#volts.set(channel, evidence);
    }
    const intake = instant.get("intake-air");
    if (intake !== undefined) this.#intake.add(t, intake);
    const stands = (instant.latest("vehicle-speed", 5000) ?? 0) === 0;
    if ((regime === "idle-warm" || regime === "idle") && stands) this.#idle(instant);
    else if ((regimeGroup[regime] ?? regime) === "running") this.#load(instant);
  }

  #idle(instant: Instant): void {
    const { t } = instant;
    const speed = instant.get("engine-speed");
    const manifold = instant.get("manifold");
    const air = instant.get("air-flow");
    if (speed !== undefined) this.#idleSpeed.add(t, speed);
    if (manifold !== undefined) this.#idleManifold.add(t, manifold);
    const turning = instant.latest("engine-speed", staleMs);
    if (air !== undefined && turning !== undefined && turning > 300)
      this.#idleAir.add(t, Math.round((60_000 * air) / turning));
  }

  #load(instant: Instant): void {
    const manifold = instant.get("manifold");
    const air = instant.latest("air-flow", staleMs);
    const speed = instant.latest("engine-speed", staleMs);
    if (manifold === undefined || air === undefined || speed === undefined) return;
    if (speed < normalLimits.loadSpeed || air <= 0) return;
    const zone = Math.floor(Math.log((60 * air) / speed) / Math.log(normalLimits.zoneRatio));
    const evidence = this.#zones.get(zone) ?? new FigureReadings();
    evidence.add(instant.t, manifold);
    this.#zones.set(zone, evidence);
  }

  /** The recording's figures; what was read too seldom is left out. */
  of(mixture: Mixture, roughness: Roughness, { cranks, throttled }: Around): RecordingNormal {
    const { idleReadings, zoneReadings, chargingReadings } = normalLimits;
    const figures: NormalFigure[] = [];
    const put = (of: string, evidence: FigureReadings | undefined, p: number, least: number): void => {
      if (evidence === undefined || evidence.n < least) return;
      figures.push({
        of,
        value: evidence.tally.quantile(p),
        readings: evidence.n,
        windows: evidence.windows,
      });
    };
    put("idle-speed", this.#idleSpeed, 0.25, idleReadings);
    // Where no plate holds it, the manifold at idle is what the module makes of it at the time.
    if (throttled) put("idle-manifold", this.#idleManifold, 0.25, idleReadings);
    put("idle-air", this.#idleAir, 0.5, idleReadings);
    const module = this.#volts.get("module-voltage");
    const volts = (module?.n ?? 0) >= chargingReadings ? module : this.#volts.get(socketVoltage);
    put("charging", volts, 0.5, chargingReadings);
    for (const [zone, evidence] of this.#zones) put(`load-manifold/${zone}`, evidence, 0.5, zoneReadings);
    for (const bank of mixture.banks) {
      const of = (place: "idle" | "held" | "cruise" | "load") => {
        const sum = bank.places.get(place);
        return sum !== undefined && enough(sum) ? sum : undefined;
      };
      for (const place of ["idle", "held", "cruise", "load"] as const) {
        const sum = of(place);
        if (sum === undefined) continue;
        const { n, windows } = sum.evidence;
        figures.push({ of: `trim/b${bank.bank}/${place}`, value: sum.trims.mean, readings: n, windows });
      }
      const [idle, load] = [of("idle"), of("load")];
      if (idle !== undefined && load !== undefined)
        figures.push({
          of: `growth/b${bank.bank}`,
          value: load.trims.mean - idle.trims.mean,
          readings: Math.min(load.evidence.n, idle.evidence.n),
          windows: load.evidence.windows,
        });
    }
    const groups = roughness.figures;
    if (groups.length >= normalLimits.roughGroups)
      figures.push({
        of: "roughness",
        value: median(groups.map((g) => g.roughness)),
        readings: groups.reduce((n, g) => n + g.readings, 0),
        windows: groups.map((g) => g.window).slice(-5),
      });
    figures.push(...ofCranks(cranks));
    const outside = this.#ambient.n > 0 ? this.#ambient : this.#intake;
    return { figures, temperature: outside.n === 0 ? null : outside.tally.quantile(0.5) };
  }
}

/** Of the first start from rest: a warm engine that is started again is another matter. */
function ofCranks(cranks: readonly Crank[]): NormalFigure[] {
  const first = cranks.find((c) => !c.unseen && c.outcome !== "open");
  if (first === undefined) return [];
  const windows = [{ from: first.from, to: first.to }];
  const figures: NormalFigure[] = [];
  const { speedPerVolt, pullDown, fireS, fireWithinS } = first;
  if (speedPerVolt !== null && speedPerVolt.samples >= 2)
    figures.push({
      of: "crank-speed-per-volt",
      value: speedPerVolt.value,
      readings: speedPerVolt.samples,
      windows,
    });
  if (pullDown !== null && pullDown.samples >= 3)
    figures.push({ of: "pull-down", value: pullDown.value, readings: pullDown.samples, windows });
  if (fireS !== null && (fireWithinS ?? 0) <= 1)
    figures.push({ of: "time-to-fire", value: fireS.value, readings: fireS.samples, windows });
  return figures;
}
