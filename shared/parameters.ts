/**
 * Service 01 parameters as data. Layout and scalings: SAE J1979-DA / ISO 15031-5 annex B as republished in
 * the public list "OBD-II PIDs" (W), or the same tables from memory (Wm). A row holds the request, the length
 * of its data and the values inside; logic is in decode.ts.
 */
import { laterParameters } from "./laterParameters.ts";
import {
  flagged,
  lengthUncertain,
  one,
  percent,
  temperature,
  trim,
  type Parameter,
  type Scale,
  type Value,
} from "./parameterRows.ts";

export type { Parameter, Source, Value } from "./parameterRows.ts";

/** The usual short form of a sensor position: b1s2 is bank 1, sensor 2. */
function sensorPosition(index: number): { id: string; words: string } {
  const bank = Math.floor(index / 4) + 1;
  const sensor = (index % 4) + 1;
  return { id: `b${bank}s${sensor}`, words: `bank ${bank} sensor ${sensor}` };
}

/** 24..2B and 34..3B number sensors over four banks of two, as 1D does. */
function widePosition(index: number): { id: string; words: string } {
  const bank = Math.floor(index / 2) + 1;
  const sensor = (index % 2) + 1;
  return { id: `b${bank}s${sensor}`, words: `bank ${bank} sensor ${sensor}` };
}

const supportMaps: Parameter[] = [0x00, 0x20, 0x40, 0x60, 0x80, 0xa0, 0xc0].map((pid) => {
  const id = pid.toString(16).padStart(2, "0");
  const name = `Supported parameters ${(pid + 1).toString(16)} to ${(pid + 32).toString(16)}`;
  return one(pid, 4, `support-${id}`, name, `supported ${id}`, "bits", {}, pid === 0 ? "W" : "Wm");
});

function narrow(i: number, { id, words }: { id: string; words: string }): Parameter {
  return {
    pid: 0x14 + i,
    bytes: 2,
    name: `Oxygen sensor ${words}`,
    source: "W",
    values: [
      {
        channel: `oxygen-${id}`,
        name: `Oxygen sensor voltage ${words}`,
        short: `O2 ${id}`,
        unit: "V",
        at: 0,
        len: 1,
        div: 200,
      },
      {
        channel: `oxygen-trim-${id}`,
        name: `Short fuel trim of oxygen sensor ${words}`,
        short: `O2 trim ${id}`,
        unit: "%",
        at: 1,
        len: 1,
        ...trim,
        absent: 0xff,
      },
    ],
  };
}

const narrowSensors = Array.from({ length: 8 }, (_, i) => narrow(i, sensorPosition(i)));

/**
 * Parameters 14 to 1B of a module that announces 1D instead of 13: the same bytes, but numbered over four banks
 * of two. 13 and 1D exclude each other (from memory).
 */
export const narrowSensorsFourBanks: readonly Parameter[] = Array.from({ length: 8 }, (_, i) =>
  narrow(i, widePosition(i)),
);

function wide(
  base: number,
  index: number,
  second: Pick<Value, "channel" | "name" | "short" | "unit"> & Scale,
): Parameter {
  const { id, words } = widePosition(index);
  return {
    pid: base + index,
    bytes: 4,
    name: `Wide-range oxygen sensor ${words}`,
    source: "Wm",
    values: [
      {
        channel: base === 0x24 ? `lambda-${id}` : `lambda-current-${id}`,
        name: `Lambda ${words}`,
        short: `lambda ${id}`,
        unit: "lambda",
        at: 0,
        len: 2,
        mul: 2,
        div: 65536,
      },
      { at: 2, len: 2, ...second },
    ],
  };
}

const wideVoltage: Parameter[] = Array.from({ length: 8 }, (_, i) => {
  const { id, words } = widePosition(i);
  return wide(0x24, i, {
    channel: `wide-volts-${id}`,
    name: `Wide-range sensor voltage ${words}`,
    short: `wide V ${id}`,
    unit: "V",
    mul: 8,
    div: 65536,
  });
});

const wideCurrent: Parameter[] = Array.from({ length: 8 }, (_, i) => {
  const { id, words } = widePosition(i);
  return wide(0x34, i, {
    channel: `wide-current-${id}`,
    name: `Wide-range sensor pump current ${words}`,
    short: `wide mA ${id}`,
    unit: "mA",
    div: 256,
    add: -128,
  });
});

const catalysts: Parameter[] = (["b1s1", "b2s1", "b1s2", "b2s2"] as const).map((id, i) => {
  const words = `bank ${id[1]} sensor ${id[3]}`;
  return one(
    0x3c + i,
    2,
    `catalyst-${id}`,
    `Catalyst temperature ${words}`,
    `catalyst ${id}`,
    "°C",
    { div: 10, add: -40 },
    "Wm",
  );
});

/** Parameters 55..58: one byte for each of two banks. */
const secondaryTrims: Parameter[] = (
  [
    [0x55, "short", 1, 3],
    [0x56, "long", 1, 3],
    [0x57, "short", 2, 4],
    [0x58, "long", 2, 4],
  ] as const
).map(([pid, kind, first, second]) => ({
  pid,
  bytes: 2,
  name: `Secondary oxygen sensor ${kind} trim, banks ${first} and ${second}`,
  source: "Wm",
  values: [first, second].map((bank, at) => ({
    channel: `secondary-trim-${kind}-b${bank}`,
    name: `Secondary oxygen sensor ${kind} trim bank ${bank}`,
    short: `2nd ${kind} trim b${bank}`,
    unit: "%",
    at,
    len: 1,
    ...trim,
  })),
}));

export const parameters: readonly Parameter[] = [
  ...supportMaps,
  {
    pid: 0x01,
    bytes: 4,
    name: "Monitor status since codes cleared",
    source: "W",
    values: [
      {
        channel: "monitors",
        name: "Monitor status since codes cleared",
        short: "monitors",
        unit: "bits",
        at: 0,
        len: 4,
        bits: "monitors",
      },
    ],
  },
  one(0x02, 2, "freeze-code", "Code that stored the freeze frame", "freeze code", "code", {}, "W"),
  {
    pid: 0x03,
    bytes: 2,
    name: "Fuel system status",
    source: "Wm",
    values: [
      {
        channel: "fuel-system-1",
        name: "Fuel system 1 status",
        short: "loop 1",
        unit: "state",
        at: 0,
        len: 1,
        enumeration: "fuelSystem",
      },
      {
        channel: "fuel-system-2",
        name: "Fuel system 2 status",
        short: "loop 2",
        unit: "state",
        at: 1,
        len: 1,
        enumeration: "fuelSystem",
      },
    ],
  },
  one(0x04, 1, "load", "Calculated load", "load", "%", percent, "W"),
  one(0x05, 1, "coolant", "Engine coolant temperature", "coolant", "°C", temperature, "W"),
  one(0x06, 1, "trim-short-b1", "Short fuel trim bank 1", "short trim b1", "%", trim, "W"),
  one(0x07, 1, "trim-long-b1", "Long fuel trim bank 1", "long trim b1", "%", trim, "W"),
  one(0x08, 1, "trim-short-b2", "Short fuel trim bank 2", "short trim b2", "%", trim, "W"),
  one(0x09, 1, "trim-long-b2", "Long fuel trim bank 2", "long trim b2", "%", trim, "W"),
  one(0x0a, 1, "fuel-pressure", "Fuel pressure, gauge", "fuel pressure", "kPa fuel", { mul: 3 }, "Wm"),
  one(0x0b, 1, "manifold", "Intake manifold absolute pressure", "manifold", "kPa", {}, "W"),
  one(0x0c, 2, "engine-speed", "Engine speed", "speed", "rpm", { div: 4 }, "W"),
  one(0x0d, 1, "vehicle-speed", "Vehicle speed", "vehicle", "km/h", {}, "W"),
  one(0x0e, 1, "advance", "Ignition advance, cylinder 1", "advance", "°", { div: 2, add: -64 }, "W"),
  one(0x0f, 1, "intake-air", "Intake air temperature", "intake", "°C", temperature, "W"),
  one(0x10, 2, "air-flow", "Air mass flow", "air flow", "g/s", { div: 100 }, "W"),
  one(0x11, 1, "throttle", "Absolute throttle position", "throttle", "%", percent, "W"),
  {
    pid: 0x12,
    bytes: 1,
    name: "Commanded secondary air",
    source: "W",
    values: [
      {
        channel: "secondary-air",
        name: "Commanded secondary air",
        short: "2nd air",
        unit: "state",
        at: 0,
        len: 1,
        enumeration: "secondaryAir",
      },
    ],
  },
  {
    pid: 0x13,
    bytes: 1,
    name: "Oxygen sensors fitted, two banks",
    source: "W",
    values: [
      {
        channel: "sensors-2-bank",
        name: "Oxygen sensors fitted, two banks",
        short: "O2 fitted",
        unit: "bits",
        at: 0,
        len: 1,
        bits: "sensors2",
      },
    ],
  },
  ...narrowSensors,
  {
    pid: 0x1c,
    bytes: 1,
    name: "OBD rule the vehicle is built to",
    source: "Wm",
    values: [
      {
        channel: "obd-rule",
        name: "OBD rule the vehicle is built to",
        short: "OBD rule",
        unit: "state",
        at: 0,
        len: 1,
        enumeration: "obdRule",
      },
    ],
  },
  {
    pid: 0x1d,
    bytes: 1,
    name: "Oxygen sensors fitted, four banks",
    source: "Wm",
    values: [
      {
        channel: "sensors-4-bank",
        name: "Oxygen sensors fitted, four banks",
        short: "O2 fitted",
        unit: "bits",
        at: 0,
        len: 1,
        bits: "sensors4",
      },
    ],
  },
  {
    pid: 0x1e,
    bytes: 1,
    name: "Auxiliary input",
    source: "Wm",
    values: [
      {
        channel: "auxiliary",
        name: "Auxiliary input",
        short: "auxiliary",
        unit: "bits",
        at: 0,
        len: 1,
        bits: "auxiliary",
      },
    ],
  },
  one(0x1f, 2, "run-time", "Time since engine start", "run time", "s", {}, "Wm"),
  one(0x21, 2, "distance-mil", "Distance with the malfunction lamp on", "MIL distance", "km", {}, "Wm"),
  one(
    0x22,
    2,
    "rail-relative",
    "Rail pressure relative to manifold",
    "rail",
    "kPa fuel",
    { mul: 79, div: 1000 },
    "Wm",
  ),
  one(0x23, 2, "rail-gauge", "Rail pressure, gauge", "rail", "kPa fuel", { mul: 10 }, "Wm"),
  ...wideVoltage,
  one(0x2c, 1, "egr", "Commanded exhaust gas recirculation", "EGR", "%", percent, "Wm"),
  one(0x2d, 1, "egr-error", "Exhaust gas recirculation error", "EGR error", "%", trim, "Wm"),
  one(0x2e, 1, "purge", "Commanded evaporative purge", "purge", "%", percent, "Wm"),
  one(0x2f, 1, "fuel-level", "Fuel level", "fuel level", "%", percent, "Wm"),
  one(0x30, 1, "warm-ups", "Warm-ups since codes cleared", "warm-ups", "count", {}, "Wm"),
  one(0x31, 2, "distance-clear", "Distance since codes cleared", "clear distance", "km", {}, "Wm"),
  one(
    0x32,
    2,
    "vapour",
    "Evaporative system vapour pressure",
    "vapour",
    "Pa",
    { signed: true, div: 4 },
    "Wm",
  ),
  one(0x33, 1, "barometric", "Barometric pressure, absolute", "barometric", "kPa", {}, "Wm"),
  ...wideCurrent,
  ...catalysts,
  {
    pid: 0x41,
    bytes: 4,
    name: "Monitor status this drive cycle",
    source: "W",
    values: [
      {
        channel: "monitors-cycle",
        name: "Monitor status this drive cycle",
        short: "monitors now",
        unit: "bits",
        at: 0,
        len: 4,
        bits: "monitorsCycle",
      },
    ],
  },
  one(0x42, 2, "module-voltage", "Control module voltage", "volts (module)", "V", { div: 1000 }, "Wm"),
  one(0x43, 2, "absolute-load", "Absolute load", "abs. load", "%", percent, "Wm"),
  one(
    0x44,
    2,
    "lambda-commanded",
    "Commanded equivalence ratio, lambda",
    "lambda wanted",
    "lambda",
    { mul: 2, div: 65536 },
    "Wm",
  ),
  one(0x45, 1, "throttle-relative", "Relative throttle position", "rel. throttle", "%", percent, "Wm"),
  one(0x46, 1, "ambient", "Ambient air temperature", "ambient", "°C", temperature, "Wm"),
  one(0x47, 1, "throttle-b", "Absolute throttle position B", "throttle B", "%", percent, "Wm"),
  one(0x48, 1, "throttle-c", "Absolute throttle position C", "throttle C", "%", percent, "Wm"),
  one(0x49, 1, "pedal-d", "Accelerator pedal position D", "pedal D", "%", percent, "Wm"),
  one(0x4a, 1, "pedal-e", "Accelerator pedal position E", "pedal E", "%", percent, "Wm"),
  one(0x4b, 1, "pedal-f", "Accelerator pedal position F", "pedal F", "%", percent, "Wm"),
  one(0x4c, 1, "throttle-commanded", "Commanded throttle actuator", "throttle wanted", "%", percent, "Wm"),
  one(0x4d, 2, "minutes-mil", "Minutes with the malfunction lamp on", "MIL minutes", "min", {}, "Wm"),
  one(0x4e, 2, "minutes-clear", "Minutes since codes cleared", "clear minutes", "min", {}, "Wm"),
  {
    pid: 0x4f,
    bytes: 4,
    name: "Full-scale values replaced",
    source: "Wm",
    values: [
      {
        channel: "scale-lambda",
        name: "Full scale of lambda",
        short: "scale lambda",
        unit: "ratio",
        at: 0,
        len: 1,
      },
      {
        channel: "scale-oxygen-volts",
        name: "Full scale of oxygen sensor voltage",
        short: "scale O2 V",
        unit: "V",
        at: 1,
        len: 1,
      },
      {
        channel: "scale-oxygen-current",
        name: "Full scale of oxygen sensor current",
        short: "scale O2 mA",
        unit: "mA",
        at: 2,
        len: 1,
      },
      {
        channel: "scale-manifold",
        name: "Full scale of manifold pressure",
        short: "scale manifold",
        unit: "kPa",
        at: 3,
        len: 1,
        mul: 10,
      },
    ],
  },
  {
    pid: 0x50,
    bytes: 4,
    name: "Full-scale value of air flow replaced",
    source: "Wm",
    values: [
      {
        channel: "scale-air-flow",
        name: "Full scale of air mass flow",
        short: "scale air flow",
        unit: "g/s",
        at: 0,
        len: 1,
        mul: 10,
      },
    ],
  },
  {
    pid: 0x51,
    bytes: 1,
    name: "Fuel type",
    source: "Wm",
    values: [
      {
        channel: "fuel-type",
        name: "Fuel type",
        short: "fuel",
        unit: "state",
        at: 0,
        len: 1,
        enumeration: "fuelType",
      },
    ],
  },
  one(0x52, 1, "ethanol", "Ethanol share of the fuel", "ethanol", "%", percent, "Wm"),
  one(
    0x53,
    2,
    "vapour-absolute",
    "Evaporative system vapour pressure, absolute",
    "vapour abs.",
    "kPa",
    { div: 200 },
    "Wm",
  ),
  one(
    0x54,
    2,
    "vapour-wide",
    "Evaporative system vapour pressure, wide",
    "vapour wide",
    "Pa",
    { signed: true },
    "Wm",
  ),
  ...secondaryTrims,
  one(0x59, 2, "rail-absolute", "Rail pressure, absolute", "rail abs.", "kPa fuel", { mul: 10 }, "Wm"),
  one(0x5a, 1, "pedal-relative", "Relative accelerator pedal position", "rel. pedal", "%", percent, "Wm"),
  one(0x5b, 1, "hybrid-battery", "Hybrid battery remaining", "hybrid battery", "%", percent, "Wm"),
  one(0x5c, 1, "oil", "Engine oil temperature", "oil", "°C", temperature, "Wm"),
  one(
    0x5d,
    2,
    "injection-timing",
    "Fuel injection timing",
    "inj. timing",
    "°",
    { div: 128, add: -210 },
    "Wm",
  ),
  one(0x5e, 2, "fuel-rate", "Engine fuel rate", "fuel rate", "L/h", { div: 20 }, "Wm"),
  one(0x61, 1, "torque-demanded", "Demanded engine torque", "torque wanted", "%", { add: -125 }, "Wm"),
  one(0x62, 1, "torque-actual", "Actual engine torque", "torque", "%", { add: -125 }, "Wm"),
  one(0x63, 2, "torque-reference", "Engine reference torque", "torque ref.", "N·m", {}, "Wm"),
  {
    pid: 0x64,
    bytes: 5,
    name: "Engine torque curve",
    source: "Wm",
    values: ["idle", "point-1", "point-2", "point-3", "point-4"].map((point, at) => ({
      channel: `torque-${point}`,
      name: `Engine torque at ${point.replace("-", " ")}`,
      short: `torque ${point.replace("-", " ")}`,
      unit: "%",
      at,
      len: 1,
      add: -125,
    })),
  },
  flagged(0x66, 5, "Air mass flow A and B", "g/s", 2, { div: 32 }, [
    ["air-flow-a", "Air mass flow A", "air flow A"],
    ["air-flow-b", "Air mass flow B", "air flow B"],
  ]),
  flagged(0x67, 3, "Engine coolant temperature 1 and 2", "°C", 1, temperature, [
    ["coolant-1", "Engine coolant temperature 1", "coolant 1"],
    ["coolant-2", "Engine coolant temperature 2", "coolant 2"],
  ]),
  flagged(
    0x68,
    7,
    "Intake air temperature sensors",
    "°C",
    1,
    temperature,
    (["b1s1", "b1s2", "b1s3", "b2s1", "b2s2", "b2s3"] as const).map(
      (id) =>
        [`intake-air-${id}`, `Intake air temperature bank ${id[1]} sensor ${id[3]}`, `intake ${id}`] as const,
    ),
    lengthUncertain,
  ),
  flagged(0x6c, 5, "Commanded and relative throttle A and B", "%", 1, percent, [
    ["throttle-commanded-a", "Commanded throttle A", "throttle A wanted"],
    ["throttle-relative-a", "Relative throttle A", "rel. throttle A"],
    ["throttle-commanded-b", "Commanded throttle B", "throttle B wanted"],
    ["throttle-relative-b", "Relative throttle B", "rel. throttle B"],
  ]),
  {
    // Bits 2 and 5 stand for the state of the control, which is in the last byte: captured replies of the open
    // collection OBDb, and their length with them.
    ...{ pid: 0x70, bytes: 10, name: "Boost pressure control", source: "O" },
    values: (
      [
        ["boost-commanded-a", "Commanded boost pressure A", "boost A wanted", 0],
        ["boost-a", "Boost pressure sensor A", "boost A", 1],
        ["boost-commanded-b", "Commanded boost pressure B", "boost B wanted", 3],
        ["boost-b", "Boost pressure sensor B", "boost B", 4],
      ] as const
    ).map(([channel, name, short, bit], i) => ({
      ...{ channel, name, short, unit: "kPa", at: 1 + 2 * i, len: 2, div: 32, when: { at: 0, bit } },
    })),
  },
  flagged(
    0x7c,
    9,
    "Particle filter temperatures",
    "°C",
    2,
    { div: 10, add: -40 },
    [
      ["filter-in-b1", "Particle filter inlet temperature bank 1", "filter in b1"],
      ["filter-out-b1", "Particle filter outlet temperature bank 1", "filter out b1"],
      ["filter-in-b2", "Particle filter inlet temperature bank 2", "filter in b2"],
      ["filter-out-b2", "Particle filter outlet temperature bank 2", "filter out b2"],
    ],
    lengthUncertain,
  ),
  flagged(
    0x83,
    9,
    "Nitrogen oxide sensors",
    "ppm",
    2,
    {},
    (["b1s1", "b1s2", "b2s1", "b2s2"] as const).map(
      (id) => [`nox-${id}`, `Nitrogen oxides bank ${id[1]} sensor ${id[3]}`, `NOx ${id}`] as const,
    ),
    lengthUncertain,
  ),
  one(0x8d, 1, "throttle-g", "Absolute throttle position G", "throttle G", "%", percent, "Wm"),
  one(0x8e, 1, "friction-torque", "Engine friction torque", "friction", "%", { add: -125 }, "Wm"),
  {
    pid: 0x9d,
    bytes: 4,
    name: "Fuel rate, engine and vehicle",
    source: "Wm",
    values: [
      {
        channel: "fuel-mass-engine",
        name: "Engine fuel mass rate",
        short: "fuel engine",
        unit: "g/s",
        at: 0,
        len: 2,
        div: 50,
      },
      {
        channel: "fuel-mass-vehicle",
        name: "Vehicle fuel mass rate",
        short: "fuel vehicle",
        unit: "g/s",
        at: 2,
        len: 2,
        div: 50,
      },
    ],
  },
  one(0x9e, 2, "exhaust-flow", "Exhaust flow rate", "exhaust flow", "kg/h", { div: 5 }, "Wm"),
  one(0xa2, 2, "cylinder-fuel", "Cylinder fuel rate", "fuel a stroke", "mg/stroke", { div: 32 }, "Wm"),
  {
    pid: 0xa4,
    bytes: 4,
    name: "Actual gear",
    source: "Wm",
    values: [
      {
        channel: "gear-ratio",
        name: "Actual gear ratio",
        short: "gear ratio",
        unit: "ratio",
        at: 2,
        len: 2,
        div: 1000,
        when: { at: 0, bit: 1 },
      },
    ],
  },
  one(0xa6, 4, "odometer", "Odometer", "odometer", "km", { div: 10 }, "Wm"),
  ...laterParameters,
];

export const parameterByPid: ReadonlyMap<number, Parameter> = new Map(parameters.map((p) => [p.pid, p]));
