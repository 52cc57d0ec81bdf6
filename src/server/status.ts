import type { Bench } from "../../adapters/bench/index.ts";
import type { SessionStatus } from "../../adapters/polling/session.ts";
import type { Status } from "../../shared/messages.ts";
import { failureOf } from "./failure.ts";

export interface DeskState {
  readonly session: SessionStatus | null;
  readonly address: string | null;
  /** What went wrong outside the session, or null. */
  readonly failure: unknown;
  readonly recording: Status["recording"];
  readonly channels: readonly string[];
  readonly bench: Bench | null;
}

/** The desk's state as a page is told of it. */
export function statusOf({ session, address, failure, recording, channels, bench }: DeskState): Status {
  const state = bench?.state();
  const battery = session?.battery ?? null;
  return {
    link: session === null || session.link === "closed" ? "none" : session.link,
    address,
    doing: session?.doing ?? "",
    failure: failure === null ? (session?.failure ?? null) : failureOf(failure),
    adapter: session?.adapter?.says ?? null,
    protocol: session?.protocol ?? null,
    modules: [...(session?.modules ?? [])].map(([module, pids]) => ({ address: module, pids: [...pids] })),
    recording,
    battery: battery === null ? null : { volts: battery.volts, slowed: battery.spared },
    channels: [...channels],
    focus: session === null || session.link === "closed" ? null : session.focus,
    armed: session?.armed ?? false,
    strength: session?.strength ?? false,
    bench: state === undefined ? null : { ...state, faults: [...state.faults] },
  };
}
