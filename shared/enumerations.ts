/**
 * Enumerated and bit-coded values in words a person can read. Layouts: public list "OBD-II PIDs" (monitors,
 * secondary air, sensors fitted) and SAE J1979-DA / ISO 15031-5 annex B from memory (the rest).
 */
export interface Enumeration {
  readonly words: Readonly<Record<number, string>>;
}

export const enumerations = {
  fuelSystem: {
    words: {
      0x00: "off or not fitted",
      0x01: "open loop, engine too cold",
      0x02: "closed loop",
      0x04: "open loop, load or overrun",
      0x08: "open loop, system fault",
      0x10: "closed loop, a sensor path faulty",
    },
  },
  secondaryAir: {
    words: {
      0x01: "upstream of the catalyst",
      0x02: "downstream of the catalyst",
      0x04: "outside air or off",
      0x08: "pump on for diagnosis",
    },
  },
  obdRule: {
    words: {
      1: "OBD-II (California)",
      2: "OBD (federal)",
      3: "OBD and OBD-II",
      4: "OBD-I",
      5: "not built to an OBD rule",
      6: "EOBD",
      7: "EOBD and OBD-II",
      8: "EOBD and OBD",
      9: "EOBD, OBD and OBD-II",
      10: "JOBD",
      11: "JOBD and OBD-II",
      12: "JOBD and EOBD",
      13: "JOBD, EOBD and OBD-II",
      17: "EMD",
      18: "EMD+",
      19: "heavy duty OBD, partial",
      20: "heavy duty OBD",
      21: "world-wide harmonised OBD",
      23: "heavy duty EOBD stage I",
      24: "heavy duty EOBD stage I with NOx control",
      25: "heavy duty EOBD stage II",
      26: "heavy duty EOBD stage II with NOx control",
      28: "OBDBr-1",
      29: "OBDBr-2",
      30: "KOBD",
      31: "IOBD I",
      32: "IOBD II",
      33: "heavy duty EOBD stage VI",
    },
  },
  fuelType: {
    words: {
      0: "not available",
      1: "petrol",
      2: "methanol",
      3: "ethanol",
      4: "diesel",
      5: "LPG",
      6: "CNG",
      7: "propane",
      8: "electric",
      9: "bi-fuel, on petrol",
      10: "bi-fuel, on methanol",
      11: "bi-fuel, on ethanol",
      12: "bi-fuel, on LPG",
      13: "bi-fuel, on CNG",
      14: "bi-fuel, on propane",
      15: "bi-fuel, on electricity",
      16: "bi-fuel, electric and engine",
      17: "hybrid petrol",
      18: "hybrid ethanol",
      19: "hybrid diesel",
      20: "hybrid electric",
      21: "hybrid, mixed fuel",
      22: "hybrid regenerative",
      23: "bi-fuel, on diesel",
    },
  },
  /** Source of the next three: open collection OBDb, signal list of SAE J1979. */
  offOn: { words: { 0: "off", 1: "on" } },
  hybridCharging: { words: { 0: "charge sustaining", 1: "charge depleting", 2: "charge increasing" } },
  emissionRule: {
    words: {
      14: "heavy duty Euro IV, B1",
      15: "heavy duty Euro V, B2",
      16: "heavy duty Euro EEV, C",
      17: "heavy duty Euro VI",
    },
  },
} as const satisfies Record<string, Enumeration>;

export type EnumId = keyof typeof enumerations;

/** The word for a code; an unknown code is shown as such, never guessed. */
export function enumWord(id: EnumId, code: number): string {
  const words: Readonly<Record<number, string>> = enumerations[id].words;
  return words[code] ?? `unknown (${code.toString(16).toUpperCase().padStart(2, "0")} hex)`;
}

export type MonitorState = "not fitted" | "complete" | "not complete";

export interface MonitorStatus {
  /** Malfunction indicator lamp commanded on. Always false in the drive-cycle form, which does not carry it. */
  readonly lamp: boolean;
  readonly storedCodes: number;
  readonly ignition: "spark" | "compression";
  readonly monitors: readonly { readonly name: string; readonly state: MonitorState }[];
}

const continuous = ["misfire", "fuel system", "components"] as const;

const sparkMonitors: readonly (string | null)[] = [
  "catalyst",
  "heated catalyst",
  "evaporative system",
  "secondary air",
  "A/C refrigerant or petrol particle filter",
  "oxygen sensor",
  "oxygen sensor heater",
  "EGR or valve timing",
];

const compressionMonitors: readonly (string | null)[] = [
  "NMHC catalyst",
  "NOx or SCR",
  null,
  "boost pressure",
  null,
  "exhaust gas sensor",
  "particle filter",
  "EGR or valve timing",
];

/** Monitor bits of parameters 01 and 41 from their four bytes as one number, A highest. */
export function monitorStatus(raw: number): MonitorStatus {
  const a = Math.floor(raw / 0x1000000) & 0xff;
  const b = (raw >>> 16) & 0xff;
  const c = (raw >>> 8) & 0xff;
  const d = raw & 0xff;
  const compression = (b & 0x08) !== 0;
  const state = (fitted: boolean, open: boolean): MonitorState =>
    !fitted ? "not fitted" : open ? "not complete" : "complete";
  const monitors: { name: string; state: MonitorState }[] = continuous.map((name, bit) => ({
    name,
    state: state((b & (1 << bit)) !== 0, (b & (0x10 << bit)) !== 0),
  }));
  (compression ? compressionMonitors : sparkMonitors).forEach((name, bit) => {
    if (name !== null) monitors.push({ name, state: state((c & (1 << bit)) !== 0, (d & (1 << bit)) !== 0) });
  });
  return {
    lamp: (a & 0x80) !== 0,
    storedCodes: a & 0x7f,
    ignition: compression ? "compression" : "spark",
    monitors,
  };
}

export type BitsId = "monitors" | "monitorsCycle" | "sensors2" | "sensors4" | "auxiliary";

/** The bit field in words, one entry a statement. */
export function bitWords(id: BitsId, raw: number): string[] {
  switch (id) {
    case "monitors":
    case "monitorsCycle": {
      const status = monitorStatus(raw);
      const head =
        id === "monitors"
          ? [
              `lamp ${status.lamp ? "on" : "off"}`,
              `${status.storedCodes} stored ${status.storedCodes === 1 ? "code" : "codes"}`,
            ]
          : [];
      return [
        ...head,
        `${status.ignition} ignition`,
        ...status.monitors.filter((m) => m.state !== "not fitted").map((m) => `${m.name} ${m.state}`),
      ];
    }
    case "sensors2":
      return setBits(raw).map((bit) => `b${Math.floor(bit / 4) + 1}s${(bit % 4) + 1}`);
    case "sensors4":
      return setBits(raw).map((bit) => `b${Math.floor(bit / 2) + 1}s${(bit % 2) + 1}`);
    case "auxiliary":
      return [(raw & 1) !== 0 ? "power take-off active" : "power take-off off"];
  }
}

function setBits(raw: number): number[] {
  return Array.from({ length: 8 }, (_, bit) => bit).filter((bit) => (raw & (1 << bit)) !== 0);
}
