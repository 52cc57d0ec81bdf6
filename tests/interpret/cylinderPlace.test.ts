import { expect, test } from "vitest";
import { placedCylinders } from "../../src/interpret/report/cylinderPlace.ts";
import { makeSign } from "../../src/interpret/report/sign.ts";
import { weakCylinders } from "../../src/interpret/report/weakCylinder.ts";
import type { Sign } from "../../src/interpret/index.ts";
import type { VehicleFacts } from "../../shared/vehicle.ts";
import { but, findingsOf, idle, keyOn, signsOf, type Extra } from "./scenes.ts";

const facts = { cylinders: 4, firingOrder: "1-3-4-2", layout: "in-line" } as const;

test("a sign that names a cylinder says behind which it fires and with which it is paired", () => {
  const dead = makeSign("misfire.cylinder", { verdict: "outside", cylinder: 3, note: "Once." });
  expect(placedCylinders([dead], facts)[0]?.note).toBe(
    "Once. Cylinder 3: fires after cylinder 1; shares a coil with cylinder 2 where coils are paired.",
  );
  const sound = makeSign("misfire.cylinder", { verdict: "within", cylinder: 3 });
  const whole = makeSign("crank.no-fire", { verdict: "outside" });
  expect(placedCylinders([sound, whole], facts)).toEqual([sound, whole]);
  expect(placedCylinders([dead], {})).toEqual([dead]);
});

test("in findings: the cylinder that does not pull, by the facts of the recording", () => {
  // Unplugged in turn, 5 s each: 1, 2 and 4 cost speed, 3 does not.
  const drops: Readonly<Record<number, number>> = { 1: 70, 2: 70, 3: 0, 4: 70 };
  const base = idle(60);
  const speed = (s: number): number => {
    const n = Math.floor((s - 10) / 12) + 1;
    const inside = s >= 10 && (s - 10) % 12 < 5;
    return 750 - (inside ? (drops[n] ?? 0) : 0) + Math.sin(7 * s);
  };
  const marks = [1, 2, 3, 4].map((n) => {
    const at = 5000 + (10 + 12 * (n - 1)) * 1000;
    return { at, until: at + 5000, label: `cylinder ${n} unplugged` };
  });
  const extra: Extra = { marks, vehicle: facts };
  const [sign] = signsOf(
    findingsOf([keyOn(5), but(base, { "engine-speed": speed })], 4, extra),
    "misfire.cylinder",
  );
  expect(sign).toMatchObject({ verdict: "outside", cylinder: 3 });
  expect(sign?.note).toMatch(
    /Cylinder 3: fires after cylinder 1; .* with cylinder 2 where coils are paired\.$/,
  );
});

test("a weak cylinder by the supply: the gauge begins with the one that something else names, else goes round", () => {
  const weak = makeSign("crank.cylinder-weak", { verdict: "outside", note: "Once." });
  const dead = makeSign("misfire.cylinder", { verdict: "outside", cylinder: 3 });
  const noteOf = (signs: Sign[], vehicle: VehicleFacts = facts): string | undefined =>
    weakCylinders(signs, vehicle).find(({ id }) => id === "crank.cylinder-weak")?.note;
  expect(noteOf([weak])).toBe(
    "Once. The supply does not say which one of the 4. Compression of each, then leak-down on the lowest.",
  );
  expect(noteOf([weak], {})).toMatch(/^Once\. The supply does not say which one\./);
  expect(noteOf([weak, dead])).toBe(
    "Once. The supply does not say which one. Cylinder 3 stands out elsewhere (cylinder balance): begin compression and leak-down there. Fires after cylinder 1; shares a coil with cylinder 2 where coils are paired. Compare with cylinder 2: its piston stands at the same height.",
  );
  expect(noteOf([weak, dead], {})).toMatch(
    /Cylinder 3 stands out elsewhere \(.*\): begin compression and leak-down there\.$/,
  );
  const other = makeSign("misfire.cylinder", { verdict: "near", cylinder: 1 });
  expect(noteOf([weak, dead, other])).toMatch(/Cylinders 3 and 1 stand out elsewhere/);
  // One that is within names nothing, and a sound supply is left as it is.
  const within = makeSign("misfire.cylinder", { verdict: "within", cylinder: 3 });
  expect(noteOf([weak, within])).toMatch(/Compression of each/);
  const sound = makeSign("crank.cylinder-weak", { verdict: "within" });
  expect(weakCylinders([sound, dead], facts)).toEqual([sound, dead]);
});
