/**
 * Causes that standard data cannot part: whoever has the recording and nothing else can at best name the group. Four
 * at most, each with its argument from what the data carry. Declared from the mechanism (common practice), before any
 * result was looked at; a cause stands in one group only.
 */
import type { CauseId } from "../../src/interpret/causes/tables/causes.ts";
import { priorShares } from "../../src/interpret/causes/model.ts";
import { tablesModel } from "../../src/interpret/causes/visit.ts";
import type { Complaint } from "../../src/interpret/causes/types.ts";
import type { VehicleFacts } from "../../shared/vehicle.ts";

export interface Group {
  readonly causes: readonly CauseId[];
  readonly why: string;
}

export const groups: readonly Group[] = [
  {
    causes: ["spark-dead", "pump-dead", "fuel-empty", "relay-open"],
    why: "it turns as it should and does not fire: neither rail pressure nor coil current is standard data, and the relay is silent without its code",
  },
  {
    causes: ["coil-one", "plug-one"],
    why: "one cylinder does not burn: the data count its misfires and say nothing of the spark",
  },
  {
    causes: ["pump-weak", "filter-blocked"],
    why: "both deliver less the more is drawn; pressure before and behind the filter is no standard data",
  },
  {
    causes: ["air-leak-small", "air-leak-large"],
    why: "one hose or gasket; how large a leak may be called is a matter of words",
  },
  {
    causes: ["battery-discharged", "battery-worn"],
    why: "low volts at rest and under the starter; only a charge and a load test tell whether it takes current again",
  },
  {
    causes: ["starter-worn", "engine-tight", "cable-drop"],
    why: "it turns slowly on a sound battery: the starter's current and the volts at the starter are no standard data",
  },
  {
    causes: ["crank-signal-dead", "crank-signal-contact", "crank-signal-weak"],
    why: "the data carry the speed that the module makes of the signal, not the signal; sensor, plug and gap are one place",
  },
  {
    causes: ["relay-contact", "relay-burned"],
    why: "the same contact, open now and then or with resistance; the volts behind it are no standard data",
  },
  {
    causes: ["oxygen-biased", "exhaust-leak"],
    why: "the sensor sees oxygen that the mixture does not have; nothing else in the data knows the mixture",
  },
  {
    causes: ["spark-weak", "fuel-stale", "plugs-wet"],
    why: "every cylinder fails now and then; misfire lets air into the exhaust, so the trims look lean for each of them",
  },
  {
    causes: ["valve-one", "rings-one", "head-gasket"],
    why: "one cylinder is weak: where its charge goes is heard and measured, never told by a module",
  },
  {
    causes: ["alternator-dead", "belt-slack", "charging-wire"],
    why: "the volts do not rise when it runs: neither the alternator's speed nor its current is standard data",
  },
  {
    causes: ["injector-clogged-one", "injector-dead-one"],
    why: "one cylinder gets little fuel or none; an injector that draws current has no code",
  },
];

const groupByCause: ReadonlyMap<string, readonly string[]> = new Map(
  groups.flatMap((g) => g.causes.map((c) => [c, g.causes] as const)),
);

/** The causes that count as the right group where these are true. */
export function groupOf(truth: readonly string[]): ReadonlySet<string> {
  return new Set(truth.flatMap((id) => [id, ...(groupByCause.get(id) ?? [])]));
}

/** Causes that a vehicle like this can have with such a complaint; with none told: with any. */
export function candidates(told: readonly Complaint[], facts: VehicleFacts): string[] {
  const model = tablesModel();
  const able = (complaint: readonly Complaint[]): string[] => {
    const shares = priorShares(model, complaint, facts);
    return model.causes.filter((_, i) => (shares[i] ?? 0) > 0).map((c) => c.id);
  };
  return able(
    told.length > 0 ? told : ["no-start", "starts-and-dies", "rough", "lean", "rich", "not-charging"],
  );
}

/** Chance that `draws` different causes drawn blindly from `all` hold one of the right ones. */
export function blind(all: number, right: number, draws: number): number {
  let miss = 1;
  for (let i = 0; i < Math.min(draws, all); i++) miss *= Math.max(0, all - right - i) / (all - i);
  return right === 0 ? 0 : 1 - miss;
}
