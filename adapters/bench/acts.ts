/** What a person does to the vehicle apart from key and pedal: remedies and trials that a mechanic uses. */
import { CranksideError } from "../../shared/errors.ts";
import type { BenchAct } from "../../shared/messages.ts";
import type { Engine } from "./engine/engine.ts";

/** Acts that change the engine's surroundings; key, pedal and fault are the bench's own. */
export type HandAct = Exclude<BenchAct, { act: "key" | "pedal" | "fault" | "add-fuel" | "wiggle" }>;

/** Carries the act out. A cylinder the engine does not have is refused with `bench-unknown`. */
export function carryOut(act: HandAct, engine: Engine): void {
  switch (act.act) {
    case "relay-swap":
      engine.electrics.relaySwapped = act.on;
      return;
    case "booster":
      engine.electrics.booster = act.on;
      return;
    case "exhaust-open":
      engine.exhaust.opened = act.on;
      return;
    case "intake-seal":
      engine.manifold.sealed = act.on;
      return;
    case "unplug":
      engine.unplugged[placeOf(act.cylinder, engine)] = act.on ? 1 : 0;
      return;
    case "coil-swap":
      swap(act, engine, engine.sparks.coilAt);
      return;
    case "plug-swap":
      swap(act, engine, engine.sparks.plugAt);
      return;
  }
}

/** Of a cylinder's number, from 0. */
function placeOf(cylinder: number, { vehicle }: Engine): number {
  const n = vehicle.firingOrder.length;
  if (cylinder <= n) return cylinder - 1;
  throw new CranksideError("bench-unknown", `no such cylinder on ${vehicle.id}`, {
    expected: `1 to ${n}`,
    found: String(cylinder),
  });
}

/** Of coils or spark plugs, by cylinder. The current of a running coil's circuit is felt: it is done at a stand. */
function swap({ a, b }: { readonly a: number; readonly b: number }, engine: Engine, at: Uint8Array): void {
  const [first, second] = [placeOf(a, engine), placeOf(b, engine)];
  if (engine.vehicle.fuel !== "petrol")
    throw new CranksideError("wrong-use", "this engine has no coils or spark plugs", {
      found: engine.vehicle.id,
    });
  if (engine.rpm > 5)
    throw new CranksideError("wrong-use", "stop the engine before coils or plugs are moved");
  const [one = first, other = second] = [at[first], at[second]];
  at[first] = other;
  at[second] = one;
}

/**
 * Fuel sprayed or let in at the intake, g/s: about what the engine's air needs while cranked, a good half of it at
 * idle.
 */
export function addedFlow(engine: Engine): number {
  const running = engine.rpm > 450;
  return (running ? 0.05 : 0.1) * engine.vehicle.displacementL;
}
