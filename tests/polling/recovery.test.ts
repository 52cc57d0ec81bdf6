/** What goes wrong beside a real vehicle, by name; each asserts on what the peer received and what was recorded. */
import { afterEach, describe, expect, test } from "vitest";
import { CranksideError } from "../../shared/errors.ts";
import { engineModule, type PeerFault } from "../support/peer.ts";
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

/** Time of the first good answer to a request for parameters at or after `t`. */
function firstGood(sink: MemorySink, from: number): number {
  const good = sink.exchanges.find(
    (x) => x.t >= from && x.ask.startsWith("01") && x.err === undefined && x.end !== null,
  );
  return good === undefined ? Number.POSITIVE_INFINITY : good.t + (good.end ?? 0);
}

describe("supply dips", () => {
  test("the adapter begins anew in the middle of an exchange: settings again, no search", async () => {
    const { clock, peer, sink } = await kept(listening());
    await clock.pass(1005);
    const at = clock.now();
    peer.dip(600);
    await clock.pass(3000);
    expect(sink.states.slice(4)).toEqual(["reset"]);
    const sent = peer.log.filter((entry) => entry.at >= at).map((entry) => entry.command);
    expect(sent.slice(0, 7)).toEqual([
      "ATE0",
      "ATL0",
      "ATS0",
      "ATH1",
      "ATAT1",
      "ATSP6",
      expect.stringMatching(/^01/),
    ]);
    expect(sent).not.toContain("ATSP0");
    expect(sent).not.toContain("ATZ");
    // The adapter's own restart, then at most a quarter of a second.
    expect(firstGood(sink, at)).toBeLessThan(at + 600 + 250);
    expect(sink.exchanges.some(({ err }) => err === "reset")).toBe(true);
    expect(peer.set).toMatchObject({ echo: false, headers: true, protocol: 6 });
  });

  test("LV RESET in the middle of a reply is low voltage in the recording", async () => {
    const { clock, peer, sink } = await kept(listening());
    await clock.pass(1005);
    const at = clock.now();
    peer.dip(400, "LV RESET");
    await clock.pass(2000);
    expect(sink.states.slice(4)).toEqual(["low-voltage"]);
    expect(sink.links[4]?.why).toContain("LV RESET");
    const broken = sink.exchanges.find(({ err }) => err === "LV RESET");
    expect(broken?.lines).toContain("41 0C");
    expect(firstGood(sink, at)).toBeLessThan(at + 400 + 250);
  });

  test("a clone with a name of its own is known again by that name", async () => {
    const { clock, peer, sink } = await kept(listening({ identity: "OBDII v9.9 super" }));
    await clock.pass(1005);
    peer.dip(300);
    await clock.pass(2000);
    expect(sink.states.slice(4)).toEqual(["reset"]);
    expect(peer.set.headers).toBe(true);
  });

  test("three dips during one crank", async () => {
    const { clock, peer, sink } = await kept(listening());
    await clock.pass(1005);
    for (let i = 0; i < 3; i++) {
      peer.dip(200);
      await clock.pass(350);
    }
    const at = clock.now();
    await clock.pass(2000);
    expect(sink.states.slice(4).every((state) => state === "reset")).toBe(true);
    expect(firstGood(sink, at)).toBeLessThan(at + 500);
    expect(peer.set).toMatchObject({ echo: false, headers: true, protocol: 6 });
  });

  test("a long dip: silence, then the name; what was missed is a gap with its cause", async () => {
    const { clock, peer, sink, session } = await kept(listening());
    await clock.pass(1005);
    const at = clock.now();
    peer.dip(7000);
    await clock.pass(6900);
    expect(session.status).toMatchObject({ link: "lost" });
    await clock.pass(3000);
    expect(sink.states.slice(4, 6)).toEqual(["lost", "back"]);
    expect(firstGood(sink, at)).toBeLessThan(at + 7000 + 250);
    expect(session.status).toMatchObject({ link: "listening", failure: null });
    expect(peer.opened).toBe(1);
  });
});

describe("the vehicle falls silent, the adapter does not", () => {
  test.each([1, 5, 60])("for %i s", async (seconds) => {
    const { clock, peer, sink, session } = await kept(listening());
    await clock.pass(1000);
    const at = clock.now();
    peer.faults.add("unplugged");
    await clock.pass(seconds * 1000);
    const back = clock.now();
    // The voltage goes on all the while.
    const volts = sink.exchanges.filter(
      (x) => x.t > at && x.t < back && x.ask === "ATRV" && x.err === undefined,
    );
    expect(volts.length).toBeGreaterThan(seconds * 3);
    expect(sink.exchanges.filter((x) => x.t > at && x.ask !== "ATRV").every((x) => x.err === "NO DATA")).toBe(
      true,
    );
    peer.faults.delete("unplugged");
    await clock.pass(2000);
    expect(firstGood(sink, back)).toBeLessThan(back + 350);
    expect(sink.notices).toEqual(["the vehicle does not answer: NO DATA", "the vehicle answers again"]);
    expect(sink.states.slice(4)).toEqual([]);
    expect(session.status.link).toBe("listening");
    const sent = peer.log.filter((entry) => entry.at >= at).map((entry) => entry.command);
    expect(sent.every((command) => command === "ATRV" || command.startsWith("01"))).toBe(true);
  });

  test("a bus error is told as such", async () => {
    const { clock, peer, sink } = await kept(listening());
    peer.faults.add("bus-error");
    await clock.pass(2000);
    expect(sink.notices).toEqual(["the vehicle does not answer: BUS ERROR"]);
  });

  test("one that never answered: connected, voltage read, asked again, and found when the key is turned", async () => {
    const all = await kept(rig({ faults: ["unplugged"] }));
    const { clock, peer, sink, session } = all;
    await clock.run(session.connect());
    expect(session.status).toMatchObject({ link: "paused", failure: { code: "no-vehicle" }, protocol: null });
    await expect(clock.run(session.survey())).rejects.toMatchObject({ code: "no-vehicle" });
    session.start(sink);
    const from = clock.now();
    await clock.pass(20_000);
    const asked = sink.asked(from);
    expect(asked.filter((ask) => ask === "ATRV").length).toBeGreaterThan(60);
    expect(asked.filter((ask) => ask === "0100").length).toBeGreaterThan(9);
    // All nine protocols have had their turn, and no search blocks the voltage for long.
    expect(new Set(asked.filter((ask) => /^ATSP[1-9]$/.test(ask))).size).toBe(9);
    const times = sink.exchanges.filter((x) => x.ask === "ATRV" && x.t > from).map(({ t }) => t);
    expect(Math.max(...times.slice(1).map((t, i) => t - (times[i] ?? 0)))).toBeLessThan(1000);
    peer.faults.delete("unplugged");
    const keyOn = clock.now();
    await clock.pass(12_000);
    expect(firstGood(sink, keyOn)).toBeLessThan(keyOn + 10_000);
    expect(sink.states).toEqual(["opened", "identified", "protocol", "modules"]);
    expect(session.status).toMatchObject({ link: "listening", failure: null, protocol: "can11-500" });
  });
});

describe("the line goes away", () => {
  test("plug pulled and put back: lost, tried again at growing distances, back, without a search", async () => {
    let plugged = true;
    const all = await kept(
      rig(
        {},
        {
          open: () =>
            plugged ? all.peer.open() : Promise.reject(new CranksideError("port-missing", "no such port")),
        },
      ),
    );
    const { clock, peer, sink, session } = all;
    await clock.run(session.connect());
    session.start(sink);
    await clock.pass(1000);
    plugged = false;
    await peer.pull();
    const at = clock.now();
    await clock.pass(10_000);
    expect(session.status).toMatchObject({ link: "lost", failure: { code: "port-missing" } });
    plugged = true;
    const back = clock.now();
    await clock.pass(5000);
    expect(sink.states.slice(4)).toEqual(["lost", "opened", "back"]);
    expect(sink.links[4]?.why).toContain("closed");
    const sent = peer.log.filter((entry) => entry.at > at + 10).map((entry) => entry.command);
    expect(sent.slice(0, 9)).toEqual([
      "ATWS",
      "ATE0",
      "ATL0",
      "ATS0",
      "ATH1",
      "ATAT1",
      "ATI",
      "ATRV",
      "ATSP6",
    ]);
    expect(sent).not.toContain("ATSP0");
    expect(firstGood(sink, back)).toBeLessThan(back + 2000 + 400);
    expect(session.status).toMatchObject({ link: "listening", failure: null });
  });

  test("the exchange that was running is in the recording as closed", async () => {
    const { clock, peer, sink } = await kept(listening());
    await clock.pass(1005);
    await peer.pull();
    await clock.pass(50);
    expect(sink.exchanges.at(-1)).toMatchObject({ err: "closed", end: null });
  });

  test("while it is lost a recording can end and another begin, which says so", async () => {
    const all = await kept(
      rig(
        {},
        {
          open: () =>
            all.peer.opened === 0
              ? all.peer.open()
              : Promise.reject(new CranksideError("port-missing", "gone")),
        },
      ),
    );
    const { clock, peer, session, sink } = all;
    await clock.run(session.connect());
    session.start(sink);
    await clock.pass(500);
    await peer.pull();
    await clock.pass(3100);
    const paused = session.pause();
    await clock.run(paused, 100);
    const next = new MemorySink(clock.now());
    session.start(next);
    await clock.pass(100);
    expect(next.states).toEqual(["identified", "protocol", "modules", "lost"]);
    expect(session.status.link).toBe("lost");
  });

  test("closing while it is lost settles at once", async () => {
    const all = rig(
      {},
      { open: () => (all.peer.opened === 0 ? all.peer.open() : new Promise(() => undefined)) },
    );
    const { clock, peer, session, sink } = all;
    await clock.run(session.connect());
    session.start(sink);
    await clock.pass(500);
    await peer.pull();
    await clock.pass(3100);
    const survey = session.survey().catch((error: unknown) => error);
    await clock.run(session.close(), 10);
    expect(await survey).toMatchObject({ code: "link-closed" });
  });

  test("while it is lost nothing spins: a handful of tries in a minute", async () => {
    let tries = 0;
    const all = await kept(
      rig(
        {},
        {
          open: () => {
            tries += 1;
            return all.peer.opened === 0
              ? all.peer.open()
              : Promise.reject(new CranksideError("port-missing", "gone"));
          },
        },
      ),
    );
    await all.clock.run(all.session.connect());
    await all.clock.pass(100);
    await all.peer.pull();
    await all.clock.pass(60_000);
    expect(tries).toBeGreaterThan(20);
    expect(tries).toBeLessThan(40);
  });
});

describe("a difficult adapter is listened to all the same", () => {
  const stubborn: readonly (readonly [string, readonly PeerFault[]])[] = [
    ["echo that will not go off", ["echo"]],
    ["spaces and linefeeds that stay on", ["spaces", "linefeeds"]],
    ["bytes one by one", ["split"]],
    ["slow", ["slow"]],
    ["all of it", ["echo", "spaces", "linefeeds", "split"]],
  ];
  test.each(stubborn)("%s", async (_, faults) => {
    const { clock, sink, session } = await kept(listening({ faults }));
    await clock.pass(4000);
    const from = clock.now();
    await clock.pass(8000);
    expect(session.status).toMatchObject({ link: "listening", protocol: "can11-500" });
    const speed = sink.exchanges.filter((x) => x.t > from && x.ask.includes("0C") && x.end !== null);
    expect(speed.length).toBeGreaterThan(4);
    expect(session.status.rates.get("engine-speed")).toBeGreaterThan(0);
  });

  test("a clone that refuses half of the commands", async () => {
    const refuses = ["ATS0", "ATL0", "ATAT1", "ATSP0", "ATWS", "count", "several"];
    const { clock, sink, session } = await kept(listening({ refuses }));
    await clock.pass(3000);
    expect(session.status.adapter?.refuses).toEqual(
      expect.arrayContaining(["ATS0", "ATL0", "ATAT1", "ATSP0", "reply count"]),
    );
    expect(session.status.rates.get("engine-speed")).toBeGreaterThan(0);
    expect(sink.exchanges.at(-1)?.err).toBeUndefined();
  });

  test("an adapter that does not tell the voltage is not asked for it", async () => {
    const { clock, sink } = await kept(listening({ refuses: ["ATRV"] }));
    const from = clock.now();
    await clock.pass(1000);
    expect(sink.asked(from)).not.toContain("ATRV");
  });

  test("every reply twice: they are not shifted against the questions for long", async () => {
    const { clock, peer, sink } = await kept(listening({ refuses: ["several"] }));
    await clock.pass(1000);
    peer.faults.add("doubled");
    await clock.pass(1000);
    peer.faults.delete("doubled");
    await clock.pass(500);
    const from = clock.now();
    await clock.pass(2000);
    for (const { ask, lines } of sink.exchanges.filter((x) => x.t >= from && x.ask !== "ATRV")) {
      expect(lines[0]?.slice(7, 9), ask).toBe(ask.slice(2, 4));
    }
  });

  test("noise before each reply for a while: not believed, and over when it is over", async () => {
    const { clock, peer, sink, session } = await kept(listening());
    await clock.pass(1000);
    peer.faults.add("garbage");
    await clock.pass(3000);
    expect(session.status.rates.get("engine-speed") ?? 0).toBe(0);
    peer.faults.delete("garbage");
    const from = clock.now();
    await clock.pass(2000);
    expect(firstGood(sink, from)).toBeLessThan(from + 500);
    expect(session.status.rates.get("engine-speed")).toBeGreaterThan(0);
  });

  test("buffer full: the reply is cut, the next goes on", async () => {
    const { clock, peer, sink, session } = await kept(listening());
    peer.faults.add("buffer-full");
    await clock.pass(1000);
    expect(sink.exchanges.some(({ err }) => err === "BUFFER FULL")).toBe(true);
    peer.faults.delete("buffer-full");
    const from = clock.now();
    await clock.pass(1000);
    expect(firstGood(sink, from)).toBeLessThan(from + 200);
    expect(session.status.link).toBe("listening");
  });

  test("replies cut in the middle are not believed", async () => {
    const { clock, peer, sink, session } = await kept(listening());
    await clock.pass(1000);
    peer.faults.add("cut-reply");
    await clock.pass(3000);
    expect(session.status.rates.get("engine-speed") ?? 0).toBe(0);
    peer.faults.delete("cut-reply");
    const from = clock.now();
    await clock.pass(2000);
    expect(firstGood(sink, from)).toBeLessThan(from + 500);
  });

  test("bytes lost: what is damaged is not believed, and it goes on", async () => {
    const { clock, peer, sink, session } = await kept(listening({ refuses: ["several"] }));
    await clock.pass(1000);
    const from = clock.now();
    peer.faults.add("lossy");
    await clock.pass(10_000);
    peer.faults.delete("lossy");
    const during = sink.exchanges.filter((x) => x.t >= from);
    expect(during.some((x) => x.err === "cut")).toBe(true);
    const whole = during.filter((x) => x.ask === "010C1" && x.lines.includes("7E804410C0000"));
    expect(whole.length).toBeGreaterThan(0);
    const after = clock.now();
    await clock.pass(3000);
    expect(firstGood(sink, after)).toBeLessThan(after + 2500);
    expect(session.status.link).toBe("listening");
    // A byte may be lost on the way back only: nothing else than before was asked.
    expect(peer.received.every((command) => /^(AT|TRV$|01)/.test(command))).toBe(true);
  });

  test("no prompt any more: lost, called on the same line, and back when it has one", async () => {
    const { clock, peer, sink, session } = await kept(listening());
    await clock.pass(1000);
    peer.faults.add("no-prompt");
    await clock.pass(7000);
    expect(session.status).toMatchObject({ link: "lost" });
    peer.faults.delete("no-prompt");
    await clock.pass(3000);
    expect(sink.states.slice(4)).toEqual(["lost", "back"]);
    expect(session.status.link).toBe("listening");
  });

  test("one that comes back on the same line without its settings gets them again before it counts as back", async () => {
    const { clock, peer, sink, session } = await kept(listening());
    await clock.pass(1000);
    peer.faults.add("no-prompt");
    await clock.pass(7000);
    expect(session.status).toMatchObject({ link: "lost" });
    // It tells nobody that it began anew.
    Object.assign(peer.set, { headers: false, spaces: true, protocol: 0 });
    const at = clock.now();
    peer.faults.delete("no-prompt");
    await clock.pass(3000);
    expect(sink.states.slice(4)).toEqual(["lost", "back"]);
    expect(peer.set).toMatchObject({ echo: false, headers: true, spaces: false, protocol: 6 });
    const sent = peer.log.filter((entry) => entry.at >= at).map((entry) => entry.command);
    const asked = sent.findIndex((command) => command.startsWith("01"));
    expect(asked).toBeGreaterThan(0);
    expect(sent.slice(0, asked)).toContain("ATH1");
  });

  test("silent for good: after calling, the line is opened anew", async () => {
    const { clock, peer, sink, session } = await kept(listening());
    await clock.pass(1000);
    peer.faults.add("silence");
    await clock.pass(30_000);
    expect(peer.opened).toBeGreaterThan(1);
    expect(session.status).toMatchObject({ link: "lost", failure: { code: "adapter-silent" } });
    peer.faults.delete("silence");
    await clock.pass(15_000);
    expect(sink.states.at(-1)).toBe("back");
    expect(session.status.link).toBe("listening");
  });
});

test("whatever happened, the vehicle was asked nothing but what is listed", async () => {
  const { clock, peer } = await kept(listening({ modules: [engineModule] }));
  const faults: PeerFault[] = [
    "echo",
    "split",
    "garbage",
    "doubled",
    "cut-reply",
    "bus-error",
    "unplugged",
    "buffer-full",
    "no-prompt",
    "silence",
  ];
  for (const fault of faults) {
    peer.faults.add(fault);
    await clock.pass(2500);
    peer.faults.delete(fault);
    peer.dip(150);
    await clock.pass(1500);
  }
  const allowed = /^(AT(Z|WS|I|E0|L0|S0|H1|AT1|RV|DPN|SP[0-9])|01([0-9A-F]{2}){1,6}[1-9A-F]?)$/;
  expect(peer.received.length).toBeGreaterThan(500);
  expect(peer.received.filter((command) => !allowed.test(command))).toEqual([]);
});
