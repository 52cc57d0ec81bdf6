/**
 * Finding out what the vehicle speaks, as pure plans: the known protocol first, then the adapter's own search, then one
 * after the other; and what an adapter does instead of what it should.
 */
import { CranksideError } from "../../shared/errors.ts";
import { protocolByNumber, protocols, type ProtocolId } from "../../shared/protocols.ts";
import type { Exchange, ExchangeLimits } from "./machine.ts";
import type { Plan } from "./plan.ts";
import { printable } from "./readable.ts";
import { isOk, isWorking, refused } from "./words.ts";

/** A setting or a question to the adapter itself is answered at once. */
export const settingWaits: Partial<ExchangeLimits> = { silenceMs: 800, wholeMs: 1600 };

/**
 * The 5-baud start takes up to 2.7 s (ISO 9141-2: 300 ms of idle, the address at 5 baud in 2 s, W1 to W4 and what they
 * part at most 445 ms) and may be tried twice, and some adapters say nothing meanwhile.
 */
export const startWaits: Partial<ExchangeLimits> = { silenceMs: 7000 };
/** One protocol. */
const oneProtocolWaits: Partial<ExchangeLimits> = { ...startWaits, workingMs: 10_000 };
/** A search through all protocols may say nothing for long. */
const searchWaits: Partial<ExchangeLimits> = { silenceMs: 25_000, workingMs: 25_000, wholeMs: 45_000 };
/** No bus was tried in less than this, milliseconds: the adapter said again what it said before. */
const noTryMs = 30;

/**
 * Protocols in the order in which they are tried one by one: what answers or fails fast comes first. Those of a
 * group together take no longer than one of the next.
 */
export const protocolGroups: readonly (readonly ProtocolId[])[] = [
  ["can11-500", "can29-500", "can11-250", "can29-250"],
  ["vpw", "pwm"],
  ["kwp-fast"],
  ["iso9141"],
  ["kwp-slow"],
];

export interface ProtocolFound {
  readonly protocol: ProtocolId;
  /** The first reply of the vehicle. */
  readonly reply: Exchange;
  /** It speaks SAE J1979-2: services 01 to 0A are not answered. */
  readonly byIdentifier?: true;
}

export interface NothingFound {
  readonly protocol: null;
  /** What the adapter said instead. */
  readonly said: string;
  /** It refused the choice, and tried nothing. */
  readonly unchosen?: true;
  /** It repeated its last failure, and tried nothing. */
  readonly repeated?: true;
}

/**
 * Finds the protocol: the known one first, then the adapter's own search, whose result is asked for and fixed.
 * An adapter that cannot search is taken through the protocols one by one.
 */
export function* findProtocol(
  known: ProtocolId | null,
  refuses: Set<string>,
): Plan<ProtocolFound | NothingFound> {
  if (known !== null) {
    const found = yield* tryProtocol(known, refuses);
    if (found.protocol !== null) return found;
  }
  const auto = yield* choose(null);
  if (!isOk(auto)) {
    refuses.add("ATSP0");
    return yield* tryEach(refuses);
  }
  let reply = yield* search();
  // A search that ends without a word was broken off; twice, and this adapter cannot search.
  if (saidNothing(reply)) reply = yield* search();
  if (saidNothing(reply)) return yield* tryEach(refuses);
  if (!vehicleAnswered(reply)) {
    const newer = yield* findByIdentifier(refuses);
    if (newer !== null) return newer;
    // The search goes on where it was: the next request looks through all protocols again.
    yield* choose(null);
    return { protocol: null, said: inOneLine(reply) };
  }
  const described = yield { ask: "ATDPN", waits: settingWaits };
  const protocol = protocolTold(described);
  if (protocol === null) {
    if (refused(described)) refuses.add("ATDPN");
    return yield* tryEach(refuses);
  }
  const fixed = yield* choose(protocol);
  if (!isOk(fixed)) refuses.add(`ATSP${protocols[protocol].number}`);
  return { protocol, reply };
}

/** One protocol and one question. */
export function* tryProtocol(protocol: ProtocolId, refuses: Set<string>): Plan<ProtocolFound | NothingFound> {
  const chosen = yield* choose(protocol);
  if (!isOk(chosen)) {
    refuses.add(`ATSP${protocols[protocol].number}`);
    return { protocol: null, said: "?", unchosen: true };
  }
  const reply = yield { ask: "0100", waits: oneProtocolWaits, doing: `trying ${protocols[protocol].name}` };
  if (vehicleAnswered(reply)) return { protocol, reply };
  const { end, err } = reply;
  if (err === "UNABLE TO CONNECT" && end !== null && end < noTryMs)
    return { protocol: null, said: inOneLine(reply), repeated: true };
  const newer = protocols[protocol].family === "can" ? yield* askStandard(protocol) : null;
  return newer ?? { protocol: null, said: inOneLine(reply) };
}

/**
 * Newer vehicles are silent to 0100: 22 F810 asks for the standard, and 62 F810 01 says SAE J1979-2. Source: an open
 * client script under Apache-2.0 and its comment.
 */
function* askStandard(protocol: ProtocolId): Plan<ProtocolFound | null> {
  const reply = yield { ask: "22F810", waits: oneProtocolWaits, doing: "asking for the newer standard" };
  const said = reply.answer.some((line) => /62F81001/i.test(line.replace(/\s/g, "")));
  return said ? { protocol, reply, byIdentifier: true } : null;
}

/** The four buses that SAE J1979-2 may be on. */
function* findByIdentifier(refuses: Set<string>): Plan<ProtocolFound | null> {
  for (const protocol of protocolGroups[0] ?? []) {
    const chosen = yield* choose(protocol);
    if (!isOk(chosen)) {
      refuses.add(`ATSP${protocols[protocol].number}`);
      continue;
    }
    const found = yield* askStandard(protocol);
    if (found !== null) return found;
  }
  return null;
}

function* search(): Plan<Exchange> {
  return yield { ask: "0100", waits: searchWaits, doing: "looking for the vehicle's protocol" };
}

/** A prompt, and nothing before it but that the adapter is at work. */
function saidNothing({ end, answer }: Exchange): boolean {
  return end !== null && answer.every((line) => line.trim() === "" || isWorking(line));
}

function* tryEach(refuses: Set<string>): Plan<ProtocolFound | NothingFound> {
  const said = new Set<string>();
  let chosen = false;
  for (const protocol of protocolGroups.flat()) {
    const found = yield* tryProtocol(protocol, refuses);
    if (found.protocol !== null) return found;
    chosen ||= found.unchosen !== true;
    said.add(found.said);
  }
  return chosen ? { protocol: null, said: [...said].join(" / ") } : yield* askAsItStands();
}

/** An adapter that takes no choice of protocol is asked as it stands: it may be on the right one, or search by itself. */
export function* askAsItStands(): Plan<ProtocolFound | NothingFound> {
  const reply = yield* search();
  if (!vehicleAnswered(reply)) return { protocol: null, said: inOneLine(reply), unchosen: true };
  const protocol = protocolTold(yield { ask: "ATDPN", waits: settingWaits }) ?? canShown(reply);
  if (protocol !== null) return { protocol, reply };
  return { protocol: null, said: `${inOneLine(reply)}, on a protocol that the adapter does not tell` };
}

/** By the identifier of its lines; the rate of the bus does not show and matters no more. */
function canShown({ answer }: Exchange): ProtocolId | null {
  const lines = answer.map((line) => line.replace(/\s/g, ""));
  if (lines.some((line) => /^7E[89A-F]064100/i.test(line))) return "can11-500";
  return lines.some((line) => /^18DAF1[0-9A-F]{2}064100/i.test(line)) ? "can29-500" : null;
}

/** Fixes a protocol, or with null lets the adapter search; no bus traffic yet. */
export function* choose(protocol: ProtocolId | null): Plan<Exchange> {
  const ask = `ATSP${protocol === null ? 0 : protocols[protocol].number}`;
  const chosen = yield { ask, waits: settingWaits };
  // A question mark may also be the answer to what stood in the adapter's buffer: it is asked twice.
  return refused(chosen) ? yield { ask, waits: settingWaits } : chosen;
}

/** What silence may mean, the likely and cheap first. The supply voltage at the socket is read all the while. */
const silentAdvice =
  "Turn the key on and seat the plug first. Every protocol of passenger cars was tried (J1850, ISO 9141-2, ISO 14230-4, " +
  "CAN, and SAE J1979-2 on CAN). If it stays silent with the key on: no volts at the socket point to its fuse or ground; " +
  "volts and silence point to the module's own supply, fuses and ground, to the bus, or to the adapter (try it on another " +
  "vehicle). A heavy vehicle often speaks J1939, and one from before its market's OBD rule a maker's own protocol: neither " +
  "is read here. The vehicle is asked again by itself.";

/** The error for a vehicle that does not answer. The adapter is fine and is kept. */
export function noVehicle(said: string, where: string): CranksideError {
  return new CranksideError("no-vehicle", "the adapter works, the vehicle does not answer", {
    expected: "an answer to 0100 on one of nine protocols, or to 22F810 (SAE J1979-2) on CAN",
    found: said === "" ? "nothing" : said,
    where,
    advice: silentAdvice,
  });
}

/** A support map or a refusal by a module: either way somebody is there. */
export function vehicleAnswered(reply: Exchange): boolean {
  return reply.answer.some((line) => /4100[0-9A-F]{8}|7F01[0-9A-F]{2}/i.test(line.replace(/\s/g, "")));
}

function protocolTold(reply: Exchange): ProtocolId | null {
  for (const line of reply.answer) {
    const match = /^A?([1-9])$/.exec(line.trim());
    if (match !== null) return protocolByNumber(Number(match[1]))?.id ?? null;
  }
  return null;
}

function inOneLine(reply: Exchange): string {
  const came = reply.answer.join(" ").trim();
  return came === "" ? "nothing" : printable(came, 80);
}
