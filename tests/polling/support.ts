/** What the session's tests share: a session on a virtual clock with a scripted peer, and what it recorded. */
import { openTcp, realClock, VirtualClock } from "../../adapters/link/index.ts";
import { Session, type SessionOptions } from "../../adapters/polling/session.ts";
import type { ExchangeEvent, LinkEvent, RecordingEvent } from "../../shared/recording/format.ts";
import type { EventSink } from "../../shared/recording/sink.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { engineModule, Peer, type PeerOptions } from "../support/peer.ts";

export class MemorySink implements EventSink {
  readonly zeroMs: number;
  readonly events: RecordingEvent[] = [];

  constructor(zeroMs: number) {
    this.zeroMs = zeroMs;
  }

  append(event: RecordingEvent): void {
    this.events.push(event);
  }

  get exchanges(): ExchangeEvent[] {
    return this.events.filter((event): event is ExchangeEvent => event.k === "x");
  }

  get links(): LinkEvent[] {
    return this.events.filter((event): event is LinkEvent => event.k === "link");
  }

  get states(): string[] {
    return this.links.map(({ state }) => state);
  }

  get notices(): string[] {
    return this.events.flatMap((event) => (event.k === "notice" ? [event.text] : []));
  }

  /** Commands of the exchanges that began at or after `t`. */
  asked(from = 0, to = Number.POSITIVE_INFINITY): string[] {
    return this.exchanges.filter(({ t }) => t >= from && t < to).map(({ ask }) => ask);
  }
}

/** A session that is not connected yet, to an adapter that listens on TCP. */
export function sessionOverTcp({ host, port }: { readonly host: string; readonly port: number }): {
  readonly sink: MemorySink;
  readonly session: Session;
} {
  const sink = new MemorySink(realClock.now());
  const open = (): Promise<ByteEnd> => openTcp({ host, port });
  return { sink, session: new Session({ open, address: `tcp:${host}:${port}`, clock: realClock, sink }) };
}

export interface Rig {
  readonly clock: VirtualClock;
  readonly peer: Peer;
  readonly sink: MemorySink;
  readonly session: Session;
}

export function rig(
  peerOptions: Partial<Omit<PeerOptions, "clock">> = {},
  sessionOptions: Partial<SessionOptions> = {},
): Rig {
  const clock = new VirtualClock(undefined, 64);
  const peer = new Peer({ clock, modules: [engineModule], ...peerOptions });
  const sink = new MemorySink(clock.now());
  const session = new Session({
    open: () => peer.open(),
    address: "tcp:peer:1",
    clock,
    sink,
    ...sessionOptions,
  });
  return { clock, peer, sink, session };
}

/** Connected and listening. */
export async function listening(
  peerOptions: Partial<Omit<PeerOptions, "clock">> = {},
  sessionOptions: Partial<SessionOptions> = {},
): Promise<Rig> {
  const all = rig(peerOptions, sessionOptions);
  await all.clock.run(all.session.connect());
  all.session.start(all.sink);
  return all;
}

export async function closed({ session, clock }: Rig): Promise<void> {
  await clock.run(session.close());
}
