/** What a driver should know when the vehicle goes home. Said once each on page one of the note. */
import type { Complaint } from "../../interpret/causes/types.ts";

export interface DriverRow {
  readonly id: string;
  /** What it takes; each that is named must hold. */
  readonly when: {
    /** One of these complaints. */
    readonly complaints?: readonly Complaint[];
    /** The cause that was found, or what was changed, is one of these. */
    readonly causes?: readonly string[];
    /** Nothing shows that the fault is gone for good. */
    readonly unmended?: true;
    /** The last survey says so. */
    readonly survey?: "lamp on" | "monitors not complete";
  };
  readonly text: string;
  readonly source: string;
}

const cp = "common practice";

/** The most urgent first: where there is no room for all, the last are left out. */
export const driverRows: readonly DriverRow[] = [
  {
    id: "fuel-smell",
    when: {
      causes: [
        ...["pump-dead", "pump-weak", "filter-blocked", "pressure-bleeds", "pressure-high"],
        ...[
          "injectors-clogged",
          "injectors-bank",
          "injector-clogged-one",
          "injector-dead-one",
          "injector-open",
        ],
        ...["fuel-stale", "oil-fuel"],
      ],
    },
    text: "If you smell fuel, do not start the engine, keep flames away, and have the vehicle fetched.",
    source: cp,
  },
  {
    id: "exhaust-smell",
    when: { causes: ["exhaust-leak", "exhaust-blocked"] },
    text: "If you smell exhaust inside the vehicle, open the windows, stop, and get out: it kills unseen.",
    source: cp,
  },
  {
    id: "may-stop",
    when: { complaints: ["no-start", "starts-and-dies"], unmended: true },
    text: "It may not start again, or stop while you drive. Brakes and steering then need more force: stop where it is safe. Do not count on it for a trip that matters.",
    source: cp,
  },
  {
    id: "battery-lamp",
    when: { complaints: ["not-charging"], unmended: true },
    text: "If the battery lamp comes on, the engine runs only as long as the battery lasts: switch off what you can spare and stop in a safe place.",
    source: cp,
  },
  {
    id: "lamp-flashes",
    when: { complaints: ["rough", "lean"], unmended: true },
    text: "If the engine lamp flashes, ease off at once and drive no further than you must: misfire can destroy the catalyst and makes it hot enough to burn what is near.",
    source:
      "owner's manual 2004 (flashing lamp: misfire, may damage the emission control); fire common practice",
  },
  {
    id: "gauge",
    when: { causes: ["head-gasket", "thermostat-open"] },
    text: "Watch the temperature gauge. If it climbs, stop; never open a hot cooling system.",
    source: cp,
  },
  {
    id: "battery",
    when: {
      causes: ["battery-discharged", "battery-worn", "alternator-dead", "charging-wire", "belt-slack"],
    },
    text: "If it turns slower than usual one morning, have the battery tested before it leaves you standing.",
    source: cp,
  },
  {
    id: "lamp-on",
    when: { survey: "lamp on" },
    text: "The engine lamp is still on. While it is, it cannot tell you of a new fault.",
    source: cp,
  },
  {
    id: "not-ready",
    when: { survey: "monitors not complete" },
    text: "The vehicle has not finished testing itself. An emissions inspection may not be passed before it has; that takes some days of mixed driving.",
    source: "readiness in parameter 01 of service 01, SAE J1979, from memory; days common practice",
  },
];
