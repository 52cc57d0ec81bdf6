/**
 * What the signs need of any vehicle, whatever is drawn: choosing lanes changes what is seen, not what is heard. Asked
 * slowly where a person did not choose it. Pure.
 */

export interface Heard {
  readonly channel: string;
  /** What is judged wrongly, or not at all, without it. */
  readonly why: string;
}

export const heardAlways: readonly Heard[] = [
  { channel: "engine-speed", why: "what the engine does" },
  { channel: "coolant", why: "whether it is warm" },
  { channel: "load", why: "idle apart from load, and the mixture by load" },
  { channel: "manifold", why: "idle apart from load, and the pull-down" },
  { channel: "fuel-system-1", why: "whether the trims count" },
  { channel: "trim-short-b1", why: "the mixture" },
  { channel: "trim-long-b1", why: "the mixture" },
  { channel: "trim-short-b2", why: "the mixture of the other bank" },
  { channel: "trim-long-b2", why: "the mixture of the other bank" },
  { channel: "throttle", why: "idle apart from a held speed" },
  { channel: "vehicle-speed", why: "standing apart from rolling" },
  { channel: "module-voltage", why: "what reaches the module" },
];

/** Of these possible channels the ones that are heard although nobody chose them. */
export function heardBeside(chosen: readonly string[], possible: readonly string[]): Heard[] {
  return heardAlways.filter(({ channel }) => possible.includes(channel) && !chosen.includes(channel));
}
