/**
 * What is said to an adapter before the first request, as pure plans: reset, settings, identity, supply voltage;
 * the protocol of the vehicle is found in protocol.ts. A clone refuses commands and lies about its version, so each setting is tried
 * and what was refused is noted.
 */
import { CranksideError } from "../../shared/errors.ts";
import type { ProtocolId } from "../../shared/protocols.ts";
import type { AdapterIdentity } from "../../shared/recording/format.ts";
import type { Exchange, ExchangeLimits } from "./machine.ts";
import type { Plan } from "./plan.ts";
import { choose, settingWaits } from "./protocol.ts";
import { isText, printable } from "./readable.ts";
import { isOk, isReset, nameOn, refused } from "./words.ts";

/** A full reset tests its lamps and restarts: about a second. */
export const resetWaits: Partial<ExchangeLimits> = { silenceMs: 2500, wholeMs: 5000 };
/** Resets that are tried before giving up: the first may only interrupt what the adapter was doing. */
const resetTries = 3;

/** Echo off, linefeeds off, spaces off, headers on, adaptive timing on. Nothing works worse for a refused one but the headers. */
export const settings = ["ATE0", "ATL0", "ATS0", "ATH1", "ATAT1"] as const;

export interface Prepared {
  readonly identity: AdapterIdentity;
  /** Supply voltage at the socket, or null when the adapter does not tell. */
  readonly volts: number | null;
  /** What it said of itself on restarting, where that is another name than the one it gives when it is asked. */
  readonly greeting?: string;
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
  const identity = { says, ...(refuses.size === 0 ? {} : { refuses: [...refuses] }) };
  return { identity, volts, ...(greeting === null || greeting === says ? {} : { greeting }) };
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

function identityText(reply: Exchange): string {
  if (refused(reply) || reply.end === null) return "";
  return reply.answer
    .map((line) => nameOn(line) ?? line.trim())
    .filter((line) => /[!-~]/.test(line) && line !== "OK")
    .join(" ");
}
