/** What a person does to the vehicle apart from key and pedal: remedies and trials that a mechanic uses. */
import { CranksideError } from "../../shared/errors.ts";
import type { BenchAct } from "../../shared/messages.ts";
import type { Engine } from "./engine/engine.ts";

/** Acts that change the engine's surroundings; key, pedal and fault are the bench's own. */
export type HandAct = Exclude<BenchAct, { act: "key" | "pedal" | "fault" | "add-fuel" }>;

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
    case "unplug": {
      const n = engine.vehicle.firingOrder.length;
      if (act.cylinder > n) {
        throw new CranksideError("bench-unknown", `no such cylinder on ${engine.vehicle.id}`, {
          expected: `1 to ${n}`,
          found: String(act.cylinder),
        });
      }
      engine.unplugged[act.cylinder - 1] = act.on ? 1 : 0;
      return;
    }
  }
}

/**
 * Fuel sprayed or let in at the intake, g/s: about what the engine's air needs while cranked, a good half of it at
 * idle.
 */
export function addedFlow(engine: Engine): number {
  const running = engine.rpm > 450;
  return (running ? 0.05 : 0.1) * engine.vehicle.displacementL;
}
