/**
 * The invented vehicles as data. No row describes a real car: sizes and settings are chosen so that the healthy
 * engine lands in published ranges (see the tests); the names are made up.
 */
import { CranksideError } from "../../shared/errors.ts";
import type { ProtocolId } from "../../shared/protocols.ts";

export interface BenchVehicle {
  readonly id: string;
  readonly name: string;
  readonly about: string;
  readonly protocol: ProtocolId;
  /** It speaks SAE J1979-2 alone, and is silent to services 01 to 0A. */
  readonly standard?: "J1979-2";
  readonly fuel: "petrol" | "diesel";
  /** Cylinder numbers in firing order. */
  readonly firingOrder: readonly number[];
  /** Bank (0 or 1) of each cylinder, by cylinder number. */
  readonly bankOf: readonly number[];
  readonly displacementL: number;
  /** Effective compression ratio, late intake closing taken off. */
  readonly compression: number;
  /** Highest boost, kPa; 0 without a turbo. */
  readonly boostKpa: number;
  readonly metering: "air-flow" | "manifold-pressure";
  /** Electronic throttle, or a cable with an idle valve beside it. */
  readonly throttle: "electronic" | "cable";
  /** Crank, flywheel and pulley, kg·m²; friction at no speed, bar. */
  readonly inertia: number;
  readonly frictionBar: number;
  /** Intake manifold volume, m³, and widest throttle area times discharge coefficient, m². */
  readonly manifoldVolume: number;
  readonly throttleArea: number;
  /** Idle air range, m². */
  readonly idleAreaMin: number;
  readonly idleAreaMax: number;
  /** Static injector flow at the set rail pressure, g/s, and that pressure, kPa gauge. */
  readonly injectorFlow: number;
  readonly railPressure: number;
  /**
   * Batteries in series: 2 on a 24 V vehicle. Its electrics are given, and worked out, as those of one battery that does
   * the same: half the volts, twice the amperes, a quarter of the ohms; what is measured of it is in its own volts.
   */
  readonly series?: 2;
  /** Battery: capacity A·h, resistance when charged and warm, ohm. */
  readonly batteryAh: number;
  readonly batteryOhm: number;
  /** Starter seen at the crankshaft: V·s/rad, ohm with cables, rotor inertia kg·m². */
  readonly starterK: number;
  readonly starterOhm: number;
  readonly starterInertia: number;
  readonly alternatorAmp: number;
  /** Current of the running vehicle without pump, fan and accessory, A. */
  readonly runningAmp: number;
  /** Warm idle, rpm, and what it becomes while the accessory runs. */
  readonly idleRpm: number;
  readonly idleLoadedRpm: number;
  /** Accessory: torque N·m, on and off times s. */
  readonly accessoryTorque: number;
  readonly accessoryOnS: number;
  readonly accessoryOffS: number;
  /** Heat capacity of block and coolant, J/K; thermostat opening, °C. */
  readonly heatCapacity: number;
  readonly thermostatC: number;
  readonly trimLimit: number;
  /** The module uses a stand-in value for a coolant sensor that is out of range. */
  readonly substitutes: boolean;
  /** What a refused key does: no injection at all, or injection withdrawn after about a second. */
  readonly immobiliser: "no-start" | "dies";
  readonly massKg: number;
  /** Overall ratios from crankshaft to wheel. */
  readonly gears: readonly number[];
  /** Service 01 parameter 1C: the rule the car is built to. */
  readonly obdRule: number;
  readonly modules: readonly BenchModule[];
  /** Invented; `?` in the ninth place is the check digit, which is worked out when the vehicle is asked. */
  readonly vin: string;
  readonly calibration: string;
}

export interface BenchModule {
  /** A body module has nothing to do with emissions: it hears no request to all. */
  readonly role: "engine" | "transmission" | "body";
  /** Source address: 0x10 on one-byte buses, 0x7E8 on CAN 11 bit, 0x18DAF110 on CAN 29 bit. */
  readonly address: number;
  /** Time from request to answer, ms: least, and how much chance adds. */
  readonly answerMs: number;
  readonly answerSpreadMs: number;
  readonly padding: number;
  /** Supported parameters of service 01, the maps themselves left out. */
  readonly pids: readonly number[];
  /** Types of service 09 that it answers, the even ones (and 0B). */
  readonly information: readonly number[];
}

export const benchVehicles: readonly BenchVehicle[] = [
  {
    id: "garden-van",
    name: "Garden van (bench vehicle, invented)",
    about: "invented 3.6 L V6 petrol, air-flow meter, two banks, CAN 11 bit at 500 kbit/s",
    protocol: "can11-500",
    fuel: "petrol",
    firingOrder: [1, 2, 3, 4, 5, 6],
    bankOf: [0, 1, 0, 1, 0, 1],
    displacementL: 3.6,
    compression: 8.4,
    boostKpa: 0,
    metering: "air-flow",
    throttle: "electronic",
    inertia: 0.3,
    frictionBar: 0.7,
    manifoldVolume: 5.5e-3,
    throttleArea: 2.6e-3,
    idleAreaMin: 6e-6,
    idleAreaMax: 9e-5,
    injectorFlow: 3.6,
    railPressure: 380,
    batteryAh: 70,
    batteryOhm: 0.0055,
    starterK: 0.4,
    starterOhm: 0.019,
    starterInertia: 0.35,
    alternatorAmp: 130,
    runningAmp: 20,
    idleRpm: 650,
    idleLoadedRpm: 740,
    accessoryTorque: 15,
    accessoryOnS: 14,
    accessoryOffS: 22,
    heatCapacity: 52_000,
    thermostatC: 88,
    trimLimit: 30,
    substitutes: true,
    immobiliser: "dies",
    massKg: 2100,
    gears: [13, 7.4, 4.6, 3.2, 2.5],
    obdRule: 3,
    modules: [
      {
        role: "engine",
        address: 0x7e8,
        answerMs: 6,
        answerSpreadMs: 5,
        padding: 0x00,
        information: [0x02, 0x04, 0x06, 0x08, 0x0a],
        pids: [
          ...[0x01, 0x03, 0x04, 0x05, 0x06, 0x07, 0x08, 0x09, 0x0c, 0x0d, 0x0e, 0x0f, 0x10, 0x11, 0x13, 0x14],
          ...[0x15, 0x18, 0x19, 0x1c, 0x1f, 0x21, 0x2e, 0x2f, 0x30, 0x31, 0x33, 0x3c, 0x3d, 0x41, 0x42],
          ...[0x43, 0x44, 0x45, 0x46, 0x49, 0x4c, 0x4d, 0x4e, 0x51],
        ],
      },
      {
        role: "transmission",
        address: 0x7e9,
        answerMs: 9,
        answerSpreadMs: 6,
        padding: 0xaa,
        information: [],
        pids: [0x01, 0x0c, 0x0d, 0x1c],
      },
      {
        role: "body",
        address: 0x72e,
        answerMs: 8,
        answerSpreadMs: 5,
        padding: 0x00,
        information: [],
        pids: [],
      },
    ],
    vin: "0BVGV36V?S0000017",
    calibration: "BENCH-GV36-01",
  },
  {
    id: "old-hatch",
    name: "Old hatch (bench vehicle, invented)",
    about: "invented 1.5 L four-cylinder petrol, manifold-pressure metered, ISO 9141-2 at 10.4 kbit/s",
    protocol: "iso9141",
    fuel: "petrol",
    firingOrder: [1, 3, 4, 2],
    bankOf: [0, 0, 0, 0],
    displacementL: 1.5,
    compression: 8.2,
    boostKpa: 0,
    metering: "manifold-pressure",
    throttle: "cable",
    inertia: 0.17,
    frictionBar: 0.7,
    manifoldVolume: 2.4e-3,
    throttleArea: 1.3e-3,
    idleAreaMin: 2.5e-6,
    idleAreaMax: 4.5e-5,
    injectorFlow: 2.3,
    railPressure: 300,
    batteryAh: 45,
    batteryOhm: 0.0075,
    starterK: 0.39,
    starterOhm: 0.036,
    starterInertia: 0.2,
    alternatorAmp: 85,
    runningAmp: 14,
    idleRpm: 690,
    idleLoadedRpm: 850,
    accessoryTorque: 7.5,
    accessoryOnS: 16,
    accessoryOffS: 20,
    heatCapacity: 29_000,
    thermostatC: 87,
    trimLimit: 25,
    substitutes: false,
    immobiliser: "no-start",
    massKg: 1050,
    gears: [13.8, 7.6, 5.0, 3.7, 2.9],
    obdRule: 6,
    modules: [
      {
        role: "engine",
        address: 0x10,
        answerMs: 27,
        answerSpreadMs: 9,
        padding: 0,
        information: [0x02, 0x04],
        pids: [
          ...[0x01, 0x03, 0x04, 0x05, 0x06, 0x07, 0x0b, 0x0c, 0x0d, 0x0e, 0x0f, 0x11, 0x13, 0x14, 0x15, 0x1c],
          ...[0x1f, 0x21, 0x33, 0x42],
        ],
      },
    ],
    vin: "0BVHB15H?20000023",
    calibration: "BENCH-OH15-02",
  },
  {
    id: "hay-truck",
    name: "Hay truck (bench vehicle, invented)",
    about: "invented 5.2 L V8 petrol, manifold-pressure metered, two banks, J1850 VPW at 10.4 kbit/s",
    protocol: "vpw",
    fuel: "petrol",
    firingOrder: [1, 8, 4, 3, 6, 5, 7, 2],
    bankOf: [0, 1, 0, 1, 0, 1, 0, 1],
    displacementL: 5.2,
    compression: 7.9,
    boostKpa: 0,
    metering: "manifold-pressure",
    throttle: "cable",
    inertia: 0.42,
    frictionBar: 0.66,
    manifoldVolume: 7.5e-3,
    throttleArea: 3.4e-3,
    idleAreaMin: 8e-6,
    idleAreaMax: 1.3e-4,
    injectorFlow: 3.2,
    railPressure: 340,
    batteryAh: 75,
    batteryOhm: 0.005,
    starterK: 0.48,
    starterOhm: 0.0115,
    starterInertia: 0.5,
    alternatorAmp: 120,
    runningAmp: 20,
    idleRpm: 640,
    idleLoadedRpm: 700,
    accessoryTorque: 17,
    accessoryOnS: 15,
    accessoryOffS: 26,
    heatCapacity: 74_000,
    thermostatC: 90,
    trimLimit: 33,
    substitutes: true,
    immobiliser: "dies",
    massKg: 2400,
    gears: [10.5, 5.8, 3.6, 2.5],
    obdRule: 1,
    modules: [
      {
        role: "engine",
        address: 0x10,
        answerMs: 9,
        answerSpreadMs: 8,
        padding: 0,
        information: [0x02, 0x04, 0x06, 0x08],
        pids: [
          ...[0x01, 0x02, 0x03, 0x04, 0x05, 0x06, 0x07, 0x08, 0x09, 0x0b, 0x0c, 0x0d, 0x0e, 0x0f, 0x11, 0x13],
          ...[0x14, 0x15, 0x18, 0x19, 0x1c, 0x1f, 0x21, 0x33, 0x42],
        ],
      },
    ],
    vin: "0BVHT52T?10000035",
    calibration: "BENCH-HT52-01",
  },
  {
    id: "harbour-diesel",
    name: "Harbour diesel (bench vehicle, invented)",
    about: "invented 2.2 L four-cylinder turbo diesel, common rail, CAN 29 bit at 500 kbit/s",
    protocol: "can29-500",
    fuel: "diesel",
    firingOrder: [1, 3, 4, 2],
    bankOf: [0, 0, 0, 0],
    displacementL: 2.2,
    compression: 14.5,
    boostKpa: 130,
    metering: "air-flow",
    throttle: "electronic",
    inertia: 0.32,
    frictionBar: 1.0,
    manifoldVolume: 4.5e-3,
    throttleArea: 1.8e-3,
    idleAreaMin: 1.8e-3,
    idleAreaMax: 1.8e-3,
    injectorFlow: 22,
    railPressure: 30_000,
    batteryAh: 90,
    batteryOhm: 0.0045,
    starterK: 0.42,
    starterOhm: 0.019,
    starterInertia: 0.45,
    alternatorAmp: 140,
    runningAmp: 18,
    idleRpm: 800,
    idleLoadedRpm: 840,
    accessoryTorque: 13,
    accessoryOnS: 15,
    accessoryOffS: 24,
    heatCapacity: 42_000,
    thermostatC: 86,
    trimLimit: 25,
    substitutes: true,
    immobiliser: "no-start",
    massKg: 1900,
    gears: [14.5, 7.6, 4.6, 3.2, 2.4],
    obdRule: 6,
    modules: [
      {
        role: "engine",
        address: 0x18daf110,
        answerMs: 5,
        answerSpreadMs: 6,
        padding: 0x55,
        information: [0x02, 0x04, 0x06, 0x0a, 0x0b],
        pids: [
          ...[
            0x01, 0x04, 0x05, 0x0b, 0x0c, 0x0d, 0x0f, 0x10, 0x1c, 0x1f, 0x21, 0x23, 0x2c, 0x2f, 0x30, 0x31,
            0x33,
          ],
          ...[0x41, 0x42, 0x46, 0x49, 0x4c, 0x4d, 0x4e, 0x51, 0x5e],
        ],
      },
    ],
    vin: "0BVHD22D?S0000041",
    calibration: "BENCH-HD22-03",
  },
  {
    id: "quarry-lorry",
    name: "Quarry lorry (bench vehicle, invented)",
    about: "invented 6.4 L six-cylinder turbo diesel, common rail, 24 V, CAN 29 bit at 250 kbit/s",
    protocol: "can29-250",
    fuel: "diesel",
    firingOrder: [1, 5, 3, 6, 2, 4],
    bankOf: [0, 0, 0, 0, 0, 0],
    displacementL: 6.4,
    compression: 14.5,
    boostKpa: 140,
    metering: "manifold-pressure",
    throttle: "electronic",
    inertia: 1.15,
    frictionBar: 1.0,
    manifoldVolume: 13e-3,
    throttleArea: 5.2e-3,
    idleAreaMin: 5.2e-3,
    idleAreaMax: 5.2e-3,
    injectorFlow: 44,
    railPressure: 30_000,
    series: 2,
    batteryAh: 280,
    batteryOhm: 0.0016,
    starterK: 0.44,
    starterOhm: 0.0065,
    starterInertia: 1.5,
    alternatorAmp: 200,
    runningAmp: 45,
    idleRpm: 640,
    idleLoadedRpm: 660,
    accessoryTorque: 32,
    accessoryOnS: 18,
    accessoryOffS: 27,
    heatCapacity: 120_000,
    thermostatC: 86,
    trimLimit: 25,
    substitutes: true,
    immobiliser: "no-start",
    massKg: 6500,
    gears: [15, 8, 5, 3.6, 2.7],
    obdRule: 20,
    modules: [
      {
        role: "engine",
        address: 0x18daf110,
        answerMs: 6,
        answerSpreadMs: 6,
        padding: 0x00,
        information: [0x02, 0x04, 0x0a],
        pids: [
          ...[
            0x01, 0x04, 0x05, 0x0b, 0x0c, 0x0d, 0x0f, 0x1c, 0x1f, 0x21, 0x23, 0x2f, 0x30, 0x31, 0x33, 0x41,
            0x42,
          ],
          ...[0x46, 0x49, 0x4d, 0x4e, 0x51],
        ],
      },
    ],
    vin: "0BVLR64D?S0000063",
    calibration: "BENCH-QL64-01",
  },
];

const [van] = benchVehicles;
if (van === undefined) throw new Error("there is no bench vehicle");

/** Vehicles that speak the newer standard alone: the garden van's engine in another body, with its own modules. */
export const newerVehicles: readonly BenchVehicle[] = [
  {
    ...van,
    id: "market-estate",
    name: "Market estate (bench vehicle, invented)",
    about:
      "invented 3.6 L V6 petrol, air-flow meter, two banks, SAE J1979-2 alone on CAN 11 bit at 500 kbit/s",
    standard: "J1979-2",
    modules: van.modules.filter(({ role }) => role !== "body"),
    vin: "0BVME36V?V0000059",
    calibration: "BENCH-ME36-01",
  },
];

export const allBenchVehicles: readonly BenchVehicle[] = [...benchVehicles, ...newerVehicles];

/** Volts of its own for one volt of the single battery that its electrics are worked out as. */
export function seriesOf(vehicle: BenchVehicle): 1 | 2 {
  return vehicle.series ?? 1;
}

/** The vehicle of this name; throws `bench-unknown` naming those there are. */
export function benchVehicle(id: string): BenchVehicle {
  const found = allBenchVehicles.find((v) => v.id === id);
  if (found !== undefined) return found;
  throw new CranksideError("bench-unknown", "no such bench vehicle", {
    expected: allBenchVehicles.map((v) => v.id).join(", "),
    found: JSON.stringify(id),
  });
}
