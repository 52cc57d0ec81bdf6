import { afterEach, describe, expect, test } from "vitest";
import { Session, type SessionStatus } from "../../adapters/polling/session.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { parseEvent } from "../../shared/recording/parse.ts";
import { eventLine } from "../../shared/recording/format.ts";
import { CranksideError } from "../../shared/errors.ts";
import { engineModule, gearModule } from "../support/peer.ts";
import { listening, MemorySink, rig, type Rig } from "./support.ts";

let open: Rig[] = [];
const kept = async (made: Promise<Rig> | Rig): Promise<Rig> => {
  const all = await made;
  open.push(all);
  return all;
};
afterEach(async () => {
  for (const { clock, session } of open) await clock.run(session.close());
  open = [];
});

describe("connecting", () => {
  test("sets up, finds the protocol, asks each module, and records all of it", async () => {
    const { clock, peer, sink, session } = await kept(rig({ modules: [engineModule, gearModule] }));
    await clock.run(session.connect());
    expect(peer.received).toEqual([
      ...["ATZ", "ATE0", "ATL0", "ATS0", "ATH1", "ATAT1", "ATI", "ATRV"],
      ...["ATSP0", "0100", "ATDPN", "ATSP6", "0100", "0120", "0140"],
    ]);
    expect(sink.asked()).toEqual(peer.received);
    expect(sink.states).toEqual(["opened", "identified", "protocol", "modules"]);
    expect(sink.links.at(-1)?.modules).toEqual({
      "7E8": [1, 3, 4, 5, 6, 7, 11, 12, 13, 14, 15, 16, 17, 18, 19, 21, 28, 31, 32, 51, 64, 66],
      "7E9": [12, 13, 32, 64],
    });
    expect(session.status).toMatchObject({
      link: "paused",
      failure: null,
      protocol: "can11-500",
      adapter: { says: "ELM327 v1.5" },
    });
  });

  test("tells what it does, in words, on the way", async () => {
    const { clock, session } = await kept(rig());
    const words: string[] = [];
    session.onStatus((status) => words.push(`${status.link}: ${status.doing}`));
    await clock.run(session.connect());
    for (const part of ["opening tcp:peer:1", "resetting the adapter", "looking for the vehicle's protocol"])
      expect(words).toContain(`connecting: ${part}`);
    expect(words.at(-1)).toBe("paused: paused");
  });

  test("a port that cannot be opened: its own error, and the session is closed", async () => {
    const missing = new CranksideError("port-missing", "no such port");
    const { clock, session, sink } = rig({}, { open: () => Promise.reject(missing) });
    await expect(clock.run(session.connect())).rejects.toBe(missing);
    expect(session.status).toMatchObject({ link: "closed", failure: { code: "port-missing" } });
    expect(sink.states).toEqual(["closed"]);
    expect(() => session.start(sink)).toThrow(expect.objectContaining({ code: "link-closed" }) as Error);
  });

  test("a silent device: adapter-silent, with the exchanges in the recording", async () => {
    const { clock, session, sink } = rig({ faults: ["silence"] });
    await expect(clock.run(session.connect())).rejects.toMatchObject({ code: "adapter-silent" });
    expect(sink.exchanges.length).toBeGreaterThan(2);
    expect(sink.exchanges.every(({ err }) => err === "silent")).toBe(true);
  });

  test("the baud rate is found first when it is wanted, and kept with the adapter", async () => {
    const clock = new VirtualClock();
    const other = rig();
    const opened: (number | undefined)[] = [];
    const session = new Session({
      open: (baud) => {
        opened.push(baud);
        if (baud !== 115_200) other.peer.faults.add("silence");
        else other.peer.faults.delete("silence");
        return other.peer.open();
      },
      address: "serial:x",
      clock: other.clock,
      sink: other.sink,
      findBaud: true,
    });
    await other.clock.run(session.connect());
    expect(opened).toEqual([38_400, 115_200]);
    expect(session.status.adapter?.baud).toBe(115_200);
    await other.clock.run(session.close());
    expect(clock.pending).toBe(0);
  });
});

describe("polling", () => {
  test("asks what is supported, in one request where the module can, with the count of replies", async () => {
    const { clock, peer, sink } = await kept(listening());
    const from = clock.now();
    await clock.pass(3000);
    const asked = sink.asked(from);
    expect(asked.length).toBeGreaterThan(100);
    expect(asked.every((ask) => ask === "ATRV" || /^01([0-9A-F]{2}){1,6}1$/.test(ask))).toBe(true);
    const pids = new Set(
      asked.filter((ask) => ask !== "ATRV").flatMap((ask) => ask.slice(2, -1).match(/../g) ?? []),
    );
    expect([...pids].sort()).toEqual(
      // Neither bank 2 nor oxygen-b1s1 (14) is on this vehicle's list.
      ["03", "04", "05", "06", "07", "0B", "0C", "0D", "0E", "0F", "10", "11", "33", "42"],
    );
    // The last one is on its way.
    expect(peer.received.slice(-asked.length - 1, -1)).toEqual(asked);
  });

  test("every event is one that a reader accepts, in the order of time", async () => {
    const { clock, sink } = await kept(listening());
    await clock.pass(1000);
    expect(sink.events.length).toBeGreaterThan(50);
    for (const event of sink.events) expect(parseEvent(eventLine(event)).kind).toBe("event");
    const times = sink.exchanges.map(({ t }) => t);
    expect(times).toEqual([...times].sort((a, b) => a - b));
  });

  test("the channels a person picks, and the voltage in between", async () => {
    const { clock, session, sink } = await kept(listening({ refuses: ["several"] }));
    session.setChannels(["engine-speed", "coolant"]);
    await clock.pass(300);
    const from = clock.now();
    await clock.pass(2000);
    expect([...new Set(sink.asked(from))].sort()).toEqual(["01051", "010C1", "ATRV"]);
    session.setChannels([]);
    await clock.pass(4000);
    expect(sink.asked(from)).toContain("010B1");
  });

  test("a channel that no module supports is never asked", async () => {
    const { clock, session, sink } = await kept(listening());
    session.setChannels(["fuel-level"]);
    const from = clock.now() + 100;
    await clock.pass(1000);
    expect(new Set(sink.asked(from))).toEqual(new Set(["ATRV"]));
    // Voltage alone is read at a walking pace.
    expect(sink.asked(from).length).toBeLessThan(30);
  });

  test("two modules: the count is two where both announced it", async () => {
    const { clock, session, sink } = await kept(
      listening({ modules: [engineModule, gearModule], refuses: ["several"] }),
    );
    session.setChannels(["engine-speed", "coolant"]);
    const from = clock.now() + 300;
    await clock.pass(1500);
    expect(new Set(sink.asked(from))).toEqual(new Set(["010C2", "01051", "ATRV"]));
  });

  test("one of two modules dies: after three replies it is not waited for any more", async () => {
    const { clock, peer, session, sink } = await kept(listening({ modules: [engineModule, gearModule] }));
    session.setChannels(["engine-speed"]);
    await clock.pass(1000);
    peer.modules = [engineModule];
    await clock.pass(1000);
    const from = clock.now();
    await clock.pass(2000);
    const slow = sink.exchanges.filter(({ t, end, ask }) => t >= from && ask !== "ATRV" && (end ?? 0) > 50);
    expect(slow.length).toBeLessThanOrEqual(1);
    peer.modules = [engineModule, gearModule];
    await clock.pass(12_000);
    expect(sink.asked(clock.now() - 500)).toContain("010C2");
  });

  test("an adapter that refuses the count is asked without, and that is noted", async () => {
    const { clock, session, sink } = await kept(listening({ refuses: ["count"] }));
    await clock.pass(3000);
    const from = clock.now();
    await clock.pass(2000);
    expect(sink.asked(from).every((ask) => ask === "ATRV" || ask.length % 2 === 0)).toBe(true);
    expect(session.status.adapter?.refuses).toEqual(["reply count"]);
  });

  test("a module that takes one parameter at a time gets one at a time", async () => {
    const { clock, sink } = await kept(listening({ refuses: ["several"] }));
    await clock.pass(3000);
    const from = clock.now();
    await clock.pass(2000);
    expect(sink.asked(from).every((ask) => ask === "ATRV" || ask.length === 5)).toBe(true);
    const answered = sink.exchanges.filter(({ t, err }) => t >= from && err === undefined);
    expect(answered).toHaveLength(sink.asked(from).length);
  });

  test("7F xx 78: the answer that follows is waited for", async () => {
    const { clock, peer, sink, session } = await kept(listening({ faults: ["pending"] }));
    session.setChannels(["engine-speed"]);
    await clock.pass(2000);
    const from = clock.now();
    await clock.pass(1000);
    expect(new Set(sink.asked(from))).toEqual(new Set(["010C", "ATRV"]));
    expect(
      sink.exchanges
        .filter(({ t, ask }) => t > from && ask === "010C")
        .every(({ lines }) => lines.length === 2),
    ).toBe(true);
    expect(peer.faults.has("pending")).toBe(true);
  });

  test("the rates are told by channel", async () => {
    const { clock, session } = await kept(listening());
    session.setChannels(["engine-speed"]);
    await clock.pass(5000);
    // One request takes 10 ms here, the voltage 2 ms.
    expect(session.status.rates.get("engine-speed")).toBeGreaterThan(50);
    expect(session.status.rates.get("socket-voltage")).toBeGreaterThan(5);
  });

  test("cranking is noticed by itself: the speed gets every request", async () => {
    const { clock, peer, session, sink } = await kept(listening({ refuses: ["several"] }));
    await clock.pass(4000);
    expect(session.status.focus).toBe("survey");
    peer.volts = "10.4V";
    const from = clock.now();
    await clock.pass(1000);
    expect(session.status.focus).toBe("cranking");
    const bus = sink.asked(from + 200).filter((ask) => ask !== "ATRV");
    expect(bus.filter((ask) => ask === "010C1").length).toBeGreaterThanOrEqual(bus.length / 2);
  });
});

describe("recordings stand alone", () => {
  test("pause stops after the running exchange; nothing is recorded or sent any more", async () => {
    const { clock, peer, session, sink } = await kept(listening());
    await clock.pass(505);
    await clock.run(session.pause());
    const [events, sent] = [sink.events.length, peer.received.length];
    expect(sink.exchanges.at(-1)?.end).toBeTypeOf("number");
    await clock.pass(5000);
    expect(sink.events).toHaveLength(events);
    expect(peer.received).toHaveLength(sent);
    expect(session.status).toMatchObject({ link: "paused" });
  });

  test("a new one is told adapter, protocol and modules first, and nothing is set up again", async () => {
    const { clock, peer, session } = await kept(listening());
    await clock.run(session.pause());
    await clock.pass(60_000);
    const sent = peer.received.length;
    const next = new MemorySink(clock.now());
    session.start(next);
    await clock.pass(200);
    expect(next.states).toEqual(["identified", "protocol", "modules"]);
    expect(next.events.map(({ t }) => t).slice(0, 4)).toEqual([0, 0, 0, 0]);
    expect(peer.received.slice(sent).every((command) => command === "ATRV" || command.startsWith("01"))).toBe(
      true,
    );
    expect(session.status.link).toBe("listening");
  });

  test("a recording may change while polling goes on: each exchange is in exactly one", async () => {
    const { clock, peer, session, sink } = await kept(listening());
    await clock.pass(300);
    const next = new MemorySink(clock.now());
    session.start(next);
    await clock.pass(300);
    expect(sink.exchanges.length + next.exchanges.length).toBe(
      peer.received.length - (peer.received.at(-1) === next.exchanges.at(-1)?.ask ? 0 : 1),
    );
    expect(next.exchanges.length).toBeGreaterThan(5);
  });
});

describe("everything settles", () => {
  test("closing while connecting rejects with link-closed", async () => {
    const { clock, session } = rig();
    const outcome = session.connect().catch((error: unknown) => error);
    await clock.pass(300);
    await clock.run(session.close());
    expect(await outcome).toMatchObject({ code: "link-closed" });
    expect(clock.pending).toBeLessThanOrEqual(1); // the peer's own reset
  });

  test("closing while the port never opens", async () => {
    const { clock, session } = rig({}, { open: () => new Promise(() => undefined) });
    const outcome = session.connect().catch((error: unknown) => error);
    await clock.pass(300);
    await clock.run(session.close());
    expect(await outcome).toMatchObject({ code: "link-closed" });
  });

  test("closing before connecting", async () => {
    const { clock, session, peer } = rig();
    await clock.run(session.close());
    await expect(clock.run(session.connect())).rejects.toMatchObject({ code: "link-closed" });
    expect(peer.opened).toBe(0);
  });

  test("closing while polling ends with the link event, and again is no harm", async () => {
    const { clock, session, sink } = await listening();
    await clock.pass(100);
    await clock.run(session.close());
    expect(sink.states.at(-1)).toBe("closed");
    expect(session.status.link).toBe("closed");
    await clock.run(session.close());
    await expect(clock.run(session.survey())).rejects.toMatchObject({ code: "link-closed" });
    expect(() => session.start(sink)).toThrow(CranksideError);
  });

  test("closing rejects a survey that runs and one that waits", async () => {
    const { clock, session } = await listening();
    const outcomes = Promise.allSettled([session.survey(), session.survey()]);
    await clock.pass(200);
    await clock.run(session.close());
    for (const outcome of await outcomes)
      expect(outcome).toMatchObject({ status: "rejected", reason: { code: "link-closed" } });
  });

  test("a status listener can let go", async () => {
    const { clock, session } = await kept(rig());
    const seen: SessionStatus[] = [];
    const release = session.onStatus((status) => seen.push(status));
    release();
    await clock.run(session.connect());
    expect(seen).toHaveLength(1);
  });
});
