import type { CauseId } from "./causes.ts";

/** Causes that no hand check here tells apart well, and why that does no harm or what would. */
export const inseparable: readonly {
  readonly causes: readonly [CauseId, CauseId];
  readonly why: string;
}[] = [
  {
    causes: ["pump-weak", "injectors-clogged"],
    why: "on a diesel only: the gauges here are for port injection; the rail pressure that the module reads tells them apart, by the vehicle's manual",
  },
  {
    causes: ["pump-weak", "injectors-bank"],
    why: "on a diesel only: the gauges here are for port injection; bank against bank in the signs tells them apart",
  },
  {
    causes: ["injector-clogged-one", "injector-dead-one"],
    why: "on a diesel only: noid light and resistance are for port injection; both need that injector and its plug looked at",
  },
];
