/** More of what goes wrong beside a real vehicle, by name: modules that restart or die, replies late, TCP dropped. */
import { afterEach, expect, test } from "vitest";
import { listenTcp, realClock } from "../../adapters/link/index.ts";
import { pause } from "../../shared/clock.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { engineModule, gearModule, Peer } from "../support/peer.ts";
import { listening, sessionOverTcp, type Rig } from "./support.ts";

let open: Rig[] = [];
afterEach(async () => {
  for (const { clock, session } of open) await clock.run(session.close());
  open = [];
});

async function kept(made: Promise<Rig>): Promise<Rig> {
  const all = await made;
  open.push(all);
  return all;
}

test("the module restarts during cranking: NO DATA while it does, the voltage goes on, no search behind it", async () => {
  const turning = { ...engineModule, replies: { ...engineModule.replies, "010C": "410C0320" } };
  const { clock, peer, sink, session } = await kept(listening({ modules: [turning], refuses: ["several"] }));
  await clock.pass(2000);
  expect(session.status.focus).toBe("cranking");
  for (let crank = 0; crank < 3; crank++) {
    const gone = clock.now();
    peer.modules = [];
    await clock.pass(700);
    const back = clock.now();
    peer.modules = [turning];
    await clock.pass(1500);
    const during = sink.exchanges.filter(({ t }) => t >= gone && t < back);
    expect(during.some(({ ask, err }) => ask === "ATRV" && err === undefined)).toBe(true);
    expect(during.some(({ ask, err }) => ask.startsWith("01") && err === "NO DATA")).toBe(true);
    const first = sink.exchanges.find((x) => x.t >= back && x.ask.startsWith("01") && x.err === undefined);
    expect((first?.t ?? Number.POSITIVE_INFINITY) + (first?.end ?? 0)).toBeLessThan(back + 350);
    expect(sink.asked(gone)).not.toContain("ATSP0");
  }
  expect(sink.states).not.toContain("lost");
});

test("STOPPED: what the adapter says when it was interrupted is no reading, and the next one is", async () => {
  const { clock, peer, sink } = await kept(listening({ refuses: ["several"] }));
  await clock.pass(1003);
  const at = clock.now();
  peer.say("STOPPED\r\r>");
  await clock.pass(1000);
  const told = sink.events.some(
    (event) =>
      (event.k === "stray" && event.text.includes("STOPPED")) || (event.k === "x" && event.err === "STOPPED"),
  );
  expect(told).toBe(true);
  const good = sink.exchanges.find((x) => x.t > at + 50 && x.ask.startsWith("01") && x.err === undefined);
  expect(good?.lines[0]?.slice(7, 9)).toBe(good?.ask.slice(2, 4));
  expect(peer.received.filter((command) => !/^(AT|TRV$|01)/.test(command))).toEqual([]);
});

test("replies come late for a while: none is taken for the answer to another question", async () => {
  const { clock, peer, sink, session } = await kept(listening({ refuses: ["several"] }));
  await clock.pass(1000);
  peer.faults.add("slow");
  const from = clock.now();
  await clock.pass(10_000);
  peer.faults.delete("slow");
  await clock.pass(1000);
  const late = sink.exchanges.filter((x) => x.t >= from && /^01/.test(x.ask) && x.err === undefined);
  expect(late.length).toBeGreaterThan(5);
  for (const { ask, lines } of late) expect(lines[0]?.slice(7, 9), ask).toBe(ask.slice(2, 4));
  expect(session.status.link).toBe("listening");
});

test("two modules of which one dies: the other goes on as fast as if alone, and the dead one is heard again", async () => {
  const { clock, peer, sink, session } = await kept(listening({ modules: [engineModule, gearModule] }));
  await clock.pass(2000);
  peer.modules = [engineModule];
  await clock.pass(3000);
  const from = clock.now();
  await clock.pass(3000);
  const alone = sink.exchanges.filter((x) => x.t >= from && x.ask.startsWith("01"));
  expect(alone.every(({ err }) => err === undefined)).toBe(true);
  // No reply count of two is waited out: a hundred milliseconds each.
  expect(alone.filter(({ end }) => (end ?? 0) > 90).length).toBeLessThan(3);
  peer.modules = [engineModule, gearModule];
  await clock.pass(12_000);
  expect(sink.exchanges.slice(-60).some(({ lines }) => lines.some((l) => l.startsWith("7E9")))).toBe(true);
  expect(session.status.link).toBe("listening");
});

test("TCP is dropped by the other side: lost with its cause, opened again, set up without a search", async () => {
  const peer = new Peer({ clock: realClock, modules: [engineModule], restartMs: 20 });
  const ends: ByteEnd[] = [];
  const listener = await listenTcp({ host: "127.0.0.1", port: 0 }, (far) => {
    ends.push(far);
    void peer.open().then((near) => {
      near.onBytes((bytes) => void far.write(bytes).catch(() => undefined));
      far.onBytes((bytes) => void near.write(bytes).catch(() => undefined));
    });
  });
  const { sink, session } = sessionOverTcp(listener);
  try {
    await session.connect();
    session.start(sink);
    while (sink.asked().filter((ask) => ask.startsWith("01")).length < 20) await pause(realClock, 20);
    const at = sink.exchanges.at(-1)?.t ?? 0;
    await ends[0]?.close();
    while (sink.states.at(-1) !== "back") await pause(realClock, 20);
    const good = (): number =>
      sink.exchanges.filter((x) => x.t > at && x.ask.startsWith("01") && x.err === undefined).length;
    while (good() < 5) await pause(realClock, 20);
    expect(sink.states.slice(-3)).toEqual(["lost", "opened", "back"]);
    expect(sink.links.find(({ state }) => state === "lost")?.why).toBeTruthy();
    expect(sink.asked(at)).not.toContain("ATSP0");
  } finally {
    await session.close();
    await listener.close();
  }
}, 120_000);

test("a clone with a false version text: what it can do is tried, not believed, before and behind a dip", async () => {
  for (const identity of ["ELM327 v2.3", "ELM327 v9.9 fast", "v1.5"]) {
    const all = await kept(listening({ identity, refuses: ["count", "several", "ATAT1", "ATDPN"] }));
    const { clock, peer, sink, session } = all;
    await clock.pass(1500);
    expect(session.status.adapter?.says).toBe(identity);
    expect(session.status.adapter?.refuses).toContain("ATAT1");
    const at = clock.now();
    peer.dip(300);
    await clock.pass(3000);
    const good = sink.exchanges.filter((x) => x.t > at && x.ask.startsWith("01") && x.err === undefined);
    expect(good.length, identity).toBeGreaterThan(5);
    const sent = peer.log.filter((entry) => entry.at > at).map(({ command }) => command);
    // Neither the reply count nor several parameters at once are tried again and again.
    expect(sent.filter((c) => /^01/.test(c) && c.length !== 4)).toEqual([]);
    expect(sent).not.toContain("ATSP0");
  }
});
