/**
 * Gas past rings and valves. Pressures as what lies over ambient, in ambients; leaks as the share of a cylinder's charge
 * that is lost a second at intake density.
 */
import { psi } from "./air.ts";

/**
 * Charge left after a step under pressure; `opening` is leak times seconds times density. Flow through a small hole
 * goes with density once it is choked (Heywood, appendix C); heat is counted in.
 */
export function leaked(held: number, over: number, opening: number): number {
  return held * Math.max(0.2, 1 - opening * Math.min(1, over / 0.9));
}

/** What was lost is drawn in again through the same hole once the pressure has fallen below ambient. */
export function drawnBack(held: number, over: number, opening: number): number {
  return held + opening * Math.min(1, -over / 0.5);
}

/** Pressure over ambient, in ambients, that halves a worn ring's leak. */
const ringSettles = 0.2;

/**
 * Share of its leak at rest that a worn ring still lets through under pressure (over ambient, in ambients): gas behind
 * a ring presses it to the wall, so rings that have lost their own tension leak most while there is little pressure
 * (that gas loads rings: Heywood 13.6; the figure is common practice).
 */
export function ringGap(over: number): number {
  return 1 / (1 + over / ringSettles);
}

/**
 * Gas drawn past worn rings from the crankcase in one intake stroke, over the fresh charge. An orifice again, with a
 * tenth of the leak at rest, for oil in the grooves seals better against a pull (common practice). It is blow-by, so
 * it dilutes as burnt gas does.
 */
export function pastRings(leak: number, rpm: number, ratio: number): number {
  if (leak === 0 || rpm < 30) return 0;
  return (0.1 * leak * 30 * psi(ratio)) / (rpm * psi(0));
}
