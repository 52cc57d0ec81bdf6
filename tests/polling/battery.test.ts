import { expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { firstBattery, foldBattery, isSpared, type BatteryState } from "../../adapters/polling/battery.ts";
import { Session } from "../../adapters/polling/session.ts";
import type { RecordingEvent } from "../../shared/recording/format.ts";
import { Peer } from "../support/peer.ts";
import { idlingModule } from "../support/tcpPeer.ts";

function rest(volts: number, seconds: number, from: BatteryState = firstBattery, startMs = 0): BatteryState {
  let state = from;
  for (let t = 0; t <= seconds * 1000; t += 250) {
    state = foldBattery(state, { kind: "volts", now: startMs + t, volts });
  }
  return state;
}

test("below 12.0 V at rest for half a minute is low; at 12.0 V it is not", () => {
  expect(rest(11.9, 29).low).toBe(false);
  expect(rest(11.9, 31).low).toBe(true);
  expect(rest(12.0, 600).low).toBe(false);
});

test("a turning engine and a charged battery are not low; one that hangs between stays as it was", () => {
  const low = rest(11.8, 40);
  expect(foldBattery(low, { kind: "speed", now: 40_000, rpm: 250 }).low).toBe(false);
  expect(foldBattery(low, { kind: "speed", now: 40_000, rpm: 0 }).low).toBe(true);
  expect(foldBattery(low, { kind: "speed", now: 40_000, rpm: null }).low).toBe(true);
  expect(rest(12.1, 5, low, 41_000).low).toBe(true);
  expect(rest(12.2, 1, low, 41_000).low).toBe(false);
});

test("whoever turns the key is not spared on: a step of the voltage opens the eye for half a minute", () => {
  const low = rest(11.8, 60);
  expect(isSpared(low, 60_000)).toBe(true);
  const stirred = foldBattery(low, { kind: "volts", now: 61_000, volts: 11.3 });
  expect(isSpared(stirred, 61_000)).toBe(false);
  expect(isSpared(rest(11.5, 60, stirred, 62_000), 122_000)).toBe(true);
});

const standing = { ...idlingModule, replies: { ...idlingModule.replies, "010C": "410C0000" } };

async function listening(volts: string) {
  const clock = new VirtualClock(undefined, 64);
  const peer = new Peer({ clock, modules: [standing], volts });
  const events: RecordingEvent[] = [];
  const sink = { zeroMs: 0, append: (event: RecordingEvent): void => void events.push(event) };
  const session = new Session({ open: () => peer.open(), address: "tcp:peer:1", clock, sink });
  await clock.run(session.connect());
  session.start(sink);
  const asked = async (ms: number): Promise<{ vehicle: number; volts: number }> => {
    const from = peer.received.length;
    await clock.pass(ms);
    const got = peer.received.slice(from);
    return {
      vehicle: got.filter((c) => c.startsWith("01")).length,
      volts: got.filter((c) => c === "ATRV").length,
    };
  };
  return { clock, peer, session, events, asked };
}

test("at rest with a low battery the vehicle is asked every two seconds, and the voltage goes on", async () => {
  const { clock, session, asked, events } = await listening("11.7V");
  expect((await asked(10_000)).vehicle).toBeGreaterThan(50);
  expect(session.status.battery).toBeNull();
  await clock.pass(60_000);
  expect(session.status.battery).toEqual({ volts: 11.7, spared: true });
  const { vehicle, volts } = await asked(20_000);
  expect(vehicle).toBeGreaterThanOrEqual(8);
  expect(vehicle).toBeLessThanOrEqual(12);
  expect(volts).toBeGreaterThan(50);
  expect(events.length).toBeGreaterThan(100);
  const closing = session.close();
  await clock.run(closing);
});

test("the starter ends it within half a second; armed, it never begins", async () => {
  const { clock, peer, session, asked } = await listening("11.7V");
  await clock.pass(60_000);
  peer.volts = "9.4V";
  peer.modules = [{ ...standing, replies: { ...standing.replies, "010C": "410C0320" } }];
  await clock.pass(500);
  expect(session.status.focus).toBe("cranking");
  expect((await asked(1000)).vehicle).toBeGreaterThan(5);
  peer.volts = "11.7V";
  peer.modules = [standing];
  await clock.pass(120_000);
  expect(session.status.battery).toMatchObject({ spared: true });
  session.arm();
  expect((await asked(5000)).vehicle).toBeGreaterThan(20);
  const closing = session.close();
  await clock.run(closing);
});

test("with the engine running a low voltage is the alternator's affair: nothing is spared", async () => {
  const { clock, peer, session, asked } = await listening("11.5V");
  peer.modules = [idlingModule];
  await clock.pass(90_000);
  expect(session.status.battery).toBeNull();
  expect((await asked(5000)).vehicle).toBeGreaterThan(20);
  const closing = session.close();
  await clock.run(closing);
});

test("ten minutes of sleep are a gap, with no negative time, and the link is back", async () => {
  const { clock, peer, session, events } = await listening("12.6V");
  await clock.pass(5000);
  const sleptAt = clock.now();
  clock.sleep(600_000);
  await clock.pass(5000);
  expect(session.status.link).toBe("listening");
  const links = events.flatMap((e) => (e.k === "link" ? [{ state: e.state, t: e.t, why: e.why ?? "" }] : []));
  const lost = links.findLast((l) => l.state === "lost");
  const back = links.findLast((l) => l.state === "back");
  expect(lost?.why).toBe("the machine slept for 10 min");
  expect((lost?.t ?? 0) - sleptAt).toBeLessThanOrEqual(1000);
  expect((back?.t ?? 0) - (lost?.t ?? 0)).toBeGreaterThan(598_000);
  for (const event of events) {
    expect(event.t).toBeGreaterThanOrEqual(0);
    if (event.k === "x") expect(Math.min(event.first ?? 0, event.end ?? 0)).toBeGreaterThanOrEqual(0);
  }
  // Slept through by the adapter too: it comes back on a line that is gone.
  clock.sleep(600_000);
  await peer.pull();
  await clock.pass(10_000);
  expect(session.status.link).toBe("listening");
  const closing = session.close();
  await clock.run(closing);
  // What the scripted adapter still had to say.
  await clock.pass(100);
  expect(clock.pending).toBe(0);
});
