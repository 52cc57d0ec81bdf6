/**
 * What waiting costs: processor time of the whole program, in percent of one core, while nothing comes from the
 * vehicle, from the adapter, or from the line at all.
 */
import { realClock } from "../../adapters/link/index.ts";
import { Session } from "../../adapters/polling/session.ts";
import { CranksideError } from "../../shared/errors.ts";
import { pause } from "../../shared/clock.ts";
import { engineModule, Peer } from "../support/peer.ts";

const seconds = 5;
const wanted = 5;

const sink = { zeroMs: realClock.now(), append: (): void => undefined };

interface Situation {
  readonly what: string;
  /** Brings it about; the session listens to the peer. */
  readonly begin: (peer: Peer) => Promise<void>;
}

const situations: readonly Situation[] = [
  { what: "the vehicle is silent", begin: (peer) => Promise.resolve(void peer.faults.add("unplugged")) },
  { what: "the adapter is silent", begin: (peer) => Promise.resolve(void peer.faults.add("silence")) },
  { what: "the line is gone", begin: (peer) => peer.pull() },
];

export async function measureWaiting(): Promise<void> {
  for (const { what, begin } of situations) {
    const peer = new Peer({ clock: realClock, modules: [engineModule], restartMs: 20 });
    let gone = false;
    const session = new Session({
      open: () => (gone ? Promise.reject(new CranksideError("port-missing", "nothing there")) : peer.open()),
      address: "tcp:peer:1",
      clock: realClock,
      sink,
    });
    await session.connect();
    session.start(sink);
    await pause(realClock, 500);
    gone = true;
    await begin(peer);
    await pause(realClock, 6000);
    const { link } = session.status;
    const before = process.cpuUsage();
    const from = performance.now();
    await pause(realClock, seconds * 1000);
    const { user, system } = process.cpuUsage(before);
    const share = (100 * (user + system)) / 1000 / (performance.now() - from);
    process.stdout.write(
      `  ${`${what} (${link})`.padEnd(36)} ${share.toFixed(2).padStart(6)} % of one core (wanted: below ${wanted})\n`,
    );
    await session.close();
  }
  const peer = new Peer({ clock: realClock, modules: [engineModule], restartMs: 20 });
  const session = new Session({ open: () => peer.open(), address: "tcp:peer:1", clock: realClock, sink });
  await session.connect();
  await pause(realClock, 500);
  const before = process.cpuUsage();
  await pause(realClock, seconds * 1000);
  const { user, system } = process.cpuUsage(before);
  const share = (user + system) / 10 / (seconds * 1000);
  process.stdout.write(
    `  ${"paused".padEnd(36)} ${share.toFixed(2).padStart(6)} % of one core (wanted: below ${wanted})\n`,
  );
  await session.close();
}
