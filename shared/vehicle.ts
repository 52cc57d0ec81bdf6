import { z } from "zod/mini";
import { cylinderList, firingOrder, layouts } from "./firing.ts";
import type { Fields } from "./stored/forms.ts";
import { keeping } from "./stored/keeping.ts";

/** What a person says of the vehicle. All of it is optional; the interpreter uses what is there. */
export const vehicleFactsSchema = keeping({
  /** A name the person knows it by: "van, stood all winter". */
  name: z.optional(z.string().check(z.maxLength(120))),
  vin: z.optional(z.string().check(z.maxLength(17))),
  year: z.optional(z.int().check(z.gte(1980), z.lte(2100))),
  cylinders: z.optional(z.int().check(z.gte(1), z.lte(16))),
  displacementL: z.optional(z.number().check(z.gt(0), z.lte(20))),
  banks: z.optional(z.int().check(z.gte(1), z.lte(4))),
  layout: z.optional(z.enum(layouts)),
  /** As it is told: "1-3-4-2". */
  firingOrder: z.optional(
    z.string().check(
      z.maxLength(60),
      z.refine((text) => firingOrder(text) !== null),
    ),
  ),
  /** Cylinders of bank 1: "1-3-5"; the others are in bank 2. */
  bank1: z.optional(
    z.string().check(
      z.maxLength(60),
      z.refine((text) => cylinderList(text) !== null),
    ),
  ),
  fuel: z.optional(z.enum(["petrol", "diesel", "ethanol", "gas", "other"])),
  metering: z.optional(z.enum(["air-flow", "manifold-pressure"])),
  induction: z.optional(z.enum(["natural", "charged"])),
  /** Whether its plate throttles it, as on nearly every engine with spark. */
  throttled: z.optional(z.boolean()),
  /** It shuts its engine off at standstill and starts it again. */
  stopsAtStandstill: z.optional(z.boolean()),
  hybrid: z.optional(z.boolean()),
  /** Nominal voltage of its supply. */
  supplyVolts: z.optional(z.union([z.literal(12), z.literal(24)])),
  altitudeM: z.optional(z.number().check(z.gte(-500), z.lte(6000))),
  idleRpm: z.optional(z.number().check(z.gte(300), z.lte(2000))),
  /** The year in which its battery was fitted. */
  batteryYear: z.optional(z.int().check(z.gte(1980), z.lte(2100))),
  odometerKm: z.optional(z.number().check(z.gte(0), z.lte(5_000_000))),
  /** Fuel pressure by the vehicle's manual, gauge, kPa. */
  fuelPressureKPa: z.optional(keeping({ low: z.number(), high: z.number() })),
  /** Ranges of this vehicle in place of the general ones of shared/ranges.ts. */
  ranges: z.optional(
    z
      .array(
        keeping({
          /** A channel, such as `manifold`, or a figure, such as `crank-speed`. */
          of: z.string().check(z.minLength(1), z.maxLength(60)),
          /** A regime or a group of them; left out, every one. */
          regime: z.optional(z.string().check(z.maxLength(20))),
          low: z.nullable(z.number()),
          high: z.nullable(z.number()),
          /** Where it is written: the manual's page. */
          source: z.string().check(z.minLength(1), z.maxLength(200)),
        }),
      )
      .check(z.maxLength(60)),
  ),
});

export type VehicleFacts = z.infer<typeof vehicleFactsSchema>;

/** As a person writes it into a file of their own: a field that is not known is a slip there. */
export const writtenFactsSchema = z.strictObject(vehicleFactsSchema.shape);

/** The facts that can be read, one by one: another that cannot does not take these away. */
export function readableFacts(stored: unknown): VehicleFacts {
  if (typeof stored !== "object" || stored === null || Array.isArray(stored)) return {};
  return Object.fromEntries(
    Object.entries(stored as Fields).filter(
      ([name, value]) => vehicleFactsSchema.safeParse({ [name]: value }).success,
    ),
  );
}

/** What the person was told: the complaint, in their words. */
export const jobFactsSchema = keeping({
  complaint: z.optional(z.string().check(z.maxLength(4000))),
  vehicle: z.optional(vehicleFactsSchema),
});

export type JobFacts = z.infer<typeof jobFactsSchema>;

/** Which vehicle it is, as far as anybody said: the VIN, else its name, else the one recording. */
export function vehicleKey({ vin = "", name = "" }: VehicleFacts, file: string): string {
  const said = vin.trim() === "" ? name.trim() : vin.trim();
  return (said === "" ? file : said).toLowerCase().slice(0, 300);
}
