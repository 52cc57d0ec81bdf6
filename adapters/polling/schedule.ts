/**
 * What to ask next. Pure: what is wanted, when it was last asked, and the time go in; a request comes out.
 * An item's claim is its age times its share; one that is older than its longest age goes before all that are not,
 * so none starves. Nothing is asked that no module supports.
 */
import { channelInfo, socketVoltage } from "../../shared/decode.ts";
import { addressesOf, definedChannels, type DefinedParameter } from "../../shared/defined.ts";
import { narrowSensorsFourBanks, parameterByPid } from "../../shared/parameters.ts";
import { focusStyles, focusTable, weightOf, type Focus } from "./focus.ts";

/** Parameters that each module announced, by its address. */
export type Modules = ReadonlyMap<string, ReadonlySet<number>>;

/** A parameter's number, the request of a read that the person defined, or null for the supply voltage. */
export type AskId = number | string | null;

/** One thing that is read again and again: a parameter, or the supply voltage by the adapter itself. */
export interface Wanted {
  readonly pid: AskId;
  readonly share: number;
  readonly maxAgeMs: number;
  readonly leads: boolean;
  /** In a reply: number and data. */
  readonly bytes: number;
}

export type Request =
  | { readonly kind: "volts" }
  | { readonly kind: "parameters"; readonly pids: readonly number[] }
  /** `alone`: the one module that is asked, as `idOf` names it; else all are. */
  | { readonly kind: "defined"; readonly read: string; readonly alone?: string };

export interface ScheduleState {
  /** When each was last asked; milliseconds. */
  readonly lastMs: ReadonlyMap<AskId, number>;
  readonly last: Request["kind"] | null;
  /** Requests that the leading channel has in hand. */
  readonly leadCredit: number;
}

export const nothingAsked: ScheduleState = { lastMs: new Map(), last: null, leadCredit: 1 };

/** What a bus and its adapter allow. */
export interface Means {
  /** Most parameters in one request. */
  readonly mostPids: number;
  /** This parameter may share a request. */
  readonly mayShare: (pid: number) => boolean;
  /** The bus has to be left alone for a while after each reply, and the voltage can be read meanwhile. */
  readonly voltsAreFree: boolean;
}

export const singlesOnly: Means = { mostPids: 1, mayShare: () => false, voltsAreFree: false };

/** With a free voltage it is read between requests, but not more often than this. */
const freeVoltsEveryMs = 60;

/** Channels the table has and these modules support; the voltage is always among them. */
export function usualChannels(modules: Modules): string[] {
  return focusTable
    .map(({ channel }) => channel)
    .filter((channel) => channel === socketVoltage || pidOf(channel, modules) !== undefined);
}

/** The parameter that carries a channel on these modules; undefined when no module supports it. */
export function pidOf(channel: string, modules: Modules): number | undefined {
  const usual = channelInfo(channel)?.pid;
  for (const pids of modules.values()) {
    if (pids.has(0x1d) && !pids.has(0x13)) {
      const row = narrowSensorsFourBanks.find((p) => p.values.some((v) => v.channel === channel));
      if (row !== undefined && pids.has(row.pid)) return row.pid;
    } else if (usual !== undefined && pids.has(usual)) return usual;
  }
  // A module with the four-bank numbering may still have the other channels under their usual number.
  const numberedOtherwise = usual !== undefined && usual >= 0x14 && usual <= 0x1b;
  if (usual === undefined || numberedOtherwise) return undefined;
  return [...modules.values()].some((pids) => pids.has(usual)) ? usual : undefined;
}

export interface WantedOptions {
  /** Empty: the usual ones. */
  readonly channels: readonly string[];
  /** Read in any case, and more often. */
  readonly pinned?: ReadonlySet<string>;
  readonly modules: Modules;
  readonly focus: Focus;
  /** False for an adapter that does not tell the supply voltage. */
  readonly volts: boolean;
  /** What the person defined: all of it is among the usual ones. */
  readonly defined?: readonly DefinedParameter[];
  /** Asked slowly in any case where they were not chosen: the signs need them. */
  readonly heard?: readonly string[];
}

/** Each parameter once, however many of its channels are wanted; the voltage belongs to every set. */
export function wantedOf(options: WantedOptions): Wanted[] {
  const { channels, pinned = new Set<string>(), modules, focus, volts, defined = [], heard = [] } = options;
  const rows = new Map(defined.flatMap((row) => definedChannels(row).map((channel) => [channel, row])));
  const usual = (): string[] => [...usualChannels(modules), ...rows.keys()];
  const chosen = new Set([...(channels.length === 0 ? usual() : [...channels, socketVoltage]), ...pinned]);
  const leading = focusStyles[focus].leads?.channel;
  const byPid = new Map<AskId, Wanted>();
  for (const channel of new Set([...chosen, ...heard])) {
    const row = rows.get(channel);
    const own = row === undefined ? undefined : idOf(row);
    const pid = channel === socketVoltage ? null : (own ?? pidOf(channel, modules));
    if (pid === undefined || (pid === null && !volts)) continue;
    const weight = weightOf(channel, focus, {
      ...{ pinned: pinned.has(channel), defined: row?.kind },
      heard: !chosen.has(channel),
    });
    const before = byPid.get(pid);
    byPid.set(pid, {
      pid,
      share: Math.max(weight.share, before?.share ?? 0),
      maxAgeMs: Math.min(weight.maxAgeMs, before?.maxAgeMs ?? Number.POSITIVE_INFINITY),
      leads: channel === leading || before?.leads === true,
      bytes: typeof pid === "number" ? 1 + (parameterByPid.get(pid)?.bytes ?? 4) : 0,
    });
  }
  return [...byPid.values()];
}

/** Of a read that the person defined: one of a module alone is another one than that of all. */
export function idOf(row: DefinedParameter): string {
  const { request, module, alone } = row;
  const addresses = addressesOf(row);
  if (addresses !== undefined) return `${request}@${addresses}`;
  return alone === true && module !== undefined ? `${request}@${module}` : request;
}

export function idOfRead({ read, alone }: { readonly read: string; readonly alone?: string }): string {
  return alone === undefined ? read : `${read}@${alone}`;
}

export interface Next {
  readonly request: Request;
  readonly state: ScheduleState;
}

/** The next request, or null when nothing is wanted. */
export function nextRequest(
  wanted: readonly Wanted[],
  state: ScheduleState,
  { now, focus, means }: { readonly now: number; readonly focus: Focus; readonly means: Means },
): Next | null {
  const volts = wanted.find(({ pid }) => pid === null);
  const voltsAge = ageOf(null, state, now);
  const freeVolts =
    means.voltsAreFree && state.last !== "volts" && state.last !== null && voltsAge >= freeVoltsEveryMs;
  if (volts !== undefined && freeVolts) return ask({ kind: "volts" }, state, now, state.leadCredit);

  const lead = wanted.find(({ leads }) => leads);
  const part = lead === undefined ? 0 : (focusStyles[focus].leads?.part ?? 0);
  const credit = state.leadCredit + part;
  const voltsRest = means.voltsAreFree || voltsAge < focusStyles[focus].voltsEveryMs;
  const others = wanted.filter((item) => item !== lead && !(voltsRest && item.pid === null));
  const order = byClaim(others, { state, now, led: lead !== undefined });
  const [first] = order;
  if (first === undefined && lead === undefined) {
    return volts === undefined ? null : ask({ kind: "volts" }, state, now, state.leadCredit);
  }
  // The voltage takes nothing from the bus, so it takes no turn of the leading channel either.
  const leadsTurn = lead !== undefined && credit >= 1;
  if (first?.pid === null && !leadsTurn) return ask({ kind: "volts" }, state, now, state.leadCredit);
  const together =
    mayShare(lead, means) && (first === undefined || first.pid === null || mayShare(first, means));
  const head = lead !== undefined && (leadsTurn || together || first === undefined) ? lead : first;
  if (head === undefined) return null;
  if (typeof head.pid === "string") {
    const [read = "", alone] = head.pid.split("@");
    const request: Request = { kind: "defined", read, ...(alone === undefined ? {} : { alone }) };
    return ask(request, state, now, credit);
  }
  const candidates = order.filter((item) => item.pid !== null && item !== head);
  const pids = fill([head, ...candidates], means, focusStyles[focus].mostBytes);
  const holdsLead = typeof lead?.pid === "number" && pids.includes(lead.pid);
  return ask({ kind: "parameters", pids }, state, now, holdsLead ? Math.max(0, credit - 1) : credit);
}

function ask(request: Request, state: ScheduleState, now: number, leadCredit: number): Next {
  const lastMs = new Map(state.lastMs);
  for (const id of idsOf(request)) lastMs.set(id, now);
  return { request, state: { lastMs, last: request.kind, leadCredit } };
}

function idsOf(request: Request): readonly AskId[] {
  if (request.kind === "volts") return [null];
  return request.kind === "defined" ? [idOfRead(request)] : request.pids;
}

function ageOf(pid: AskId, state: ScheduleState, now: number): number {
  const last = state.lastMs.get(pid);
  return last === undefined ? Number.POSITIVE_INFINITY : now - last;
}

/**
 * Overdue ones by how many times their longest age they are old, then the rest by age times share. What was never
 * asked comes first of all, unless a channel leads: then it is only just overdue, and the ones that matter go on.
 */
function byClaim(
  items: readonly Wanted[],
  { state, now, led }: { readonly state: ScheduleState; readonly now: number; readonly led: boolean },
): Wanted[] {
  const claims = items.map((item, place) => {
    const never = led ? item.maxAgeMs : Number.POSITIVE_INFINITY;
    const age = state.lastMs.has(item.pid) ? ageOf(item.pid, state, now) : never;
    const overdue = age >= item.maxAgeMs;
    return { item, place, overdue, claim: overdue ? age / item.maxAgeMs : age * item.share };
  });
  claims.sort((a, b) => {
    if (a.overdue !== b.overdue) return a.overdue ? -1 : 1;
    return a.claim === b.claim ? a.place - b.place : b.claim - a.claim;
  });
  return claims.map(({ item }) => item);
}

function mayShare(item: Wanted | undefined, means: Means): boolean {
  return means.mostPids > 1 && typeof item?.pid === "number" && means.mayShare(item.pid);
}

/** The first, and what else fits into the same request, in the order of claim. */
function fill([head, ...candidates]: readonly Wanted[], means: Means, mostBytes: number): number[] {
  if (typeof head?.pid !== "number") return [];
  const pids = [head.pid];
  if (!mayShare(head, means)) return pids;
  let bytes = 1 + head.bytes;
  for (const item of candidates) {
    if (pids.length >= means.mostPids) break;
    if (typeof item.pid !== "number" || bytes + item.bytes > mostBytes || !mayShare(item, means)) continue;
    pids.push(item.pid);
    bytes += item.bytes;
  }
  return pids;
}

/** `010C0B1`: service 01, the parameters, and how many replies to wait for, if that is known. */
export function commandOf(pids: readonly number[], replies: number | null): string {
  return withCount(
    `01${pids.map((pid) => pid.toString(16).toUpperCase().padStart(2, "0")).join("")}`,
    replies,
  );
}

/** The request with the number of replies to wait for behind it, where that is known. */
export function withCount(request: string, replies: number | null): string {
  const count = replies !== null && replies >= 1 && replies <= 15 ? replies.toString(16).toUpperCase() : "";
  return `${request}${count}`;
}
