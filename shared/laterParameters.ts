/**
 * Rows of the service 01 table that came after the first release. Marked O: published figures (see parameterRows.ts).
 * Marked W: the public list. The rest, and the lengths where a note says so, are from memory of SAE J1979-DA and were
 * not confirmed by anybody.
 *
 * Left out because no scaling was found that could be cited or was remembered well enough: 81, 82, 88 to 8B, 8F to 94,
 * 9C, A3, A7 to A9, C3, C4.
 */
import {
  flagged,
  one,
  percent,
  temperature,
  trim,
  type Parameter,
  type Scale,
  type Value,
} from "./parameterRows.ts";

const fromMemory = "scaling and length from memory, not confirmed";
const exhaust: Scale = { div: 10, add: -40 };
const railPressure: Scale = { mul: 10 };

/** A value of its own scaling inside a row whose first byte says what exists. */
function there(
  at: number,
  len: number,
  bit: number,
  what: Pick<Value, "channel" | "name" | "short" | "unit"> & Scale,
): Value {
  return { at, len, when: { at: 0, bit }, ...what };
}

/** One state bit of 65, with the bit that says whether it is there. */
function state(bit: number, channel: string, name: string, short: string): Value {
  return {
    ...there(1, 1, bit, { channel, name, short, unit: "state" }),
    part: { shift: bit, mask: 1 },
    enumeration: "offOn",
  };
}

function egrOf(letter: "a" | "b", at: number, bit: number): Value[] {
  const L = letter.toUpperCase();
  return [
    there(at, 1, bit, {
      channel: `egr-commanded-${letter}`,
      name: `Commanded exhaust gas recirculation ${L}`,
      short: `EGR ${L} wanted`,
      unit: "%",
      ...percent,
    }),
    there(at + 1, 1, bit + 1, {
      channel: `egr-actual-${letter}`,
      name: `Actual exhaust gas recirculation ${L}`,
      short: `EGR ${L}`,
      unit: "%",
      ...percent,
    }),
    there(at + 2, 1, bit + 2, {
      channel: `egr-error-${letter}`,
      name: `Exhaust gas recirculation error ${L}`,
      short: `EGR ${L} error`,
      unit: "%",
      ...trim,
    }),
  ];
}

function railOf(letter: "a" | "b", at: number, bit: number): Value[] {
  const L = letter.toUpperCase();
  return [
    there(at, 2, bit, {
      channel: `rail-commanded-${letter}`,
      name: `Commanded rail pressure ${L}, gauge`,
      short: `rail ${L} wanted`,
      unit: "kPa fuel",
      ...railPressure,
    }),
    there(at + 2, 2, bit + 1, {
      channel: `rail-actual-${letter}`,
      name: `Rail pressure ${L}, gauge`,
      short: `rail ${L}`,
      unit: "kPa fuel",
      ...railPressure,
    }),
    there(at + 4, 1, bit + 2, {
      channel: `rail-temperature-${letter}`,
      name: `Fuel rail temperature ${L}`,
      short: `rail ${L} temp.`,
      unit: "°C",
      ...temperature,
    }),
  ];
}

/** 78 and 79, and from memory 98 and 99: four of a bank's exhaust gas temperatures. */
function exhaustRow(pid: number, bank: number, firstSensor: number): Parameter {
  const values = [0, 1, 2, 3].map((i) => {
    const sensor = firstSensor + i;
    return [
      `exhaust-temp-b${bank}s${sensor}`,
      `Exhaust gas temperature bank ${bank} sensor ${sensor}`,
      `exhaust b${bank}s${sensor}`,
    ] as const;
  });
  const name = `Exhaust gas temperature bank ${bank}, sensors ${firstSensor} to ${firstSensor + 3}`;
  const row = flagged(pid, 9, name, "°C", 2, exhaust, values);
  return firstSensor === 1 ? { ...row, source: "W" } : { ...row, note: fromMemory };
}

function turboRow(pid: number, letter: "a" | "b"): Parameter {
  const L = letter.toUpperCase();
  const place = (at: number, len: number, bit: number, where: string, words: string): Value =>
    there(at, len, bit, {
      channel: `turbo-${where}-${letter}`,
      name: `Turbocharger ${L} ${words} temperature`,
      short: `turbo ${L} ${where}`,
      unit: "°C",
      ...(len === 1 ? temperature : exhaust),
    });
  return {
    ...{ pid, bytes: 7, name: `Turbocharger ${L} temperatures`, source: "Wm", note: fromMemory },
    values: [
      place(1, 1, 0, "compressor-in", "compressor inlet"),
      place(2, 1, 1, "compressor-out", "compressor outlet"),
      place(3, 2, 2, "turbine-in", "turbine inlet"),
      place(5, 2, 3, "turbine-out", "turbine outlet"),
    ],
  };
}

function filterRow(pid: number, bank: number): Parameter {
  const place = (i: number, where: string, words: string, scale: Scale): Value =>
    there(1 + 2 * i, 2, i, {
      channel: `filter-${where}-b${bank}`,
      name: `Particle filter ${words} bank ${bank}`,
      short: `filter ${where} b${bank}`,
      unit: "kPa",
      ...scale,
    });
  return {
    ...{ pid, bytes: 7, name: `Particle filter pressures bank ${bank}`, source: "Wm", note: fromMemory },
    values: [
      place(0, "drop", "pressure drop", { signed: true, div: 100 }),
      place(1, "inlet-pressure", "inlet pressure", { div: 100 }),
      place(2, "outlet-pressure", "outlet pressure", { div: 100 }),
    ],
  };
}

const letters = ["a", "b"] as const;

const rows: readonly Parameter[] = [
  {
    ...one(
      0x5f,
      1,
      "emission-rule",
      "Emission rule the vehicle is built to",
      "emission rule",
      "state",
      {},
      "O",
    ),
    values: [
      {
        ...{
          channel: "emission-rule",
          name: "Emission rule the vehicle is built to",
          short: "emission rule",
        },
        ...{ unit: "state", at: 0, len: 1, enumeration: "emissionRule" },
      },
    ],
  },
  {
    ...{ pid: 0x65, bytes: 2, name: "Auxiliary inputs and outputs", source: "O" },
    values: [
      state(0, "power-take-off", "Power take-off", "PTO"),
      state(1, "neutral-drive", "Neutral or drive status, automatic transmission", "neutral auto"),
      state(2, "neutral-gear", "Neutral or gear status, manual transmission", "neutral manual"),
      state(3, "glow-lamp", "Glow plug lamp", "glow lamp"),
      {
        ...there(1, 1, 4, {
          channel: "gear-recommended",
          name: "Recommended gear",
          short: "gear rec.",
          unit: "count",
        }),
        part: { shift: 4, mask: 15 },
      },
    ],
  },
  {
    ...{ pid: 0x69, bytes: 7, name: "Exhaust gas recirculation A and B", source: "O" },
    values: [...egrOf("a", 1, 0), ...egrOf("b", 4, 3)],
  },
  flagged(
    0x6a,
    5,
    "Diesel intake air flow control A and B",
    "%",
    1,
    percent,
    letters.flatMap((l) => {
      const L = l.toUpperCase();
      return [
        [`intake-control-${l}`, `Commanded intake air flow control ${L}`, `intake ${L} wanted`],
        [`intake-position-${l}`, `Relative intake air flow position ${L}`, `intake ${L} pos.`],
      ] as const;
    }),
    fromMemory,
  ),
  {
    ...flagged(
      0x6b,
      5,
      "Exhaust gas recirculation temperatures",
      "°C",
      1,
      temperature,
      (["b1s1", "b1s2", "b2s1", "b2s2"] as const).map(
        (id) =>
          [
            `egr-temp-${id}`,
            `Exhaust gas recirculation temperature bank ${id[1]} sensor ${id[3]}`,
            `EGR temp. ${id}`,
          ] as const,
      ),
    ),
    source: "O",
    note: "the published figures count 1 °C a step for sensors of wide range too; from memory the standard counts 4",
  },
  {
    ...{ pid: 0x6d, bytes: 11, name: "Fuel pressure control A and B", source: "O" },
    values: [...railOf("a", 1, 0), ...railOf("b", 6, 3)],
  },
  flagged(
    0x6e,
    9,
    "Injection pressure control A and B",
    "kPa fuel",
    2,
    railPressure,
    letters.flatMap((l) => {
      const L = l.toUpperCase();
      return [
        [`injection-commanded-${l}`, `Commanded injection control pressure ${L}`, `inj. ${L} wanted`],
        [`injection-pressure-${l}`, `Injection control pressure ${L}`, `inj. pressure ${L}`],
      ] as const;
    }),
    fromMemory,
  ),
  flagged(
    0x6f,
    3,
    "Turbocharger compressor inlet pressure",
    "kPa",
    1,
    {},
    letters.map(
      (l) =>
        [
          `compressor-inlet-${l}`,
          `Turbocharger ${l.toUpperCase()} compressor inlet pressure`,
          `comp. in ${l.toUpperCase()}`,
        ] as const,
    ),
    fromMemory,
  ),
  {
    // As 70: bits 2 and 5 stand for the state of the control.
    ...{ pid: 0x71, bytes: 6, name: "Turbocharger vane position A and B", source: "Wm", note: fromMemory },
    values: letters.flatMap((l, i) => {
      const L = l.toUpperCase();
      return [
        there(1 + 2 * i, 1, 3 * i, {
          channel: `vanes-commanded-${l}`,
          name: `Commanded vane position ${L}`,
          short: `vanes ${L} wanted`,
          unit: "%",
          ...percent,
        }),
        there(2 + 2 * i, 1, 3 * i + 1, {
          channel: `vanes-${l}`,
          name: `Vane position ${L}`,
          short: `vanes ${L}`,
          unit: "%",
          ...percent,
        }),
      ];
    }),
  },
  {
    ...flagged(
      0x72,
      5,
      "Wastegate A and B",
      "%",
      1,
      percent,
      letters.flatMap((l) => {
        const L = l.toUpperCase();
        return [
          [`wastegate-commanded-${l}`, `Commanded wastegate position ${L}`, `wastegate ${L} wanted`],
          [`wastegate-${l}`, `Wastegate position ${L}`, `wastegate ${L}`],
        ] as const;
      }),
    ),
    source: "O",
  },
  flagged(
    0x73,
    5,
    "Exhaust pressure",
    "kPa",
    2,
    { div: 100 },
    [1, 2].map(
      (bank) => [`exhaust-pressure-b${bank}`, `Exhaust pressure bank ${bank}`, `exhaust b${bank}`] as const,
    ),
    fromMemory,
  ),
  flagged(
    0x74,
    5,
    "Turbocharger speed",
    "rpm",
    2,
    { mul: 10 },
    letters.map(
      (l) =>
        [`turbo-speed-${l}`, `Turbocharger speed ${l.toUpperCase()}`, `turbo ${l.toUpperCase()}`] as const,
    ),
    fromMemory,
  ),
  turboRow(0x75, "a"),
  turboRow(0x76, "b"),
  flagged(
    0x77,
    5,
    "Charge air cooler temperatures",
    "°C",
    1,
    temperature,
    (["b1s1", "b1s2", "b2s1", "b2s2"] as const).map(
      (id) =>
        [
          `charge-air-${id}`,
          `Charge air cooler temperature bank ${id[1]} sensor ${id[3]}`,
          `charge air ${id}`,
        ] as const,
    ),
    fromMemory,
  ),
  exhaustRow(0x78, 1, 1),
  exhaustRow(0x79, 2, 1),
  filterRow(0x7a, 1),
  filterRow(0x7b, 2),
  {
    ...flagged(0x7f, 13, "Total running times", "s", 4, {}, [
      ["total-run-time", "Total engine run time", "total run"],
      ["total-idle-time", "Total engine idle time", "total idle"],
      ["total-pto-time", "Total run time with power take-off", "total PTO"],
    ]),
    source: "O",
  },
  one(0x84, 1, "manifold-surface", "Manifold surface temperature", "manifold temp.", "°C", temperature, "O"),
  flagged(
    0x87,
    5,
    "Intake manifold absolute pressure A and B",
    "kPa",
    2,
    { div: 32 },
    letters.map(
      (l) =>
        [
          `manifold-${l}`,
          `Intake manifold absolute pressure ${l.toUpperCase()}`,
          `manifold ${l.toUpperCase()}`,
        ] as const,
    ),
    fromMemory,
  ),
  exhaustRow(0x98, 1, 5),
  exhaustRow(0x99, 2, 5),
  {
    ...{ pid: 0x9a, bytes: 6, name: "Hybrid or electric vehicle battery", source: "O" },
    values: [
      {
        ...there(1, 1, 0, {
          ...{
            channel: "hybrid-charging",
            name: "Hybrid charging state",
            short: "hybrid state",
            unit: "state",
          },
        }),
        part: { shift: 0, mask: 1 },
        enumeration: "hybridCharging",
      },
      there(2, 2, 1, {
        channel: "traction-volts",
        name: "Traction battery voltage",
        short: "traction V",
        unit: "V",
        div: 64,
      }),
      there(4, 2, 2, {
        channel: "traction-current",
        name: "Traction battery current",
        short: "traction A",
        unit: "A",
        signed: true,
        div: 10,
      }),
      {
        ...there(1, 1, 3, {
          channel: "hybrid-charging-enhanced",
          name: "Hybrid charging state, enhanced",
          short: "hybrid state 2",
          unit: "state",
        }),
        part: { shift: 1, mask: 3 },
        enumeration: "hybridCharging",
      },
    ],
  },
  {
    ...flagged(
      0x9f,
      9,
      "Share of the fuel systems",
      "%",
      1,
      percent,
      [1, 2, 3, 4].flatMap((bank) =>
        letters.map(
          (l) =>
            [
              `fuel-share-${l}-b${bank}`,
              `Share of fuel system ${l.toUpperCase()} bank ${bank}`,
              `fuel ${l.toUpperCase()} b${bank}`,
            ] as const,
        ),
      ),
    ),
    source: "O",
  },
  flagged(
    0xa1,
    9,
    "Nitrogen oxide sensors, corrected",
    "ppm",
    2,
    {},
    (["b1s1", "b1s2", "b2s1", "b2s2"] as const).map(
      (id) =>
        [
          `nox-corrected-${id}`,
          `Nitrogen oxides corrected bank ${id[1]} sensor ${id[3]}`,
          `NOx corr. ${id}`,
        ] as const,
    ),
    fromMemory,
  ),
  {
    ...{ pid: 0xa5, bytes: 4, name: "Reagent dosing", source: "W", note: "length from memory" },
    values: [
      there(1, 1, 0, {
        channel: "reagent-dosing",
        name: "Commanded reagent dosing",
        short: "reagent",
        unit: "%",
        div: 2,
      }),
    ],
  },
  one(0xaa, 1, "speed-limit", "Speed limit that is set", "speed limit", "km/h", {}, "O"),
  one(0xb2, 1, "traction-health", "Traction battery state of health", "battery health", "%", percent, "O"),
];

/** A temperature of 6B is there when either of two bits says so: bits 0 to 3, or 4 to 7 for one of wide range. */
function withWideRange(row: Parameter): Parameter {
  if (row.pid !== 0x6b) return row;
  return {
    ...row,
    values: row.values.map((value, bit) => ({ ...value, when: { at: 0, bit, or: bit + 4 } })),
  };
}

export const laterParameters: readonly Parameter[] = rows.map((row) => ({
  ...withWideRange(row),
  later: true,
}));
