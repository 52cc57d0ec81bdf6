/** Names of the open collection OBDb for values of service 01, and the channels that carry them. */

export interface Quirk {
  readonly name: string;
  /** The collection's figure, out of the true one. */
  readonly makes: (value: number) => number;
}

export interface Named {
  readonly channel: string;
  /** The collection's unit is this many of ours. */
  readonly unit?: number;
  /** The collection's flags that say whether it is there. */
  readonly flag?: readonly string[];
  readonly quirks?: readonly Quirk[];
  readonly none?: NoneQuirk;
}

/** A figure for what is no value. */
export interface NoneQuirk {
  readonly name: string;
  readonly figure: number;
}

const clipped: Quirk = { name: "a ratio is clipped at 1.99", makes: (v) => Math.min(1.99, v) };
const parts: Quirk = {
  name: "a ratio is counted in 65,535 parts in place of 65,536",
  makes: (v) => Math.min(1.99, (v * 65_536) / 65_535),
};
const ratio = [clipped, parts];
const upTo: Quirk = {
  name: "a sensor's voltage goes up to 7.996 V in place of 8 V",
  makes: (v) => (v / 8) * 7.996_093_75,
};

const trimOffset: Quirk = {
  name: "a sensor's trim is taken from -128 % in place of -100 %",
  makes: (v) => v - 28,
};
const timingOffset: Quirk = {
  name: "the injection timing has another offset, and is clipped at the lowest",
  makes: (v) => Math.max(-210, v + 210 - 38_665),
};
/** FF stands for "not used for trim": the collection scales it. */
const trimNotUsed: NoneQuirk = {
  name: "a sensor's trim that is not used (FF) is scaled all the same",
  figure: (0xff * 100) / 128 - 128,
};

function flagged(ask: string, rows: Readonly<Record<string, string>>): Record<string, Named> {
  return Object.fromEntries(
    Object.entries(rows).map(([name, channel]) => [`${ask} ${name}`, { channel, flag: [`${name}_SUP`] }]),
  );
}

function simple(
  rows: Readonly<Record<string, readonly [ask: string, channel: string]>>,
): Record<string, Named> {
  return Object.fromEntries(
    Object.entries(rows).map(([name, [ask, channel]]) => [`${ask} ${name}`, { channel }]),
  );
}

export const named: Readonly<Record<string, Named>> = {
  ...simple({
    LOAD_PCT: ["0104", "load"],
    ECT: ["0105", "coolant"],
    SHRTFT1: ["0106", "trim-short-b1"],
    LONGFT1: ["0107", "trim-long-b1"],
    SHRTFT2: ["0108", "trim-short-b2"],
    LONGFT2: ["0109", "trim-long-b2"],
    MAP: ["010B", "manifold"],
    RPM: ["010C", "engine-speed"],
    VSS: ["010D", "vehicle-speed"],
    SPARKADV: ["010E", "advance"],
    IAT: ["010F", "intake-air"],
    MAF: ["0110", "air-flow"],
    TP: ["0111", "throttle"],
    O2S11: ["0114", "oxygen-b1s1"],
    O2S12: ["0115", "oxygen-b1s2"],
    RUNTM: ["011F", "run-time"],
    MIL_DIST: ["0121", "distance-mil"],
    FRP: ["0123", "rail-gauge"],
    EGR_PCT: ["012C", "egr"],
    EGR_ERR: ["012D", "egr-error"],
    EVAP_PCT: ["012E", "purge"],
    FLI: ["012F", "fuel-level"],
    WARM_UPS: ["0130", "warm-ups"],
    CLR_DIST: ["0131", "distance-clear"],
    BARO: ["0133", "barometric"],
    O2S11_CURRENT: ["0134", "wide-current-b1s1"],
    CATEMP11: ["013C", "catalyst-b1s1"],
    CATEMP21: ["013D", "catalyst-b2s1"],
    CATEMP12: ["013E", "catalyst-b1s2"],
    VPWR: ["0142", "module-voltage"],
    LOAD_ABS: ["0143", "absolute-load"],
    TP_R: ["0145", "throttle-relative"],
    AAT: ["0146", "ambient"],
    TP_B: ["0147", "throttle-b"],
    APP_D: ["0149", "pedal-d"],
    APP_E: ["014A", "pedal-e"],
    TAC_PCT: ["014C", "throttle-commanded"],
    MIL_TIME: ["014D", "minutes-mil"],
    CLR_TIME: ["014E", "minutes-clear"],
    ALCH_PCT: ["0152", "ethanol"],
    EVAP_VPA: ["0153", "vapour-absolute"],
    STSO2FT1: ["0155", "secondary-trim-short-b1"],
    LGSO2FT1: ["0156", "secondary-trim-long-b1"],
    APP_R: ["015A", "pedal-relative"],
    BAT_SOC: ["015B", "hybrid-battery"],
    EOT: ["015C", "oil"],
    FUEL_RATE: ["015E", "fuel-rate"],
    TQ_DD: ["0161", "torque-demanded"],
    TQ_ACT: ["0162", "torque-actual"],
    TQ_REF: ["0163", "torque-reference"],
    TQ_FR: ["018E", "friction-torque"],
    FUEL_RATE_ALT: ["019D", "fuel-mass-engine"],
    VFUEL_RATE: ["019D", "fuel-mass-vehicle"],
    EXH_RATE: ["019E", "exhaust-flow"],
    CYL_RATE: ["01A2", "cylinder-fuel"],
    ODO: ["01A6", "odometer"],
  }),
  ...flagged("0166", { MAFA: "air-flow-a", MAFB: "air-flow-b" }),
  ...flagged("0167", { ECT_1: "coolant-1", ECT_2: "coolant-2" }),
  ...flagged("0168", { IAT_11: "intake-air-b1s1", IAT_12: "intake-air-b1s2" }),
  ...flagged("0169", {
    EGR_A_CMD: "egr-commanded-a",
    EGR_A_ACT: "egr-actual-a",
    EGR_A_ERR: "egr-error-a",
    EGR_B_CMD: "egr-commanded-b",
    EGR_B_ACT: "egr-actual-b",
    EGR_B_ERR: "egr-error-b",
  }),
  ...flagged("016D", {
    FRP_A_CMD: "rail-commanded-a",
    FRP_A: "rail-actual-a",
    FRT_A: "rail-temperature-a",
    FRP_B_CMD: "rail-commanded-b",
    FRP_B: "rail-actual-b",
    FRT_B: "rail-temperature-b",
  }),
  ...flagged("0170", {
    BP_A_CMD: "boost-commanded-a",
    BP_A_ACT: "boost-a",
    BP_B_CMD: "boost-commanded-b",
    BP_B_ACT: "boost-b",
  }),
  ...flagged("0172", {
    WG_A_CMD: "wastegate-commanded-a",
    WG_A_ACT: "wastegate-a",
    WG_B_CMD: "wastegate-commanded-b",
    WG_B_ACT: "wastegate-b",
  }),
  ...flagged("017F", {
    RUN_TIME: "total-run-time",
    IDLE_TIME: "total-idle-time",
    PTO_TIME: "total-pto-time",
  }),
  ...flagged("019A", { HEV_BATT_V: "traction-volts", HEV_BATT_A: "traction-current" }),
  ...flagged(
    "019F",
    Object.fromEntries(
      [1, 2, 3, 4].flatMap((bank) => [
        [`FUELSYSA_B${bank}`, `fuel-share-a-b${bank}`],
        [`FUELSYSB_B${bank}`, `fuel-share-b-b${bank}`],
      ]),
    ),
  ),
  "0165 GEAR_RCMD": { channel: "gear-recommended", flag: ["GEAR_SUP"] },
  "0165 GPL_STAT": { channel: "glow-lamp", flag: ["GPL_SUP"] },
  "0165 N/G_STAT": { channel: "neutral-gear", flag: ["N/G_SUP"] },
  "0165 N/D_STAT": { channel: "neutral-drive", flag: ["N/D_SUP"] },
  "0165 PTO_STAT_AUX": { channel: "power-take-off", flag: ["PTO_SUP"] },
  "016B EGRTA": { channel: "egr-temp-b1s1", flag: ["EGRTA_SUP", "EGRTA_WR_SUP"] },
  "016B EGRTC": { channel: "egr-temp-b1s2", flag: ["EGRTC_SUP", "EGRTC_WR_SUP"] },
  "016B EGRTB": { channel: "egr-temp-b2s1", flag: ["EGRTB_SUP", "EGRTB_WR_SUP"] },
  "016B EGRTD": { channel: "egr-temp-b2s2", flag: ["EGRTD_SUP", "EGRTD_WR_SUP"] },
  "016C TAC_A_CMD": { channel: "throttle-commanded-a", flag: ["CTAC_A_SUP"] },
  "016C TP_A_REL": { channel: "throttle-relative-a", flag: ["RTP_A_SUP"] },
  "016C TAC_B_CMD": { channel: "throttle-commanded-b", flag: ["CTAC_B_SUP"] },
  "016C TP_B_REL": { channel: "throttle-relative-b", flag: ["RTP_B_SUP"] },
  "0114 SHRTFT11": { channel: "oxygen-trim-b1s1", quirks: [trimOffset] },
  "0115 SHRTFT11": { channel: "oxygen-trim-b1s2", quirks: [trimOffset], none: trimNotUsed },
  "0124 O2S11_VOLT": { channel: "wide-volts-b1s1", quirks: [upTo] },
  "0124 LAMBDA11_VOLT": { channel: "lambda-b1s1", quirks: ratio },
  "0134 LAMBDA11_CURRENT": { channel: "lambda-current-b1s1", quirks: ratio },
  "0144 EQ_RAT": { channel: "lambda-commanded", quirks: ratio },
  "0132 EVAP_VP": { channel: "vapour", unit: 0.001 },
  "0154 EVAP_VP_WIDE": { channel: "vapour-wide", unit: 0.001 },
  "015D FUEL_TIMING": { channel: "injection-timing", quirks: [timingOffset] },
};

/** Pairs of a flag and the channels that are there when it is set. */
export const flags: Readonly<Record<string, readonly string[]>> = {
  ...Object.fromEntries(
    Object.entries(named).flatMap(([name, { channel, flag = [] }]) =>
      flag.length === 1 ? flag.map((f) => [`${name.slice(0, 4)} ${f}`, [channel]] as const) : [],
    ),
  ),
  "0168 IAT_13_SUP": ["intake-air-b1s3"],
  "0168 IAT_21_SUP": ["intake-air-b2s1"],
  "0168 IAT_22_SUP": ["intake-air-b2s2"],
  "0168 IAT_23_SUP": ["intake-air-b2s3"],
  "019A HEV_MODE_SUP": ["hybrid-charging"],
  "019A EHEV_MODE_SUP": ["hybrid-charging-enhanced"],
};

/** Flags that go with others: for these the value's own row is enough. */
export const looseFlags: ReadonlySet<string> = new Set([
  ...["A", "B", "C", "D"].flatMap((s) => [`016B EGRT${s}_SUP`, `016B EGRT${s}_WR_SUP`]),
  "0170 BP_A_SUP",
  "0170 BP_B_SUP",
]);

/** The eight bits of 13. */
export const fitted: Readonly<Record<string, number>> = Object.fromEntries(
  [1, 2].flatMap((bank) => [1, 2, 3, 4].map((s) => [`O2S${bank}${s}_EXISTS`, (bank - 1) * 4 + s - 1])),
);

export const states: Readonly<Record<string, readonly string[]>> = {
  "0103": ["fuel-system-1", "fuel-system-2"],
  "011C": ["obd-rule"],
  "0151": ["fuel-type"],
};
