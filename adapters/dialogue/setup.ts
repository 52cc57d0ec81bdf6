/**
 * What is said to an adapter before the first request, as pure plans: reset, settings, identity, supply voltage,
 * and the protocol of the vehicle. A clone refuses commands and lies about its version, so each setting is tried
 * and what was refused is noted.
 */
import { CranksideError } from "../../shared/errors.ts";
import { protocolByNumber, protocols, type ProtocolId } from "../../shared/protocols.ts";
import type { AdapterIdentity } from "../../shared/recording/format.ts";
import type { Exchange, ExchangeLimits } from "./machine.ts";
import type { Plan } from "./plan.ts";
import { isOk, isReset, refused } from "./words.ts";

/** A full reset tests its lamps and restarts: about a second. */
export const resetWaits: Partial<ExchangeLimits> = { silenceMs: 2500, wholeMs: 5000 };
/** A setting or a question to the adapter itself is answered at once. */
const settingWaits: Partial<ExchangeLimits> = { silenceMs: 800, wholeMs: 1600 };
/**
 * The 5-baud start takes up to 2.7 s (ISO 9141-2: 300 ms of idle, the address at 5 baud in 2 s, W1 to W4 and what they
 * part at most 445 ms) and may be tried twice, and some adapters say nothing meanwhile.
 */
export const startWaits: Partial<ExchangeLimits> = { silenceMs: 7000 };
/** One protocol. */
const oneProtocolWaits: Partial<ExchangeLimits> = { ...startWaits, workingMs: 10_000 };
/** A search through all protocols may say nothing for long. */
const searchWaits: Partial<ExchangeLimits> = { silenceMs: 25_000, workingMs: 25_000, wholeMs: 45_000 };

/** Resets that are tried before giving up: the first may only interrupt what the adapter was doing. */
const resetTries = 3;

/** Echo off, linefeeds off, spaces off, headers on, adaptive timing on. Nothing works worse for a refused one but the headers. */
export const settings = ["ATE0", "ATL0", "ATS0", "ATH1", "ATAT1"] as const;

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

export interface Prepared {
  readonly identity: AdapterIdentity;
  /** Supply voltage at the socket, or null when the adapter does not tell. */
  readonly volts: number | null;
}

/**
 * Reset, settings, identity and voltage. `known`: the adapter was set up before, so a warm start will do.
 * Throws `adapter-silent`, `adapter-garbled` or `no-adapter`, saying what was sent and what came.
 */
export function* prepareAdapter(where: string, known: AdapterIdentity | null = null): Plan<Prepared> {
  const seen: Exchange[] = [];
  const refuses = new Set<string>(known?.refuses ?? []);
  const greeting = yield* reset(seen, known !== null && !refuses.has("ATWS"), refuses);
  const accepted = yield* sendSettings(refuses, seen);
  if (greeting === null && accepted === 0) throw notAnAdapter(seen, where);
  const asked = yield { ask: "ATI", waits: settingWaits, doing: "asking the adapter who it is" };
  seen.push(asked);
  if (refused(asked)) refuses.add("ATI");
  const says = identityText(asked) || (greeting ?? "");
  if (accepted === 0) throw notAnAdapter(seen, where);
  const measured = yield { ask: "ATRV", waits: settingWaits, doing: "reading the supply voltage" };
  const volts = measured.volts ?? null;
  if (refused(measured)) refuses.add("ATRV");
  return { identity: { says, ...(refuses.size === 0 ? {} : { refuses: [...refuses] }) }, volts };
}

/**
 * After a reset by itself: the settings again and the protocol that was in use, without a search. False when the
 * adapter accepted nothing, or began anew meanwhile.
 */
export function* restoreSettings(identity: AdapterIdentity, protocol: ProtocolId | null): Plan<boolean> {
  const refuses = new Set<string>(identity.refuses ?? []);
  const seen: Exchange[] = [];
  const accepted = yield* sendSettings(refuses, seen);
  if (protocol !== null) seen.push(yield* choose(protocol));
  return accepted > 0 && !seen.some(({ err }) => isReset(err));
}

/** What the adapter says on restarting, or null when no reset was answered with a prompt. */
function* reset(seen: Exchange[], warm: boolean, refuses: Set<string>): Plan<string | null> {
  let ask = warm ? "ATWS" : "ATZ";
  for (let tries = 0; tries < resetTries; tries++) {
    const reply = yield { ask, waits: resetWaits, doing: "resetting the adapter" };
    seen.push(reply);
    if (refused(reply)) refuses.add(ask);
    const text = identityText(reply);
    if (reply.end !== null && reply.err === undefined && text !== "" && isText(text)) return text;
    if (ask === "ATWS") ask = "ATZ";
    else if (refused(reply) && tries > 0) ask = "ATWS";
  }
  return null;
}

/** Sends each setting that was not refused before; returns how many were accepted. */
function* sendSettings(refuses: Set<string>, seen: Exchange[]): Plan<number> {
  let accepted = 0;
  let unanswered = 0;
  for (const ask of settings) {
    if (refuses.has(ask)) continue;
    for (let tries = 0; tries < 2; tries++) {
      const reply = yield { ask, waits: settingWaits, doing: "setting the adapter up" };
      seen.push(reply);
      if (isReset(reply.err)) return accepted;
      if (isOk(reply)) {
        accepted += 1;
        refuses.delete(ask);
        break;
      }
      if (reply.end === null) unanswered += 1;
      // A question mark may also be the answer to what stood in the adapter's buffer: it is asked twice.
      if (refused(reply)) refuses.add(ask);
    }
    if (accepted === 0 && unanswered >= 2) return 0;
  }
  return accepted;
}

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
  const auto = yield { ask: "ATSP0", waits: settingWaits, doing: "looking for the vehicle's protocol" };
  if (!isOk(auto)) {
    refuses.add("ATSP0");
    return yield* tryEach(refuses);
  }
  const reply = yield { ask: "0100", waits: searchWaits, doing: "looking for the vehicle's protocol" };
  if (!vehicleAnswered(reply)) {
    const newer = yield* findByIdentifier(refuses);
    if (newer !== null) return newer;
    // The search goes on where it was: the next request looks through all protocols again.
    yield { ask: "ATSP0", waits: settingWaits };
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
    return { protocol: null, said: "?" };
  }
  const reply = yield { ask: "0100", waits: oneProtocolWaits, doing: `trying ${protocols[protocol].name}` };
  if (vehicleAnswered(reply)) return { protocol, reply };
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

function* tryEach(refuses: Set<string>): Plan<ProtocolFound | NothingFound> {
  const said = new Set<string>();
  for (const protocol of protocolGroups.flat()) {
    const found = yield* tryProtocol(protocol, refuses);
    if (found.protocol !== null) return found;
    said.add(found.said);
  }
  return { protocol: null, said: [...said].join(" / ") };
}

/** Fixes a protocol; no bus traffic yet. */
export function* choose(protocol: ProtocolId): Plan<Exchange> {
  return yield { ask: `ATSP${protocols[protocol].number}`, waits: settingWaits };
}

/** What silence may mean, the likely and cheap first. The supply voltage at the socket is read all the while. */
const silentAdvice =
  "Turn the key on and seat the plug first. All was tried that passenger cars speak (J1850, ISO 9141-2, ISO 14230-4, " +
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

function notAnAdapter(seen: readonly Exchange[], where: string): CranksideError {
  const sent = [...new Set(seen.map(({ ask }) => ask))].join(", ");
  const came = seen.flatMap((e) => e.lines).join(" ");
  const context = { where, found: came === "" ? "nothing" : `"${printable(came, 80)}"` };
  if (came === "") {
    return new CranksideError("adapter-silent", `no answer to ${sent}`, {
      ...context,
      expected: "a prompt",
      advice: "Check the plug, the supply of the adapter, the port and the baud rate.",
    });
  }
  if (!isText(came)) {
    return new CranksideError("adapter-garbled", `unreadable answer to ${sent}`, {
      ...context,
      expected: "readable text and a prompt",
      advice: "Usually the baud rate is another one, or the line picks up noise.",
    });
  }
  return new CranksideError("no-adapter", `this is no ELM-compatible adapter: sent ${sent}`, {
    ...context,
    expected: "OK to a setting, and a prompt",
    advice: "Check that this is the adapter's port.",
  });
}

/** Mostly readable characters. */
export function isText(text: string): boolean {
  let readable = 0;
  for (const character of text) if (character >= " " && character <= "~") readable += 1;
  return readable >= text.length * 0.9;
}

/** Unreadable bytes as hexadecimal, cut at `most` characters. */
export function printable(text: string, most: number): string {
  const shown = text.replace(
    /[^ -~]/g,
    (c) => `\\x${c.charCodeAt(0).toString(16).padStart(2, "0").toUpperCase()}`,
  );
  return shown.length > most ? `${shown.slice(0, most - 3)}...` : shown;
}

function identityText(reply: Exchange): string {
  if (refused(reply) || reply.end === null) return "";
  return reply.answer
    .map((line) => line.trim())
    .filter((line) => line !== "" && line !== "OK")
    .join(" ");
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
