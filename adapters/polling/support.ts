/** Which parameters each module supports: asked of all at once, map by map. */
import { channelInfo, supportedPids } from "../../shared/decode.ts";
import type { ProtocolId } from "../../shared/protocols.ts";
import type { Exchange, Plan } from "../dialogue/index.ts";
import { identifiedRequest } from "../../shared/identified.ts";
import { focusTable } from "./focus.ts";
import { hear, hearIdentified } from "./heard.ts";
import { commandOf, type Modules } from "./schedule.ts";

const mapBases = [0x00, 0x20, 0x40, 0x60, 0x80, 0xa0, 0xc0] as const;

/** Load, coolant, engine speed, road speed: what every engine module of the standard has (SAE J1979, from memory). */
const basics = [0x04, 0x05, 0x0c, 0x0d] as const;

/** Tries for a map that a module announced and that did not come. */
const mapTries = 2;

/**
 * Asks 0100, 0120 ... as far as any module announces. `first` is an answer to 0100 that came before; the question
 * is put again all the same, because a search shows only who was quickest.
 */
export function* askSupport(protocol: ProtocolId, first: Exchange | null): Plan<Modules> {
  const modules = new Map<string, Set<number>>();
  if (first !== null) take(modules, first, { base: 0, protocol });
  for (const base of mapBases) {
    const waiting = (): string[] =>
      [...modules]
        .filter(([, pids]) => base !== 0 && pids.has(base) && !hasBeyond(pids, base))
        .map(([a]) => a);
    if (base !== 0 && waiting().length === 0) break;
    for (let tries = 0; tries < mapTries; tries++) {
      const ask = `01${base.toString(16).toUpperCase().padStart(2, "0")}`;
      const reply = yield { ask, doing: "asking each module what it supports" };
      const answered = take(modules, reply, { base, protocol });
      if (base === 0 ? answered.size > 0 : waiting().every((address) => answered.has(address))) break;
    }
  }
  if (modules.size > 0) yield* askHidden(modules, protocol);
  return modules;
}

/**
 * Some maps lie. What no engine can be without is asked once where no map announces it; a module that has it all the same
 * is asked for the usual parameters one by one, since its map hides them too.
 */
function* askHidden(modules: Map<string, Set<number>>, protocol: ProtocolId): Plan<void> {
  const hidden = new Set<string>();
  const ask = function* (pid: number): Plan<void> {
    if ([...modules.values()].some((pids) => pids.has(pid))) return;
    const reply = yield { ask: commandOf([pid], null), doing: "asking what the maps leave out" };
    for (const { module } of hear(reply.answer, [pid], protocol).answers) {
      modules.set(module, (modules.get(module) ?? new Set<number>()).add(pid));
      hidden.add(module);
    }
  };
  for (const pid of basics) yield* ask(pid);
  if (hidden.size > 0) for (const pid of usualPids()) yield* ask(pid);
}

function hasBeyond(pids: ReadonlySet<number>, base: number): boolean {
  for (const pid of pids) if (pid > base) return true;
  return false;
}

function take(
  modules: Map<string, Set<number>>,
  reply: Exchange,
  { base, protocol }: { readonly base: number; readonly protocol: ProtocolId },
): Set<string> {
  const answered = new Set<string>();
  for (const { module, data } of hear(reply.answer, [base], protocol).answers) {
    if (data.length < 4) continue;
    const pids = modules.get(module) ?? new Set<number>();
    for (const pid of supportedPids(base, data)) pids.add(pid);
    modules.set(module, pids);
    answered.add(module);
  }
  return answered;
}

/**
 * Of a vehicle that speaks SAE J1979-2. `maps`: by F400, F420 ... as service 01 has them, which nobody could confirm;
 * else, and where no map comes, the usual parameters are asked one by one, once.
 */
export function* askIdentifierSupport(protocol: ProtocolId, maps: boolean): Plan<Modules> {
  const modules = new Map<string, Set<number>>();
  const doing = "asking each module what it supports";
  for (const base of maps ? mapBases : []) {
    if (base !== 0 && ![...modules.values()].some((pids) => pids.has(base))) break;
    const reply = yield { ask: identifiedRequest([base]), doing };
    for (const { module, data } of hearIdentified(reply.answer, [base], protocol).answers) {
      if (data.length < 4) continue;
      const pids = modules.get(module) ?? new Set<number>();
      for (const pid of supportedPids(base, data)) pids.add(pid);
      modules.set(module, pids);
    }
  }
  if (modules.size > 0) return modules;
  for (const pid of usualPids()) {
    const reply = yield { ask: identifiedRequest([pid]), doing };
    for (const { module } of hearIdentified(reply.answer, [pid], protocol).answers)
      modules.set(module, (modules.get(module) ?? new Set<number>()).add(pid));
  }
  return modules;
}

function usualPids(): number[] {
  const pids = focusTable.flatMap(({ channel }) => channelInfo(channel)?.pid ?? []);
  return [...new Set(pids)];
}

/** For a recording: sorted lists by address. */
export function announced(modules: Modules): Record<string, number[]> {
  return Object.fromEntries(
    [...modules].map(([address, pids]) => [address, [...pids].sort((a, b) => a - b)]),
  );
}

/** For the person and the recording. */
export function newerStandard(unconfirmed: boolean): string {
  const but = unconfirmed ? "unconfirmed requests are sent as well" : "unconfirmed requests are left out";
  return `the vehicle speaks SAE J1979-2 (diagnostics on UDS); ${but}`;
}
