/** Vehicle facts and people as pairs of label and words. */
import { format, type UnitSystem } from "../../../shared/units.ts";
import { vinCheck, vinCheckWords, vinSays } from "../../../shared/vin.ts";
import type { JobDocument } from "../job.ts";

const words: Readonly<Record<string, string>> = {
  "air-flow": "air-flow meter",
  "manifold-pressure": "manifold pressure",
  natural: "natural",
  charged: "charged",
};

export function factPairs(job: JobDocument, system: UnitSystem): (readonly [string, string])[] {
  const v = job.vehicle;
  const pairs: (readonly [string, string | undefined])[] = [
    ["Vehicle", v.name],
    ["Customer", job.who.customer],
    ["Mechanic", job.who.mechanic],
    ["Plate", job.who.plate],
    ["VIN", v.vin === undefined || v.vin === "" ? undefined : vinText(v.vin, job)],
    ["Year", v.year?.toString()],
    ["Battery fitted", v.batteryYear === undefined ? undefined : String(v.batteryYear)],
    ["Odometer", v.odometerKm === undefined ? undefined : format(v.odometerKm, "km", system)],
    ["Cylinders", v.cylinders?.toString()],
    ["Banks", v.banks?.toString()],
    [
      "Layout",
      v.layout === undefined ? undefined : { "in-line": "in line", v: "V", boxer: "boxer" }[v.layout],
    ],
    ["Firing order", v.firingOrder],
    ["Cylinders of bank 1", v.bank1],
    ["Displacement", v.displacementL === undefined ? undefined : `${v.displacementL} L`],
    ["Fuel", v.fuel],
    ["Air is measured by", v.metering === undefined ? undefined : words[v.metering]],
    ["Induction", v.induction === undefined ? undefined : words[v.induction]],
    ["Throttle plate controls the air", yesNo(v.throttled)],
    ["Stop-start", yesNo(v.stopsAtStandstill)],
    ["Hybrid", yesNo(v.hybrid)],
    ["Supply", v.supplyVolts === undefined ? undefined : `${v.supplyVolts} V`],
    ["Warm idle", v.idleRpm === undefined ? undefined : `${v.idleRpm} rpm`],
    ["Altitude", v.altitudeM === undefined ? undefined : format(v.altitudeM, "m", system)],
    [
      "Fuel pressure by the manual",
      v.fuelPressureKPa === undefined
        ? undefined
        : `${format(v.fuelPressureKPa.low, "kPa fuel", system)} to ${format(v.fuelPressureKPa.high, "kPa fuel", system)}`,
    ],
    ...(v.ranges ?? []).map((r): readonly [string, string] => [
      `Own range of ${r.of}${r.regime === undefined ? "" : ` (${r.regime})`}`,
      `${r.low ?? "…"} to ${r.high ?? "…"}, ${r.source}`,
    ]),
  ];
  return pairs.flatMap(([label, text]) =>
    text === undefined || text.trim() === "" ? [] : [[label, text] as const],
  );
}

function yesNo(value: boolean | undefined): string | undefined {
  return value === undefined ? undefined : value ? "yes" : "no";
}

function vinText(vin: string, job: JobDocument): string {
  const from = job.vinFrom === null ? "" : job.vinFrom === "read" ? "read from the vehicle" : "typed";
  // A masked one cannot be checked any more.
  const check = vin.includes("•") ? "" : vinCheckWords[vinCheck(vin.toUpperCase())];
  const says = vin.includes("•") ? "" : (vinSays(vin) ?? "");
  const notes = [from, check, says].filter((text) => text !== "").join("; ");
  return notes === "" ? vin : `${vin} (${notes})`;
}
