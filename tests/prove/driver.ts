/** What the driver of a bench vehicle would say of it, by what it does when tried: never by what is broken. */
import type { Complaint } from "../../src/interpret/causes/types.ts";
import { brokenOf, namesOf, type Case } from "./cases.ts";
import { listen, ShopVehicle, type Turned } from "./shopBench.ts";

export interface Driven {
  readonly crank: Turned;
  /** It started and kept running. */
  readonly runs: boolean;
}

export function drive(shop: ShopVehicle): Driven {
  const crank = shop.start({ runS: 10 });
  return { crank, runs: crank.fired && crank.ranS > 9 };
}

/**
 * What a driver feels at idle without any instrument: twice over, clearly rougher than this engine at its roughest
 * when it was sound.
 */
export function feltRough(one: Case, { runs }: Driven): boolean {
  if (!runs || one.fault === null) return false;
  const shop = new ShopVehicle(one.vehicle, brokenOf(one), one.seed + 500);
  const spread = (healthy: boolean): number => {
    const there = shop.idling(healthy);
    return there === null ? Number.NaN : listen(there, 20).spread;
  };
  const then = Math.max(spread(true), spread(true));
  const now = Math.min(spread(false), spread(false));
  return now > 1.5 * then;
}

/** What the driver says goes first: it does not start, or it dies, or it shakes; then what the recording shows. */
export function toldOf(
  { crank, runs }: Driven,
  { rough, shown }: { readonly rough: boolean; readonly shown: readonly Complaint[] },
): Complaint[] {
  if (!crank.fired) return ["no-start"];
  if (!runs) return ["starts-and-dies"];
  const more: readonly Complaint[] = rough ? ["rough"] : [];
  return [...new Set([...shown.filter((c) => c !== "starts-and-dies"), ...more])];
}

/**
 * The script for what the vehicle does: one that does not start is cranked again and again, one that dies is started
 * again, one that runs is warmed up, held and driven. A thermostat alone needs longer than anybody would wait unasked.
 */
export function suitedScript({ fault }: Pick<Case, "fault">, { crank, runs }: Driven): string {
  if (fault !== null && namesOf(fault).includes("thermostat-open")) return "warm-up";
  if (runs) return "workshop";
  return crank.fired ? "starts" : "crank-only";
}
