import type { Family } from "../report/schema.ts";

/** Which codes matter for what. Meanings of SAE J2012 / ISO 15031-6 paraphrased, from memory. */
export interface CodeGroup {
  readonly family: Exclude<Family, "counter" | "link">;
  /** First and last code of the group, inclusive. */
  readonly from: string;
  readonly to: string;
  readonly words: string;
}

export const codeGroups: readonly CodeGroup[] = [
  { family: "crank", from: "P0010", to: "P0025", words: "camshaft timing" },
  { family: "sensor", from: "P0068", to: "P0069", words: "pressure, air flow and throttle do not fit" },
  { family: "mixture", from: "P0087", to: "P0095", words: "fuel pressure" },
  { family: "sensor", from: "P0100", to: "P0104", words: "air-flow meter" },
  { family: "sensor", from: "P0105", to: "P0109", words: "manifold or barometric pressure sensor" },
  { family: "sensor", from: "P0110", to: "P0119", words: "intake or coolant temperature sensor" },
  { family: "sensor", from: "P0120", to: "P0124", words: "throttle sensor" },
  { family: "sensor", from: "P0125", to: "P0128", words: "too cold for closed loop, or thermostat" },
  { family: "sensor", from: "P0130", to: "P0167", words: "oxygen sensor" },
  { family: "mixture", from: "P0170", to: "P0175", words: "mixture lean or rich" },
  { family: "mixture", from: "P0190", to: "P0194", words: "fuel rail pressure sensor" },
  { family: "mixture", from: "P0200", to: "P0212", words: "injector circuit" },
  { family: "sensor", from: "P0220", to: "P0229", words: "throttle or pedal sensor" },
  { family: "mixture", from: "P0230", to: "P0233", words: "fuel pump circuit" },
  { family: "mixture", from: "P0261", to: "P0296", words: "injector circuit of one cylinder" },
  { family: "misfire", from: "P0300", to: "P0314", words: "misfire" },
  { family: "misfire", from: "P0316", to: "P0316", words: "misfire right after the start" },
  { family: "misfire", from: "P0363", to: "P0363", words: "misfire, fuel cut off" },
  { family: "crank", from: "P0315", to: "P0315", words: "crank variation not learned" },
  { family: "crank", from: "P0335", to: "P0349", words: "crank or cam sensor" },
  { family: "misfire", from: "P0350", to: "P0362", words: "ignition coil circuit" },
  { family: "crank", from: "P0365", to: "P0394", words: "crank or cam sensor" },
  { family: "mixture", from: "P0400", to: "P0409", words: "exhaust gas recirculation" },
  { family: "mixture", from: "P0410", to: "P0419", words: "secondary air" },
  { family: "mixture", from: "P0441", to: "P0441", words: "purge flow" },
  { family: "mixture", from: "P0496", to: "P0496", words: "purge flow when not asked" },
  { family: "sensor", from: "P0500", to: "P0503", words: "road speed sensor" },
  { family: "mixture", from: "P0505", to: "P0509", words: "idle control" },
  { family: "crank", from: "P0512", to: "P0513", words: "starter request or immobiliser" },
  { family: "power", from: "P0560", to: "P0563", words: "system voltage" },
  { family: "power", from: "P0600", to: "P0606", words: "control module" },
  { family: "crank", from: "P0615", to: "P0617", words: "starter relay" },
  { family: "mixture", from: "P0627", to: "P0629", words: "fuel pump control" },
  { family: "crank", from: "P0633", to: "P0633", words: "immobiliser key not programmed" },
  { family: "power", from: "P0685", to: "P0690", words: "power relay of the module" },
];

export function codeGroup(code: string): CodeGroup | undefined {
  return codeGroups.find((g) => code >= g.from && code <= g.to);
}
