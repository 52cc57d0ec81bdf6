import type { CheckTableRow } from "./row.ts";

const cp = "common practice";
const petrol = { fuel: ["petrol", "ethanol", "gas", "other"] } as const;

/** Sensors measured beside what the module makes of them. */
export const sensorChecks = [
  {
    id: "sensor-pressure",
    name: "Manifold sensor and its hose",
    steps: [
      "Hose off at the sensor: it must read the outside air. A hand pump on it: it must fall.",
      "Hose whole and on its port?",
    ],
    tools: ["program"],
    minutes: 6,
    money: 0,
    caution: "none needed",
    state: "key",
    only: { metering: "manifold-pressure" }, // Measured at the sensor itself.
    group: "manifold-sensor-own",
    outcomes: [
      { id: "follows", text: "follows, hose whole", means: "good", normal: true },
      {
        id: "wrong",
        text: "does not follow, or hose off",
        means: "sensor or hose",
        often: { otherwise: 0.03, "manifold-sensor": 0.95 },
      },
    ],
    source: "key-on manifold within 5 kPa of barometric: service bulletin 1981",
  },
  {
    id: "pedal-down",
    name: "Throttle watched from closed to open",
    steps: [
      "Key on, engine off. Read the throttle; press slowly to the floor and back.",
      "It must start near closed, rise without jumps.",
    ],
    tools: ["program"],
    minutes: 2,
    money: 0,
    caution: "none needed",
    state: "key",
    group: "throttle-sensor",
    outcomes: [
      { id: "follows", text: "follows from closed to open", means: "good", normal: true },
      {
        id: "open",
        text: "reads open at rest, or jumps",
        means: "throttle sensor or its wire",
        often: { otherwise: 0.03, "throttle-reads-open": 0.97 },
      },
    ],
    source: "10 to 20 % at closed, 70 to 90 % open: common practice",
  },
  {
    id: "infrared",
    name: "Coolant temperature against a thermometer",
    steps: [
      "Point the thermometer at the housing next to the sensor; a cold engine: at the block.",
      "Enter what the thermometer shows, and what the module reads at that moment.",
    ],
    tools: ["thermometer", "program"],
    minutes: 4,
    money: 0,
    caution: ["hot"],
    state: "key",
    reading: {
      what: "module minus thermometer",
      unit: "°C",
      possible: [-300, 300],
      figure: "value",
      beside: {
        shown: "thermometer",
        what: "coolant by the module, at the same moment",
        words: ["by the thermometer", "by the module", "apart"],
        take: "shown",
        possible: [-60, 260],
        channels: ["coolant"],
      },
      source: "within 9 to 15 °C after a soak: service manuals 2007",
    }, // Another thermometer beside the sensor.
    group: "coolant-true",
    outcomes: [
      { id: "agree", text: "within 12 °C", means: "the sensor is right", from: -12, to: 12, normal: true },
      {
        id: "colder",
        text: "module reads colder",
        means: "sensor or circuit with resistance, or open",
        to: -12,
        often: { otherwise: 0.03, "coolant-reads-cold": 0.95, "coolant-reads-hot": 0.01 },
      },
      {
        id: "hotter",
        text: "module reads hotter",
        means: "sensor or circuit shorted",
        from: 12,
        often: { otherwise: 0.02, "coolant-reads-cold": 0.01, "coolant-reads-hot": 0.95 },
      },
    ],
    source: "service manuals 2007",
  },
  {
    id: "sensor-unplug",
    name: "Coolant sensor unplugged, then bridged",
    steps: [
      "Key on. Unplug: the reading must jump to the cold end. Bridge the plug: to the hot end.",
      "It jumps: the wiring is good, the sensor is in question.",
    ],
    tools: ["program", "jumper-wire"],
    minutes: 8,
    money: 0,
    caution: ["hot"],
    state: "key", // What the module makes of an open and of a bridged plug.
    group: "coolant-circuit",
    outcomes: [
      { id: "right", text: "jumps, and was right before", means: "sensor and wiring are good", normal: true },
      {
        id: "sensor",
        text: "jumps, and was wrong before",
        means: "the sensor",
        often: { otherwise: 0.035, "coolant-reads-cold": 0.62, "coolant-reads-hot": 0.62 },
      },
      {
        id: "wiring",
        text: "does not jump",
        means: "the wiring",
        often: { otherwise: 0.015, "coolant-reads-cold": 0.32, "coolant-reads-hot": 0.32 },
      },
    ],
    source: "open reads -40 °C, shorted over 140 °C: from memory",
  },
  {
    id: "oxygen-propane",
    name: "Oxygen sensor made to swing",
    steps: [
      "Warm, closed loop, recording running. Propane for five seconds: rich. A hose off for five seconds: lean.",
      "It must cross both ways within a second.",
    ],
    tools: ["program", "propane"],
    minutes: 8,
    money: 1,
    caution: ["exhaust", "fuel-vapour", "smoke"],
    state: "runs",
    for: ["rough", "lean", "rich"],
    only: petrol, // Provoked: whether it answers at all, however the mixture stood.
    group: "oxygen-provoked",
    outcomes: [
      {
        id: "swings",
        text: "swings fully, rich and lean",
        means: "the sensor works",
        normal: true,
      },
      {
        id: "short",
        text: "moves, never reaches one end",
        means: "the sensor has an offset, or air leaks in",
        often: { otherwise: 0.04, "oxygen-biased": 0.75, "oxygen-dead": 0.08, "exhaust-leak": 0.43 },
      },
      {
        id: "still",
        text: "hardly moves",
        means: "the sensor is dead",
        often: { otherwise: 0.02, "oxygen-biased": 0.1, "oxygen-dead": 0.9 },
      },
    ],
    source: "0.1 to 0.9 V swing, 0.45 V middle: service manuals 1998, 2001, 2004",
  },
  {
    id: "exhaust-leak",
    name: "Exhaust leak ahead of the sensor",
    steps: [
      "Cold start: listen for ticking, look for soot at manifold and joints.",
      "A cloth at the tailpipe for a moment makes it plainer.",
    ],
    tools: [],
    minutes: 6,
    money: 0,
    caution: ["exhaust", "hot"],
    state: "runs",
    for: ["rough", "lean", "rich"],
    group: "exhaust-leak",
    outcomes: [
      { id: "none", text: "no tick, no soot", means: "tight", normal: true },
      {
        id: "leak",
        text: "ticks or soot",
        means: "air gets in ahead of the sensor",
        often: { otherwise: 0.06, "exhaust-leak": 0.88 },
      },
    ],
    source: cp,
  },
  {
    id: "thermostat-hose",
    name: "Upper hose felt while warming",
    steps: ["From cold, at idle: the upper hose stays cool until the thermostat opens, then warms at once."],
    tools: [],
    minutes: 12,
    money: 0,
    caution: ["hot", "exhaust", "cranking"],
    state: "runs",
    for: ["rich", "lean"],
    group: "thermostat",
    outcomes: [
      { id: "late", text: "stays cool, then warms", means: "it closes", normal: true },
      {
        id: "early",
        text: "warms from the beginning",
        means: "it is stuck open",
        often: { otherwise: 0.05, "thermostat-open": 0.94 },
      },
    ],
    source: cp,
  },
] as const satisfies readonly CheckTableRow[];
