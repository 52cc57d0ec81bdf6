/**
 * Which acts, named by a mark, disturb which readings, and for how long behind their end. What the act itself caused is no
 * evidence of a fault; what it changed is measured against the time around it, by the mark (`running/compare.ts`).
 */

/** What is judged of readings that an act disturbs: topics of the fold, and the stall. */
export const disturbable = [
  "mixture",
  "idle",
  "hunting",
  "roughness",
  "counts",
  "supply",
  "normal",
  "stall",
] as const;
export type Disturbable = (typeof disturbable)[number];

export interface DisturbRow {
  readonly act: string;
  /** Words of a mark's label that mean it, its undoing too. */
  readonly label: RegExp;
  readonly disturbs: readonly Disturbable[];
  /** Seconds behind the mark, or behind the end of one that lasts. */
  readonly seconds: number;
  readonly source: string;
}

/** How it runs, and what is learned of it. */
const running = ["mixture", "idle", "hunting", "roughness", "normal", "stall"] as const;
const half = "common practice: trims and idle control have settled again after half a minute";

export const disturbs: readonly DisturbRow[] = [
  {
    act: "fuel added by hand",
    label: /propane|fuel (?:was )?added|add(?:ed|ing)? (?:some )?fuel|starting fluid/i,
    disturbs: running,
    seconds: 30,
    source: half,
  },
  {
    act: "intake opened or closed, a hose off or clamped, purge, exhaust gas recirculation",
    label:
      /\b(?:un)?seal(?:ed)?\b|clamp|taped|plugged off|blocked off|\bhose\b|purge|\b(?:egr|recirculation)\b|block(?:ed|ing) off/i,
    disturbs: running,
    seconds: 30,
    source: half,
  },
  {
    act: "a cylinder unplugged, its coil, plug, lead or injector off",
    label:
      /\bcyl(?:inder)?\b.*(?:unplug|disconnect|pulled|\boff\b|\bout\b|\bcut\b)|(?:unplug|disconnect|pulled|\bcut\b).*\bcyl(?:inder)?\b|\b(?:coil|injector|spark plug|plug|lead)s?\b.*(?:pulled|unplugged|disconnected|\boff\b|\bout\b)/i,
    disturbs: [...running, "counts"],
    seconds: 30,
    source: `${half}; its unburnt oxygen reads lean as long`,
  },
  {
    act: "a part moved to another cylinder",
    label:
      /\b(?:coil|injector|plug)s?\b.*(?:\bmoved\b|\bswapped\b|\bexchanged\b|changed (?:over|for)|\bback\b)/i,
    disturbs: running,
    seconds: 30,
    source: half,
  },
  {
    act: "air meter unplugged or plugged in",
    label: /(?:meter|maf|air.?flow).*(?:plug|off|\bin\b|\bback\b)|plug.*(?:meter|maf)/i,
    disturbs: running,
    seconds: 30,
    source: half,
  },
  {
    act: "exhaust opened or closed",
    label: /exhaust (?:was )?(?:opened|loosened|off|closed|tightened)/i,
    disturbs: ["mixture", "normal"],
    seconds: 30,
    source: "common practice: air that an open joint draws in reads lean",
  },
  {
    act: "jump leads, booster or charger on or off",
    label: /jump (?:pack|leads|start)|booster|\bcharger\b/i,
    disturbs: ["supply", "normal"],
    seconds: 30,
    source: "common practice: the supply shows the other battery, and the surface charge it left",
  },
  {
    act: "a plug or harness wiggled",
    label: /\bwiggl/i,
    disturbs: running,
    seconds: 5,
    source: "common practice: what drops out while it is moved is told by the wiggle itself",
  },
];
