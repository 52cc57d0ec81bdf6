/**
 * The nine standard protocols by the number the adapter gives them. Bus figures: SAE J1850, ISO 9141-2,
 * ISO 14230-4, ISO 15765-4, from memory where not stated otherwise in the tests.
 */
export interface Protocol {
  readonly id: ProtocolId;
  /** The adapter's number, as set by ATSP and told by ATDPN. */
  readonly number: number;
  readonly name: string;
  readonly family: "pwm" | "vpw" | "iso9141" | "kwp" | "can";
  readonly bitsPerSecond: number;
  /** CAN identifier length. */
  readonly idBits?: 11 | 29;
}

/** Both buses of the K line are started before they are asked, and rest after each reply. */
export function isOnKLine({ family }: Protocol): boolean {
  return family === "iso9141" || family === "kwp";
}

export const protocolIds = [
  "pwm",
  "vpw",
  "iso9141",
  "kwp-slow",
  "kwp-fast",
  "can11-500",
  "can29-500",
  "can11-250",
  "can29-250",
] as const;
export type ProtocolId = (typeof protocolIds)[number];

export const protocols: Readonly<Record<ProtocolId, Protocol>> = {
  pwm: { id: "pwm", number: 1, name: "J1850 PWM", family: "pwm", bitsPerSecond: 41_600 },
  vpw: { id: "vpw", number: 2, name: "J1850 VPW", family: "vpw", bitsPerSecond: 10_400 },
  iso9141: { id: "iso9141", number: 3, name: "ISO 9141-2", family: "iso9141", bitsPerSecond: 10_400 },
  "kwp-slow": {
    id: "kwp-slow",
    number: 4,
    name: "ISO 14230-4, slow start",
    family: "kwp",
    bitsPerSecond: 10_400,
  },
  "kwp-fast": {
    id: "kwp-fast",
    number: 5,
    name: "ISO 14230-4, fast start",
    family: "kwp",
    bitsPerSecond: 10_400,
  },
  "can11-500": {
    id: "can11-500",
    number: 6,
    name: "CAN 11/500",
    family: "can",
    bitsPerSecond: 500_000,
    idBits: 11,
  },
  "can29-500": {
    id: "can29-500",
    number: 7,
    name: "CAN 29/500",
    family: "can",
    bitsPerSecond: 500_000,
    idBits: 29,
  },
  "can11-250": {
    id: "can11-250",
    number: 8,
    name: "CAN 11/250",
    family: "can",
    bitsPerSecond: 250_000,
    idBits: 11,
  },
  "can29-250": {
    id: "can29-250",
    number: 9,
    name: "CAN 29/250",
    family: "can",
    bitsPerSecond: 250_000,
    idBits: 29,
  },
};

export function isProtocolId(text: string): text is ProtocolId {
  return Object.hasOwn(protocols, text);
}

export function protocolByNumber(number: number): Protocol | undefined {
  return Object.values(protocols).find((p) => p.number === number);
}
