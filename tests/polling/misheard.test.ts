import { expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { Session } from "../../adapters/polling/session.ts";
import { Peer } from "../support/peer.ts";
import { idlingModule } from "../support/tcpPeer.ts";

test("what a vehicle supports was misheard, and the adapter tells no voltage: it is asked again, not left alone", async () => {
  const clock = new VirtualClock();
  const garbled = { ...idlingModule, replies: { "0100": "7F0111" } };
  const peer = new Peer({ clock, modules: [garbled], refuses: ["ATRV"] });
  const sink = { zeroMs: 0, append: (): void => undefined };
  const session = new Session({ open: () => peer.open(), address: "tcp:peer:1", clock, sink });
  await clock.run(session.connect());
  session.start(sink);
  await clock.pass(5000);
  peer.modules = [idlingModule];
  await clock.pass(30_000);
  expect(session.status.modules.size).toBe(1);
  const before = peer.received.length;
  await clock.pass(2000);
  expect(peer.received.slice(before).filter((command) => command.startsWith("010C")).length).toBeGreaterThan(
    3,
  );
  const closing = session.close();
  await clock.run(closing);
});
