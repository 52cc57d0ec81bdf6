import { z } from "zod/mini";

/** What a person says of the vehicle. All of it is optional; the interpreter uses what is there. */
export const vehicleFactsSchema = z.strictObject({
  /** A name the person knows it by: "van, stood all winter". */
  name: z.optional(z.string().check(z.maxLength(120))),
  vin: z.optional(z.string().check(z.maxLength(17))),
  year: z.optional(z.int().check(z.gte(1980), z.lte(2100))),
  cylinders: z.optional(z.int().check(z.gte(1), z.lte(16))),
  displacementL: z.optional(z.number().check(z.gt(0), z.lte(20))),
  banks: z.optional(z.int().check(z.gte(1), z.lte(4))),
  fuel: z.optional(z.enum(["petrol", "diesel", "ethanol", "gas", "other"])),
  metering: z.optional(z.enum(["air-flow", "manifold-pressure"])),
  induction: z.optional(z.enum(["natural", "charged"])),
  altitudeM: z.optional(z.number().check(z.gte(-500), z.lte(6000))),
  idleRpm: z.optional(z.number().check(z.gte(300), z.lte(2000))),
  odometerKm: z.optional(z.number().check(z.gte(0), z.lte(5_000_000))),
});

export type VehicleFacts = z.infer<typeof vehicleFactsSchema>;

/** What the person was told: the complaint, in their words. */
export const jobFactsSchema = z.strictObject({
  complaint: z.optional(z.string().check(z.maxLength(4000))),
  vehicle: z.optional(vehicleFactsSchema),
});

export type JobFacts = z.infer<typeof jobFactsSchema>;
