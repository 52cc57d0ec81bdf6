/**
 * What a mechanic would find with each hand check on this vehicle: measured on the engine model, or read off what is
 * broken where a person would look at the part itself. Never from the tables that are on trial.
 */
import { measure, type HandCheckId as BenchCheck } from "../../adapters/bench/index.ts";
import { troubleCode } from "../../shared/codes.ts";
import { judgeReading } from "../../src/interpret/causes/judge.ts";
import { checkActs } from "../../src/interpret/causes/tables/acts.ts";
import { tablesModel } from "../../src/interpret/causes/visit.ts";
import { listen, type Running, type ShopVehicle, type Turned, type Turning } from "./shopBench.ts";

export interface Hands {
  readonly shop: ShopVehicle;
  readonly random: () => number;
  /** The vehicle starts and keeps running by itself. */
  readonly runs: boolean;
  readonly crank: Turned;
  readonly turning: Turning;
  readonly healthyTurning: Turning;
}

type Look = (hands: Hands) => string;

const each = ({ shop }: Hands): number[] => shop.vehicle.firingOrder.map((_, i) => i + 1);
/** The cylinder a person would look at first: the one that does not pull, else the first. */
const suspect = ({ shop }: Hands): number =>
  shop.faults.length === 0 ? 1 : shop.vehicle.firingOrder.length - 1;

/** A value by the bench's own gauges. Key on and primed where `primed`. */
function gauge(
  hands: Hands,
  id: BenchCheck,
  cylinder: number | null = null,
): { value: number; words: string } {
  const { bench, pass } = hands.shop.fresh();
  if (id === "fuel-pressure" || id === "fuel-volume") {
    bench.act({ act: "key", to: "on" });
    pass(3);
  }
  const { value, words } = measure(bench, id, cylinder);
  return { value: value ?? Number.NaN, words };
}

function judged(hands: Hands, check: string, unit: string, values: readonly number[]): string {
  const row = tablesModel().checks.get(check);
  if (row === undefined) throw new Error(`no hand check ${check}`);
  return judgeReading(row, { values: [...values], unit }, hands.shop.facts).outcome ?? "unclear";
}

const odds = (hands: Hands, p: number): boolean => hands.random() < p;
const pick = (hands: Hands, p: number, yes: string, no: string): string => (odds(hands, p) ? yes : no);
const noise = (hands: Hands, spread: number): number => (hands.random() + hands.random() - 1) * spread;

/** Worst of what a meter shows behind the relay over three seconds of cranking, below battery, V. */
function behindRelay(hands: Hands): number {
  const { bench, pass } = hands.shop.fresh();
  bench.act({ act: "key", to: "on" });
  pass(1);
  bench.act({ act: "key", to: "crank" });
  let worst = 0;
  for (let t = 0; t < 3; t += 0.15) {
    pass(0.15);
    const { engine } = bench;
    const volts = engine.orders.relay ? engine.electrics.relayVolts : 0;
    worst = Math.max(worst, engine.electrics.volts - volts);
  }
  return Math.max(0, worst + noise(hands, 0.1));
}

function atModule(hands: Hands): number {
  const { bench, pass } = hands.shop.fresh();
  bench.act({ act: "key", to: "on" });
  pass(1);
  bench.act({ act: "key", to: "crank" });
  let worst = 0;
  for (let t = 0; t < 3; t += 0.05) {
    pass(0.05);
    worst = Math.max(worst, bench.engine.electrics.volts - bench.engine.electrics.moduleVolts);
  }
  return Math.max(0, worst + noise(hands, 0.08));
}

function lowestRail(hands: Hands): number {
  const there = hands.runs ? hands.shop.idling() : null;
  let lowest = Number.POSITIVE_INFINITY;
  if (there !== null) {
    there.bench.hold(3000);
    there.pass(3);
    for (let t = 0; t < 4; t += 0.2) {
      there.pass(0.2);
      lowest = Math.min(lowest, there.bench.engine.mixture.rail);
    }
    return lowest;
  }
  const { bench, pass } = hands.shop.fresh();
  bench.act({ act: "key", to: "on" });
  pass(2);
  bench.act({ act: "key", to: "crank" });
  for (let t = 0; t < 6; t += 0.2) {
    pass(0.2);
    if (t > 1) lowest = Math.min(lowest, bench.engine.mixture.rail);
  }
  return lowest;
}

/** A voltage with the engine held at 2000 rpm. */
function whileCharging(
  hands: Hands,
  check: string,
  volts: (electrics: Running["bench"]["engine"]["electrics"]) => number,
): string {
  const there = hands.shop.idling();
  if (there === null) return "unclear";
  there.bench.hold(2000);
  there.pass(12);
  return judged(hands, check, "V", [volts(there.bench.engine.electrics) + noise(hands, 0.05)]);
}

/** Trouble codes that are there after three cranks or three minutes of running. */
function codesAfter(hands: Hands): string[] {
  const there = hands.runs ? hands.shop.idling() : null;
  const { bench, pass } = there ?? hands.shop.fresh();
  if (there === null) {
    for (let i = 0; i < 3; i++) {
      bench.act({ act: "key", to: "on" });
      pass(2);
      bench.act({ act: "key", to: "crank" });
      pass(5);
      bench.act({ act: "key", to: "on" });
      pass(5);
    }
  } else {
    pass(60);
    bench.hold(2200);
    pass(40);
    bench.hold(null);
    pass(50);
  }
  const { stored, pending } = bench.module.codes;
  return [...new Set([...stored, ...pending])].map(troubleCode);
}

function codeKind(codes: readonly string[]): string {
  const any = (pattern: RegExp): boolean => codes.some((c) => pattern.test(c));
  if (any(/^P03(?:3[5-9]|4[0-3]|85)|^P0016/)) return "crank-cam";
  if (any(/^P0(?:685|689|69|230|231|562|513|633|60[0-9]|2[0-1][0-9]|35[0-9])/)) return "supply";
  if (any(/^P0(?:10[1-9]|11[0-9]|12[0-8]|13[0-9]|15[0-9])/)) return "sensor";
  if (any(/^P017[1-5]/)) return "mixture";
  if (any(/^P03(?:0|1)/)) return "misfire";
  return "none";
}

const spray = (hands: Hands): { ml: number[]; drips: boolean } => {
  const all = each(hands).map((c) => gauge(hands, "spray", c));
  return { ml: all.map((a) => a.value), drips: all.some((a) => a.words.includes("drips")) };
};

const compressions = (hands: Hands, wet: boolean): number[] =>
  each(hands).map((c) => gauge(hands, wet ? "compression-wet" : "compression", c).value);

/** Fall of speed as each injector is unplugged in turn, rpm. */
function drops(hands: Hands): number[] | null {
  const there = hands.shop.idling();
  if (there === null) return null;
  return each(hands).map((cylinder) => {
    const before = listen(there, 2).rpm;
    there.bench.act({ act: "unplug", cylinder, on: true });
    const during = listen(there, 2.5).rpm;
    there.bench.act({ act: "unplug", cylinder, on: false });
    there.pass(3);
    return before - during;
  });
}

function vacuum(hands: Hands): string {
  const there = hands.shop.idling();
  if (there === null) return "unclear";
  const { bench, pass } = there;
  const take = (seconds: number): { low: number; swing: number } => {
    const values: number[] = [];
    for (let t = 0; t < seconds; t += 0.03) {
      pass(0.03);
      values.push((bench.engine.ambient - bench.engine.manifold.pressure) / 3386.389);
    }
    const mean = values.reduce((a, b) => a + b, 0) / values.length;
    return { low: mean, swing: Math.max(...values) - Math.min(...values) };
  };
  const idle = take(6);
  bench.hold(2500);
  pass(4);
  const first = take(2);
  pass(8);
  const later = take(2);
  if (later.low < first.low - 3 || later.low < 10) return "sinks";
  if (idle.low < 15.5) return "low";
  return idle.swing > 4 ? "swings" : "steady";
}

/** Smoother, worse or the same with fuel let in at idle, as a person hears it. */
function fuelAtIdle(hands: Hands): string {
  const there = hands.shop.idling();
  if (there === null) return "unclear";
  const before = listen(there, 6);
  there.bench.act({ act: "add-fuel", seconds: 6 });
  there.pass(1);
  const during = listen(there, 5);
  const faster = during.rpm - before.rpm;
  const rougher = during.spread / Math.max(before.spread, 0.5);
  if (faster > 20 || rougher < 0.8) return "smoother";
  return faster < -20 || rougher > 1.25 ? "worse" : "same";
}

function plugs(hands: Hands): string {
  const d = hands.shop.damage;
  const c = suspect(hands) - 1;
  const there = hands.runs ? hands.shop.idling() : hands.crank.there;
  const { engine } = (there ?? hands.crank.there).bench;
  const position = engine.vehicle.firingOrder.indexOf(c + 1);
  if ((engine.mixture.wet[position] ?? 0) > 0.4) return "wet";
  if ((d.plug[c] ?? 1) < 0.3) return "worn";
  if ((d.coil[c] ?? 1) < 0.3) return pick(hands, 0.7, "wet", "normal");
  if ((d.ringLeak[c] ?? 0) > 1) return pick(hands, 0.6, "oily", "normal");
  if ((d.injectorLeak[c] ?? 0) > 0.05 || d.coolantOffset < -25 || d.coolantCircuit === "open") {
    return pick(hands, 0.6, "black", "normal");
  }
  const lean =
    (d.injector[c] ?? 1) < 0.7 || d.pump < 0.6 || d.filter > 2 || leakArea(hands) > 4e-6 || d.relayOpen;
  return lean ? pick(hands, 0.55, "white", "normal") : pick(hands, 0.85, "normal", "worn");
}

const starting = (hands: Hands, helped: Parameters<ShopVehicle["startsWell"]>[0]): boolean =>
  hands.shop.startsWell(helped);

export const looks: Readonly<Record<string, Look>> = {
  "rest-voltage": (h) =>
    judged(h, "rest-voltage", "V", [h.shop.fresh().bench.engine.electrics.volts + noise(h, 0.03)]),
  "load-test": (h) => judged(h, "load-test", "V", [gauge(h, "battery-load").value]),
  "drop-cranking": (h) =>
    judged(h, "drop-cranking", "V", [gauge(h, "cable-drop").value, gauge(h, "ground-drop").value]),
  booster: (h) => {
    const boosted = h.shop.start({ booster: true });
    if (!h.runs && boosted.fired && boosted.ranS > 7) return "starts";
    return h.shop.turn(false, true).rpm > 1.15 * h.turning.rpm ? "faster" : "same";
  },
  "listen-starter": (h) => {
    const ratio = h.turning.rpm / Math.max(1, h.healthyTurning.rpm) + noise(h, 0.04);
    if (h.turning.rpm < 25) return h.turning.amp > 30 ? "click" : "silent";
    return ratio < 0.72 ? "slow" : ratio > 1.22 ? "fast" : "normal";
  },
  "starter-feed": () => "there",
  "current-starter": (h) => {
    const ratio = h.turning.amp / Math.max(1, h.healthyTurning.amp) + noise(h, 0.06);
    return ratio > 1.35 ? "high" : ratio < 0.65 ? "little" : "usual";
  },
  "current-starter-diesel": (h) => {
    const ratio = h.turning.amp / Math.max(1, h.healthyTurning.amp) + noise(h, 0.06);
    return ratio > 1.35 ? "high" : ratio < 0.65 ? "little" : "usual";
  },
  // Run free, what rubs in it is all that it turns against.
  "starter-bench": (h) => {
    const { starterDrag } = h.shop.damage;
    const share = starterDrag / (25 * h.shop.vehicle.displacementL ** 0.7);
    return share + noise(h, 0.1) > 0.25 ? "drags" : "free";
  },
  "turn-by-hand": (h) => {
    const d = h.shop.damage;
    if (d.frictionFactor > 1.7) return "hard";
    const leaks = d.ringLeak.map((leak, i) => leak + (d.valveLeak[i] ?? 0));
    return Math.max(...leaks) > 2 ? pick(h, 0.6, "easy", "humps") : "humps";
  },
  "alternator-output": (h) => whileCharging(h, "alternator-output", ({ volts }) => volts),
  // No fault of the bench vehicle is a belt; a person may still take a worn one for slack.
  "belt-look": (h) => pick(h, 0.95, "sound", "slips"),
  "drop-charging": (h) =>
    whileCharging(h, "drop-charging", (e) => e.alternatorAmp * (0.002 + h.shop.damage.groundOhm)),
  "module-feed": (h) => judged(h, "module-feed", "V", [Math.min(15, atModule(h))]),
  "crank-sensor": (h) => {
    const d = h.shop.damage;
    if (d.crankSignal < 0.05) return "none";
    if (d.crankDropout > 0.02 && odds(h, Math.min(0.95, 0.4 + d.crankDropout))) return "goes";
    return d.crankSignal + noise(h, 0.05) < 0.6 ? "weak" : "good";
  },
  "plug-wiggle": (h) => (h.shop.damage.crankDropout > 0.02 ? pick(h, 0.8, "drops", "same") : "same"),
  "cam-sensor": (h) => {
    const d = h.shop.damage;
    if (!d.camSignal) return "none";
    return d.valveSlip > 10 ? pick(h, 0.6, "shifted", "good") : "good";
  },
  "relay-swap": (h) => {
    if (!h.runs) return starting(h, { relay: true }) ? "works" : "same";
    const d = h.shop.damage;
    return d.relayDropout > 0.02 || d.relayOhm > 0.1 ? "works" : "same";
  },
  "relay-back": (h) => {
    if (!h.runs) return starting(h, {}) ? "works" : "returns";
    const d = h.shop.damage;
    if (d.relayOhm > 0.1) return "returns";
    return d.relayDropout > 0.02 ? pick(h, 0.5, "returns", "works") : "works";
  },
  "relay-volts": (h) => judged(h, "relay-volts", "V", [Math.min(15, behindRelay(h))]),
  "coil-volts": (h) => judged(h, "coil-volts", "V", [Math.min(15, behindRelay(h))]),
  "relay-bridge": (h) => (!h.runs && starting(h, { relay: true }) ? "works" : "same"),
  "security-lamp": (h) => (h.shop.damage.immobilised ? "on" : "out"),
  "second-key": (h) => (h.shop.damage.immobilised ? pick(h, 0.5, "starts", "same") : "same"),
  "scan-again": (h) => codeKind(codesAfter(h)),
  "fuel-level": (h) => (h.shop.damage.tankEmpty > 0 ? "starts" : "no-change"),
  "fuel-glass": (h) => {
    const { words } = gauge(h, "fuel-sample");
    return words.includes("varnish") ? "old" : words.includes("nothing") ? "unclear" : "fresh";
  },
  "pump-listen": (h) => (h.shop.damage.pump === 0 ? "silent" : "hums"),
  "fuel-pressure": (h) => judged(h, "fuel-pressure", "kPa", [gauge(h, "fuel-pressure").value]),
  "fuel-pressure-load": (h) =>
    judged(h, "fuel-pressure-load", "kPa", [Math.max(0, lowestRail(h) * (1 + noise(h, 0.02)))]),
  "bleed-down": (h) => {
    const { bench, pass } = h.shop.fresh();
    bench.act({ act: "key", to: "on" });
    pass(2.2);
    bench.act({ act: "key", to: "off" });
    const before = bench.engine.mixture.rail;
    pass(60);
    return judged(h, "bleed-down", "kPa", [Math.max(0, before - bench.engine.mixture.rail + noise(h, 4))]);
  },
  "pump-volts": () => "full",
  "pump-current": (h) => {
    const d = h.shop.damage;
    if (d.pump === 0) return pick(h, 0.8, "none", "much");
    if (d.pump + noise(h, 0.1) < 0.75) return "little";
    if (d.tankEmpty > 0.7) return "little";
    return d.filter + noise(h, 0.8) > 1.8 ? "much" : "usual";
  },
  "filter-flow": (h) => (h.shop.damage.filter + noise(h, 0.4) > 0.8 ? "blocked" : "free"),
  "add-fuel": (h) => {
    // Where it fires by itself, fuel by hand tells nothing.
    if (h.runs) return "unclear";
    const fed = h.shop.start({ fuel: true, pedal: 0.1, runS: 1 });
    return fed.fired ? "fires" : "nothing";
  },
  "fuel-added-idle": fuelAtIdle,
  "injector-pulse": (h) => (gauge(h, "injector-pulse", suspect(h)).value > 0 ? "flickers" : "dark"),
  "injector-ohms": () => "alike",
  "injector-listen": (h) => {
    const dead = each(h).filter((c) => gauge(h, "injector-pulse", c).value <= 0).length;
    return dead === 0 ? "clicks" : dead === 1 ? "one-silent" : "all-silent";
  },
  "fuel-volume": (h) => {
    const d = h.shop.damage;
    const flow = (d.tankEmpty > 0.5 ? 0 : d.pump) / (1 + 0.5 * d.filter) + noise(h, 0.08);
    return flow > 0.7 ? "enough" : "little";
  },
  "filter-out": () => "clean",
  "second-counter": (h) => {
    const d = h.shop.damage;
    if (d.crankSignal >= 0.6) return "both";
    return d.camSignal ? "cam-only" : "neither";
  },
  barometer: (h) => (h.shop.damage.manifoldHose > 0.6 ? pick(h, 0.3, "differs", "agrees") : "agrees"),
  soak: (h) => {
    const d = h.shop.damage;
    if (d.coolantCircuit === "open" || d.coolantOffset < -12) return "colder";
    return d.coolantCircuit === "shorted" || d.coolantOffset > 12 ? "hotter" : "agree";
  },
  "clamps-look": (h) => (h.shop.damage.groundOhm > 0.004 ? pick(h, 0.5, "loose", "firm") : "firm"),
  "pulse-spray": (h) => {
    const { ml, drips } = spray(h);
    if (drips) return "drips";
    const rated = (0.4 * h.shop.vehicle.injectorFlow) / 0.75;
    return Math.min(...ml) < 0.85 * rated ? "little" : "mist";
  },
  "injector-balance": (h) => {
    const { ml } = spray(h);
    // Pressure drop goes with what was delivered; a healthy injector's drop is about 60 kPa.
    const rated = (0.4 * h.shop.vehicle.injectorFlow) / 0.75;
    return judged(
      h,
      "injector-balance",
      "kPa",
      ml.map((v) => (60 * v) / rated),
    );
  },
  "injector-moved": (h) => {
    const d = h.shop.damage;
    const low = d.injector.filter((share) => share < 0.85).length;
    return low === 1 || d.injectorLeak.some((leak) => leak > 0.02) ? "moves" : "stays";
  },
  "clear-flood": (h) => {
    if (h.runs) return "same";
    return h.shop.start({ pedal: 1, crankS: 8 }).ranS > 4 ? "starts" : "same";
  },
  "oil-look": (h) =>
    h.shop.damage.injectorLeak.some((leak) => leak > 0.1) ? pick(h, 0.4, "fuel", "normal") : "normal",
  "glow-current": () => "all",
  "fuel-bubbles": (h) => (h.shop.damage.tankEmpty > 0.2 ? "bubbles" : "clear"),
  "spark-test": (h) => {
    const { value } = gauge(h, "spark", suspect(h));
    return value < 1 ? "none" : value < 14 ? "weak" : "good";
  },
  "swap-coil": (h) => (one(h.shop.damage.coil) ? "moves" : "stays"),
  "coil-back": (h) => (one(h.shop.damage.coil) ? "returns" : "gone"),
  "swap-plug": (h) => (one(h.shop.damage.plug) ? "moves" : "stays"),
  "plugs-look": plugs,
  "unplug-cylinder": (h) => {
    const all = drops(h);
    if (all === null) return "unclear";
    const sorted = [...all].sort((a, b) => a - b);
    const usual = sorted[Math.ceil(sorted.length / 2)] ?? 0;
    const dead = all.filter((d) => d < 0.35 * Math.max(usual, 8)).length;
    return dead === 0 ? "even" : dead === 1 ? "one" : "several";
  },
  compression: (h) => judged(h, "compression", "kPa", compressions(h, false)),
  "wet-test": (h) => {
    const dry = compressions(h, false);
    const c = dry.indexOf(Math.min(...dry)) + 1;
    return gauge(h, "compression-wet", c).value > 1.1 * Math.min(...dry) ? "better" : "same";
  },
  "leak-down": (h) => {
    const all = each(h).map((c) => gauge(h, "leak-down", c));
    const worst = all.reduce((a, b) => (b.value > a.value ? b : a));
    if (worst.value <= 25) return "tight";
    return worst.words.includes("filler") ? "rings" : "valve";
  },
  "timing-marks": (h) => (gauge(h, "valve-timing").value > 6 ? "off" : "agree"),
  "bore-look": (h) => {
    const d = h.shop.damage;
    if (Math.max(...d.valveLeak) > 1) return pick(h, 0.55, "valve", "clean");
    return Math.max(...d.ringLeak) > 1 ? pick(h, 0.5, "wall", "clean") : "clean";
  },
  "vacuum-gauge": vacuum,
  "exhaust-open": (h) => {
    if (!h.runs) return starting(h, { exhaust: true }) ? "freer" : "same";
    return h.shop.damage.exhaustBlock > 30 ? "freer" : "same";
  },
  "back-pressure": (h) => {
    const there = h.runs ? h.shop.idling() : null;
    if (there === null) return "unclear";
    there.bench.hold(2000);
    there.pass(5);
    return judged(h, "back-pressure", "kPa", [Math.min(400, backPressure(h, there.bench))]);
  },
  "back-pressure-crank": (h) =>
    judged(h, "back-pressure-crank", "kPa", [Math.min(200, backPressure(h, h.crank.there.bench))]),
  smoke: (h) => {
    const perLitre = leakArea(h) / h.shop.vehicle.displacementL + Math.abs(noise(h, 2e-7));
    return perLitre > 5e-6 ? "large" : perLitre > 4e-7 ? "small" : "tight";
  },
  "intake-sealed": (h) => (leaks(h) ? pick(h, 0.85, "changes", "same") : "same"),
  "intake-reopened": (h) => (leaks(h) ? "returns" : "gone"),
  "duct-look": (h) => {
    const perLitre = h.shop.damage.leakArea / h.shop.vehicle.displacementL;
    if (perLitre > 5e-6 || h.shop.damage.manifoldHose > 0.6) return pick(h, 0.85, "open", "whole");
    return perLitre > 1e-6 ? pick(h, 0.3, "open", "whole") : "whole";
  },
  "meter-unplug": (h) => (h.shop.damage.meterScale < 0.9 ? pick(h, 0.8, "better", "same") : "same"),
  "meter-clean": (h) => (h.shop.damage.meterScale < 0.93 ? pick(h, 0.75, "better", "same") : "same"),
  "purge-clamp": (h) => (h.shop.damage.purgeArea > 3e-7 * h.shop.vehicle.displacementL ? "changes" : "same"),
  "egr-blocked": () => "same",
  "pedal-hold": (h) => (!h.runs && h.shop.start({ pedal: 0.12 }).ranS > 6 ? "stays" : "same"),
  "throttle-look": (h) => pick(h, 0.85, "clean", "dirty"),
  "sensor-pressure": (h) => (h.shop.damage.manifoldHose > 0.1 ? "wrong" : "follows"),
  "pedal-down": (h) => (h.shop.damage.throttleReads > 0.1 ? "open" : "follows"),
  infrared: (h) => {
    const d = h.shop.damage;
    if (d.coolantCircuit === "open") return "colder";
    if (d.coolantCircuit === "shorted") return "hotter";
    return judged(h, "infrared", "°C", [d.coolantOffset + noise(h, 5)]);
  },
  "sensor-unplug": (h) => {
    const d = h.shop.damage;
    if (d.coolantCircuit !== "whole") return pick(h, 0.5, "wiring", "sensor");
    return d.coolantOffset < -12 ? "sensor" : "right";
  },
  "oxygen-propane": (h) => {
    const d = h.shop.damage;
    if (d.oxygenDead) return "still";
    if (Math.abs(d.oxygenBias) > 0.12) return "short";
    return d.exhaustAir > 0.4 ? pick(h, 0.5, "short", "swings") : "swings";
  },
  "exhaust-leak": (h) => (h.shop.damage.exhaustAir > 0.1 ? pick(h, 0.88, "leak", "none") : "none"),
  "thermostat-hose": (h) => (h.shop.damage.thermostatOpen > 0.2 ? "early" : "late"),
};

const backPressure = (h: Hands, { engine }: Running["bench"]): number =>
  Math.max(0, (engine.exhaust.pressure - engine.ambient) / 1000 + noise(h, 0.5));
const one = (shares: Float64Array): boolean => shares.filter((share) => share < 0.75).length === 1;
/** Of the intake behind the throttle, ports and all: smoke and sealing find either. */
const leakArea = ({ shop: { damage } }: Hands): number => damage.leakArea + damage.portLeakArea;
const leaks = (h: Hands): boolean => leakArea(h) > 4e-7 * h.shop.vehicle.displacementL;

/** A slip of hand or eye, now and then: another outcome than was there. Whether it starts nobody misses. */
export const slip = 0.01;
const trials: ReadonlySet<string> = new Set([
  ...checkActs.map((a) => a.check),
  "add-fuel",
  "clear-flood",
  "pedal-hold",
  "relay-bridge",
]);

/** Nobody drove the bench vehicle here: its history is not asked. */
export const unasked = [...tablesModel().checks.values()]
  .filter((row) => row.asks === true)
  .map((row) => row.id);

/** What no fault of the bench vehicle touches: fuses, switches, harness, the charging's control, its lines. */
export const soundHere: ReadonlySet<string> = new Set([
  ...["fuses-look", "inertia-press", "switch-feed", "standing-draw", "alternator-ripple", "sense-volts"],
  ...["charging-control", "connectors-look", "combustion-gas", "throttle-follow", "cam-follow"],
  ...["distributor-look", "pair-look", "load-off"],
  ...["key-awake", "socket-volts", "bus-ohms", "bus-volts", "modules-unplugged", "adapter-elsewhere"],
  "standard-look",
]);

function soundIn(check: string): Look {
  const usual = tablesModel()
    .checks.get(check)
    ?.outcomes.find((o) => o.normal === true);
  if (usual === undefined || !soundHere.has(check)) throw new Error(`the shop cannot do ${check}`);
  return () => usual.id;
}

/** The outcome that the mechanic writes down; "unclear" where the engine would not let it be done. */
export function handAnswer(check: string, hands: Hands): string {
  const look = looks[check] ?? soundIn(check);
  const seen = look(hands);
  if (trials.has(check) || !odds(hands, slip)) return seen;
  const others = (tablesModel().checks.get(check)?.outcomes ?? []).map((o) => o.id).filter((o) => o !== seen);
  return others[Math.floor(hands.random() * others.length)] ?? seen;
}
