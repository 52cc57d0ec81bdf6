/** What the readings show of the kind of vehicle. */
import { socketVoltage } from "../../../shared/decode.ts";
import { nominalOf, type NominalVolts } from "../../../shared/supply.ts";
import type { Instant, Topic } from "../folds/placed.ts";
import type { RegimeSpan } from "../folds/regimes.ts";
import { runs } from "../folds/running.ts";
import { median } from "../maths/stats.ts";

export interface ProfileSeen {
  /** At idle nothing pulls the manifold down; a plate does. */
  readonly unthrottled: boolean;
  readonly throttledIdle: boolean;
  /** kPa above the outside air, at most, where that is more than a sensor's error; else null. */
  readonly aboveOutside: number | null;
  /** The manifold was at the outside air's pressure at speed, and never above. */
  readonly fullLoad: boolean;
  readonly restVolts: { readonly volts: number; readonly nominal: NominalVolts } | null;
  readonly shutOffs: number;
  readonly restarts: number;
  /** Readings of a vehicle that moves while its engine stands still. */
  readonly movedWithoutEngine: number;
}

export const profileLimits = {
  /** Share of the outside air at idle; between the two nothing is said. */
  open: 0.85,
  pulled: 0.7,
  /** Without the outside air's pressure, kPa: what no height where people drive leaves at an open throttle, and more. */
  openKpa: 88,
  pulledKpa: 50,
  readings: 10,
  /** Charged, kPa above the outside air; two sensors differ by 5 at most (service bulletin, 1981). */
  charged: 10,
  chargedReadings: 3,
  /** No weather at sea level has more, kPa (World Meteorological Organization: 108.5 at one place, once). */
  highestKpa: 108,
  /** Full load: this close below the outside air, kPa, at this speed, rpm. */
  full: 6,
  fullSpeed: 2500,
  /** The vehicle moves, km/h. */
  moving: 10,
} as const;

export class ProfileEvidence implements Topic {
  #open = 0;
  #pulled = 0;
  #outside: number | null = null;
  #measured = false;
  #above: number[] = [];
  #full = 0;
  readonly #volts: number[] = [];
  #moved = 0;

  take(instant: Instant): void {
    const { regime, running } = instant;
    const barometric = instant.get("barometric");
    const manifold = instant.get("manifold");
    if (barometric !== undefined) {
      this.#outside = barometric;
      this.#measured = true;
    } else if (manifold !== undefined && regime === "key-on" && !this.#measured) this.#outside ??= manifold;
    // All of an instant or none: of its channels none comes first.
    if (this.#volts.length < 64 && (regime === "key-on" || running))
      for (const { channel, value } of instant.readings)
        if ((channel === socketVoltage || channel === "module-voltage") && !Number.isNaN(value))
          this.#volts.push(value);
    if (manifold !== undefined) this.#manifold(instant, manifold);
    const speed = instant.get("engine-speed");
    if (speed === 0 && (instant.latest("vehicle-speed", 1000) ?? 0) >= profileLimits.moving) this.#moved += 1;
  }

  #manifold(instant: Instant, manifold: number): void {
    const limits = profileLimits;
    const outside = this.#outside;
    if (instant.idling) {
      if (manifold >= (outside === null ? limits.openKpa : limits.open * outside)) this.#open += 1;
      else if (manifold <= (outside === null ? limits.pulledKpa : limits.pulled * outside)) this.#pulled += 1;
    }
    if (!instant.running) return;
    if (manifold >= (outside ?? limits.highestKpa) + limits.charged) {
      this.#above.push(manifold - (outside ?? limits.highestKpa));
      if (this.#above.length > 64) this.#above = [Math.max(...this.#above), ...this.#above.slice(-8)];
    } else if (
      outside !== null &&
      manifold >= outside - limits.full &&
      (instant.latest("engine-speed", 2000) ?? 0) >= limits.fullSpeed
    )
      this.#full += 1;
  }

  seen(spans: readonly RegimeSpan[]): ProfileSeen {
    const { readings, chargedReadings } = profileLimits;
    const enough = this.#open + this.#pulled >= readings;
    const charged = this.#above.length >= chargedReadings;
    const volts = this.#volts.length === 0 ? null : median(this.#volts);
    const shutOffs = spans.filter((s) => s.regime === "shut-off").length;
    const restarts = spans.filter((s, i) => s.regime === "shut-off" && startedAfter(spans, i)).length;
    return {
      unthrottled: enough && this.#open >= 4 * this.#pulled,
      throttledIdle: enough && this.#pulled >= 4 * this.#open,
      aboveOutside: charged ? Math.max(...this.#above) : null,
      fullLoad: this.#full >= readings && !charged,
      restVolts: volts === null ? null : { volts, nominal: nominalOf(volts) },
      shutOffs,
      restarts,
      movedWithoutEngine: this.#moved,
    };
  }
}

function startedAfter(spans: readonly RegimeSpan[], index: number): boolean {
  const next = spans[index + 1]?.regime;
  const then = next === "cranking" || next === "no-speed" ? spans[index + 2]?.regime : next;
  return then !== undefined && runs(then);
}
