/** What can be set on the adapter, and the answers to commands that need no bus. */
import { protocolByNumber, protocols, type ProtocolId } from "../../../shared/protocols.ts";

export interface Settings {
  echo: boolean;
  linefeeds: boolean;
  spaces: boolean;
  headers: boolean;
  /** Milliseconds to wait for replies. */
  waitMs: number;
  adaptive: 0 | 1 | 2;
  /** Fixed protocol, or the one to try first under a search; null is none yet. */
  protocol: ProtocolId | null;
  auto: boolean;
  /** Wait for the carriage return that confirms another serial rate, ms. */
  rateWaitMs: number;
  /** Last byte, or 11-bit identifier, of the one module that is asked; null: all. */
  target: number | null;
  /** The one identifier of 11 bits that replies are heard under; null: 7E8 to 7EF. */
  receive: number | null;
  /** Flow control for replies outside those: under which identifier, and whether that is in force. */
  flowUnder: number | null;
  flowByHand: boolean;
}

export const identity = "BENCH ADAPTER 1.0";

export function defaults(): Settings {
  return {
    echo: true,
    linefeeds: true,
    spaces: true,
    headers: false,
    waitMs: 200,
    adaptive: 1,
    protocol: null,
    auto: true,
    rateWaitMs: 75,
    target: null,
    receive: null,
    flowUnder: null,
    flowByHand: false,
  };
}

/** What an AT command asks for beyond its words: carried out by the adapter itself. */
export type Effect = "none" | "reset" | "warm-start" | "close" | "rate";

export interface CommandResult {
  readonly text: string;
  readonly effect: Effect;
}

/** What the outside world says: volts at the socket, ignition line. */
export interface Surroundings {
  readonly volts: number;
  readonly ignition: boolean;
}

const ok: CommandResult = { text: "OK", effect: "none" };
const unknown: CommandResult = { text: "?", effect: "none" };
const say = (text: string): CommandResult => ({ text, effect: "none" });

/** Carries out an AT command, without its AT and without spaces; changes the settings in place. */
export function command(text: string, s: Settings, around: () => Surroundings): CommandResult {
  const flag = /^([ELSH])([01])$/.exec(text);
  if (flag !== null) {
    const on = flag[2] === "1";
    if (flag[1] === "E") s.echo = on;
    else if (flag[1] === "L") s.linefeeds = on;
    else if (flag[1] === "S") s.spaces = on;
    else s.headers = on;
    return ok;
  }
  const wait = /^ST([0-9A-F]{2})$/.exec(text);
  if (wait !== null) {
    const count = Number.parseInt(wait[1] ?? "0", 16);
    s.waitMs = count === 0 ? 200 : count * 4;
    return ok;
  }
  const adaptive = /^AT([012])$/.exec(text);
  if (adaptive !== null) {
    s.adaptive = adaptive[1] === "0" ? 0 : adaptive[1] === "1" ? 1 : 2;
    return ok;
  }
  const header = /^SH([0-9A-F]{3}|[0-9A-F]{6})$/.exec(text)?.[1];
  if (header !== undefined) {
    s.target = targetOf(header);
    return ok;
  }
  if (addressing(text, s)) return ok;
  const rateWait = /^BRT([0-9A-F]{2})$/.exec(text);
  if (rateWait !== null) {
    // 00 stands for the longest.
    s.rateWaitMs = (Number.parseInt(rateWait[1] ?? "0", 16) || 256) * 5;
    return ok;
  }
  const divisor = rateDivisor(text);
  if (divisor !== null) return divisor < fastestDivisor ? unknown : { text: "OK", effect: "rate" };
  const protocol = /^(SP|TP)(A?)([0-9A-C])$/.exec(text);
  if (protocol !== null) return setProtocol(s, protocol[2] === "A", protocol[3] ?? "0");
  return fixedWords(text, s, around);
}

/** What is heard, and how a long reply of another module is let go on (from memory); false for another command. */
function addressing(text: string, s: Settings): boolean {
  const match = /^(CRA|FCSH)([0-7][0-9A-F]{2})$/.exec(text);
  const id = Number.parseInt(match?.[2] ?? "", 16);
  if (match?.[1] === "CRA") s.receive = id;
  else if (match?.[1] === "FCSH") s.flowUnder = id;
  else if (text === "CRA") s.receive = null;
  else if (text === "FCSM0" || (text === "FCSM1" && s.flowUnder !== null)) s.flowByHand = text === "FCSM1";
  else return text === "FCSD300000";
  return true;
}

/** The module that a request header names; null for one that names all. From memory: ISO 15765-4, SAE J2178-1. */
function targetOf(header: string): number | null {
  const id = Number.parseInt(header, 16);
  if (header.length === 3) return id === 0x7df ? null : id + 8;
  return /^(?:DA|6C|C4|8)/.test(header) ? (id >> 8) & 255 : null;
}

/** 4 Mbit/s divided by this is the rate that is asked for (from memory); null for another command. */
export function rateDivisor(text: string): number | null {
  const match = /^BRD([0-9A-F]{2})$/.exec(text);
  return match === null ? null : Number.parseInt(match[1] ?? "0", 16);
}

/** 500 kbit/s. */
const fastestDivisor = 8;

function fixedWords(text: string, s: Settings, around: () => Surroundings): CommandResult {
  switch (text) {
    case "Z":
      return { text: identity, effect: "reset" };
    case "WS":
      return { text: identity, effect: "warm-start" };
    case "D":
      Object.assign(s, defaults());
      return { text: "OK", effect: "close" };
    case "I":
      return say(identity);
    case "@1":
      return say("INVENTED VEHICLE ON A BENCH");
    case "RV":
      return say(`${around().volts.toFixed(1)}V`);
    case "IGN":
      return say(around().ignition ? "ON" : "OFF");
    case "DP":
      return say(`${s.auto ? "AUTO" : ""}${s.auto && s.protocol !== null ? ", " : ""}${nameOf(s)}`);
    case "DPN":
      return say(`${s.auto ? "A" : ""}${s.protocol === null ? 0 : protocols[s.protocol].number}`);
    case "PC":
      return { text: "OK", effect: "close" };
    case "CAF1":
    case "AL":
    case "NL":
    case "M0":
    case "M1":
      return ok;
    default:
      return unknown;
  }
}

function nameOf(s: Settings): string {
  return s.protocol === null ? "" : protocols[s.protocol].name;
}

function setProtocol(s: Settings, fallback: boolean, digit: string): CommandResult {
  const number = Number.parseInt(digit, 16);
  const found = protocolByNumber(number);
  if (number !== 0 && found === undefined) return unknown;
  s.protocol = found?.id ?? null;
  s.auto = number === 0 || fallback;
  return { text: "OK", effect: "close" };
}
