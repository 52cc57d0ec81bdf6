/** Worn rings, on every vehicle: what leaking compression does to a crank. */
import { expect, test } from "vitest";
import { benchVehicles } from "../../adapters/bench/index.ts";
import type { BenchFault } from "../../shared/address.ts";
import { fault } from "./faultRuns.ts";
import { least, listening, mean, most, watch } from "./readings.ts";
import { Typist } from "./support.ts";

/** Two and a half seconds of cranking that cannot fire: speed and its swing rpm, current A, pull-down kPa. */
async function turned(vehicle: string, faults: BenchFault[]) {
  const t = await listening(
    new Typist({ vehicle, faults: [...faults, { name: "no-crank-signal", severity: 1 }] }),
  );
  t.key("crank");
  await t.wait(1);
  const { engine } = t.bench;
  const amps: number[] = [];
  const pull: number[] = [];
  const speeds = await watch(t, 2.5, () => {
    amps.push(engine.electrics.starterAmp);
    pull.push((engine.ambient - engine.manifold.pressure) / 1000);
    return engine.rpm;
  });
  return { speed: mean(speeds), swing: most(speeds) - least(speeds), amps: mean(amps), pull: mean(pull) };
}

test.each(benchVehicles.map((v) => v.id))(
  "%s, compression-low-all: far worn it cranks evenly and faster on less current, half worn at much its usual pace",
  async (id) => {
    const healthy = await turned(id, []);
    const half = await turned(id, fault("compression-low-all", 0.6));
    const far = await turned(id, fault("compression-low-all"));
    // Fast at little current is next to no compression (starter current test, common practice).
    expect(far.speed).toBeGreaterThan(1.02 * healthy.speed);
    expect(far.amps).toBeLessThan(0.95 * healthy.amps);
    // Half worn it is a draw: what leaks out on the way up does not push on the way down (first law), and slack rings
    // rub less (Heywood 13.6).
    expect(Math.abs(half.speed / healthy.speed - 1)).toBeLessThan(0.08);
    // Less is squeezed, so a compression holds the shaft up less.
    expect(half.swing).toBeLessThan(0.97 * healthy.swing);
    expect(far.swing).toBeLessThan(0.5 * healthy.swing);
    // Weak cranking vacuum, 1 to 2 inHg or none, is compression, timing or throttle (training text). A diesel has no
    // throttle and so none to begin with.
    if (healthy.pull > 3) expect(far.pull).toBeLessThan(0.75 * healthy.pull);
  },
);
