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

/** What a driver hears: the starter labours, clearly slower than this engine turned when it was sound. */
export function heardSlow(one: Case): boolean {
  if (one.fault === null) return false;
  const shop = new ShopVehicle(one.vehicle, brokenOf(one), one.seed + 700);
  const now = shop.turn().rpm;
  // An engine that nothing turns is no slow one.
  return now > 20 && now < 0.75 * shop.turn(true).rpm;
}

/** What the driver notices by himself, and what the recording shows. */
export interface Noticed {
  readonly rough: boolean;
  readonly slow: boolean;
  /** The warning lamp is lit. */
  readonly lamp: boolean;
  /** It ran, and went out by itself. */
  readonly died: boolean;
  /** The charge lamp stays lit. */
  readonly uncharged: boolean;
  readonly shown: readonly Complaint[];
}

/**
 * What the driver says goes first: it does not start, or it dies, or it turns slowly, or it shakes; then what the
 * recording shows; the lamp where there is nothing else to tell.
 */
export function toldOf(
  { crank, runs }: Driven,
  { rough, slow, lamp, died, uncharged, shown }: Noticed,
): Complaint[] {
  const slowly: readonly Complaint[] = slow ? ["cranks-slowly"] : [];
  if (!crank.fired) return ["no-start", ...slowly];
  if (!runs || died) return ["starts-and-dies"];
  const more: readonly Complaint[] = [
    ...(rough ? (["rough"] as const) : []),
    ...(uncharged ? (["not-charging"] as const) : []),
  ];
  // A start that is slow is told as what is heard, not as what it would come to.
  const left = shown.filter((c) => c !== "starts-and-dies" && !(slow && c === "no-start"));
  const told = [...new Set([...slowly, ...left, ...more])];
  return told.length === 0 && lamp ? ["lamp-on"] : told;
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
