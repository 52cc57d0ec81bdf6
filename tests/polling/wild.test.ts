/** What adapters and vehicles have been met to do once they are polled. */
import { afterEach, describe, expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { Expectations } from "../../adapters/polling/expect.ts";
import { hear } from "../../adapters/polling/heard.ts";
import { Session, type SessionOptions } from "../../adapters/polling/session.ts";
import { Reading } from "../../src/reading/index.ts";
import { engineModule, Peer } from "../support/peer.ts";
import { goodAdapter, goodVehicle, Scripted, type Said } from "../support/scripted.ts";
import { MemorySink } from "./support.ts";

const ending: (() => Promise<void>)[] = [];
afterEach(async () => {
  for (const end of ending.splice(0)) await end();
});

interface Rig {
  readonly clock: VirtualClock;
  readonly sink: MemorySink;
  readonly session: Session;
  /** Requests to the vehicle from now on for so long. */
  readonly asks: (ms: number) => Promise<string[]>;
}

async function listening(
  clock: VirtualClock,
  line: Pick<SessionOptions, "open"> & Partial<SessionOptions>,
): Promise<Rig> {
  const sink = new MemorySink(clock.now());
  const session = new Session({ address: "tcp:x:1", clock, sink, ...line });
  await clock.run(session.connect());
  session.start(sink);
  ending.push(() => clock.run(session.close()));
  const asks = async (ms: number): Promise<string[]> => {
    const from = clock.now();
    await clock.pass(ms);
    return sink.asked(from).filter((ask) => !ask.startsWith("AT"));
  };
  return { clock, sink, session, asks };
}

type Says = (command: string, at: number) => string | Said | undefined;

async function scripted(odd: Says): Promise<Rig & { readonly adapter: Scripted }> {
  const clock = new VirtualClock();
  const adapter = new Scripted(
    clock,
    (command, at) => odd(command, at) ?? goodAdapter(command) ?? goodVehicle(command),
  );
  return { adapter, ...(await listening(clock, { open: () => adapter.open() })) };
}

/** Values of a channel, as whoever opens the recording reads them; each once. */
function valuesOf(sink: MemorySink, channel: string): number[] {
  const reading = new Reading("test");
  for (const event of sink.events) reading.event(event);
  const values = new Set<number>();
  for (const series of reading.channels.all())
    if (series.channel === channel)
      for (const value of series.values) if (!Number.isNaN(value)) values.add(value);
  return [...values];
}

/** Parameters in one request. */
const several = (ask: string): number => Math.floor((ask.length - 2) / 2);

describe("several parameters in one request are refused with 7F 01 12", () => {
  test.each([1, 2, 3, 4, 5])("above %i: the request shrinks, and all is read on", async (most) => {
    const clock = new VirtualClock();
    const peer = new Peer({ clock, modules: [engineModule], mostParameters: most });
    const { asks, session, sink } = await listening(clock, { open: () => peer.open() });
    await clock.pass(2000);
    const asked = await asks(4000);
    expect(Math.max(...asked.map(several))).toBeLessThanOrEqual(most);
    if (most > 1) expect(Math.max(...asked.map(several))).toBeGreaterThan(1);
    for (const pid of ["05", "0B", "0C", "0D", "11", "33"])
      expect(
        asked.some((ask) =>
          ask
            .slice(2)
            .match(/../g)
            ?.some((two) => two === pid),
        ),
      ).toBe(true);
    expect(session.status.doing).toBe("listening");
    expect(sink.notices.filter((notice) => notice.includes("does not answer"))).toEqual([]);
  });

  test("by one of two modules: it alone is asked for less", () => {
    const modules = new Map([
      ["7E8", new Set([0x0b, 0x0c, 0x05])],
      ["7E9", new Set([0x0c, 0x0d])],
    ]);
    const expects = new Expectations(modules);
    const asked = [0x0b, 0x0c];
    expects.learn(asked, 2, hear(["7E806410B650C1AF8", "7E9037F0112"], asked, "can11-500"), 0);
    const { mayShare } = expects.means("can11-500");
    expect([0x0b, 0x05].map(mayShare)).toEqual([true, true]);
    expect([0x0c, 0x0d].map(mayShare)).toEqual([false, false]);
  });
});

describe("maps that lie", () => {
  test("a parameter that is announced and never comes neither spoils the others nor is asked for ever", async () => {
    const clock = new VirtualClock();
    const replies = Object.fromEntries(
      Object.entries(engineModule.replies).filter(([ask]) => ask !== "010B" && ask !== "0111"),
    );
    const peer = new Peer({ clock, modules: [{ ...engineModule, replies }] });
    const { asks, session } = await listening(clock, { open: () => peer.open() });
    await clock.pass(8000);
    const asked = await asks(9000);
    const pids = asked.map((ask): readonly string[] => ask.slice(2).match(/../g) ?? []);
    expect(Math.max(...pids.map((list) => list.length))).toBeGreaterThan(2);
    for (const absent of ["0B", "11"]) {
      const of = pids.filter((list) => list.includes(absent));
      expect(of.length).toBeLessThanOrEqual(2);
      expect(of.every((list) => list.length === 1)).toBe(true);
    }
    expect(session.status.doing).toBe("listening");
  });

  test("one that is refused (7F 01 12) likewise", async () => {
    const clock = new VirtualClock();
    const replies = { ...engineModule.replies, "010B": "7F0112", "0111": "7F0112", "010F": "7F0112" };
    const peer = new Peer({ clock, protocol: 3, modules: [{ ...engineModule, address: "10", replies }] });
    const { asks, session, sink } = await listening(clock, { open: () => peer.open() });
    await clock.pass(20_000);
    const asked = await asks(9000);
    expect(asked.filter((ask) => /^01(0B|11|0F)/.test(ask)).length).toBeLessThanOrEqual(4);
    expect(session.status.doing).toBe("listening");
    expect(sink.notices.filter((notice) => notice.includes("does not answer"))).toEqual([]);
  });

  test("what no engine is without is read though no map announces it, and what else is usual with it", async () => {
    const clock = new VirtualClock();
    // Announced: 01 and 1C alone.
    const peer = new Peer({
      clock,
      modules: [{ ...engineModule, replies: { ...engineModule.replies, "0100": "410080000010" } }],
    });
    const { asks, session } = await listening(clock, { open: () => peer.open() });
    expect([...(session.status.modules.get("7E8") ?? [])]).toEqual(
      expect.arrayContaining([0x0b, 0x0c, 0x05, 0x11]),
    );
    const asked = await asks(3000);
    expect(asked.some((ask) => ask.includes("0C"))).toBe(true);
  });

  test("a map without anything in it", async () => {
    const clock = new VirtualClock();
    const replies = { "0100": "410000000000", "010C": "410C0C80", "0105": "41057B" };
    const peer = new Peer({ clock, modules: [{ address: "7E8", replies }] });
    const { asks } = await listening(clock, { open: () => peer.open() });
    expect((await asks(2000)).some((ask) => ask.includes("0C"))).toBe(true);
  });

  test("where the maps hold what every engine has, nothing beside them is asked", async () => {
    const clock = new VirtualClock();
    const peer = new Peer({ clock, modules: [engineModule] });
    await listening(clock, { open: () => peer.open() });
    expect(peer.received.filter((command) => command.startsWith("01"))).toEqual([
      "0100",
      "0100",
      "0120",
      "0140",
    ]);
  });
});

describe("words of the adapter", () => {
  test.each(["FC RX TIMEOUT", "OUT OF MEMORY", "VENDOR OPTION", "010C1OUT OF MEMORY"])(
    "%s now and then: no value, no harm",
    async (word) => {
      let count = 0;
      const { asks, session, sink } = await scripted((command) =>
        /^01(?!00)/.test(command) && (count += 1) % 4 === 0 ? word : undefined,
      );
      expect((await asks(3000)).length).toBeGreaterThan(50);
      expect(session.status.doing).toBe("listening");
      expect(
        sink.exchanges.filter(({ err }) => err !== undefined && word.endsWith(err)).length,
      ).toBeGreaterThan(5);
      expect(valuesOf(sink, "engine-speed")).toEqual([1726]);
    },
  );

  test("ERR94: the settings are put back, without a search", async () => {
    let at = -1;
    const { adapter, clock, session, sink } = await scripted((command) =>
      /^010C/.test(command) && (at += 1) === 5 ? "ERR94" : undefined,
    );
    await clock.pass(2000);
    const { received } = adapter;
    expect(received.filter((command) => command === "ATH1")).toHaveLength(2);
    expect(received.filter((command) => command === "ATSP0")).toHaveLength(1);
    expect(sink.links.find(({ state }) => state === "reset")?.why).toContain("ERR94");
    expect(session.status.doing).toBe("listening");
  });

  test("ACT ALERT between and inside replies costs nothing", async () => {
    let count = 0;
    const { adapter, asks, session } = await scripted((command) =>
      /^01(?!00)/.test(command) && (count += 1) % 3 === 0 ? `ACT ALERT\r${goodVehicle(command)}` : undefined,
    );
    adapter.say("ACT ALERT\r");
    expect((await asks(2000)).length).toBeGreaterThan(50);
    expect(session.status.doing).toBe("listening");
  });
});

test("a name on restarting that is not the name on asking: a reset by itself is noticed by either", async () => {
  let at = 0;
  const { adapter, clock, sink, session } = await scripted((command) => {
    if (command === "ATI") return "ELM327 v2.1";
    if (/^01(?!00)/.test(command) && (at += 1) === 20) return "\r\rSCANNER A1";
    return command === "ATZ" ? "SCANNER A1" : undefined;
  });
  expect(sink.notices.join()).toContain('"SCANNER A1" on restarting');
  await clock.pass(3000);
  expect(adapter.received.filter((command) => command === "ATH1")).toHaveLength(2);
  expect(sink.states).toContain("reset");
  expect(session.status.doing).toBe("listening");
});

test("an adapter that repeats UNABLE TO CONNECT for five seconds is left alone so long, and the key is noticed", async () => {
  let until = 0;
  let keyOn = false;
  const failure = (at: number, afterMs: number): Said => {
    until = at + afterMs + 5000;
    return { text: "UNABLE TO CONNECT\r\r>", afterMs };
  };
  const { clock, session } = await scripted((command, at) => {
    if (command.startsWith("AT")) return undefined;
    if (at < until) return failure(at, 5);
    return keyOn ? undefined : failure(at, 300);
  });
  await clock.pass(12_000);
  expect(session.status.protocol).toBeNull();
  keyOn = true;
  await clock.pass(40_000);
  expect(session.status.protocol).toBe("can11-500");
});

test("a choice of protocol that is always refused: the adapter is asked as it stands, at once and later", async () => {
  let keyOn = false;
  const { clock, session } = await scripted((command) => {
    if (command.startsWith("ATSP")) return "?";
    return command.startsWith("AT") || keyOn ? undefined : { text: "NO DATA\r\r>", afterMs: 120 };
  });
  expect(session.status.protocol).toBeNull();
  keyOn = true;
  await clock.pass(10_000);
  expect(session.status.protocol).toBe("can11-500");
});

test("a reply to nobody's question inside another: the asked values are read, the other is not, and nothing slips", async () => {
  let count = 0;
  const { asks, sink, session } = await scripted((command) => {
    if (!/^01(?!00)/.test(command) || (count += 1) % 3 !== 0) return undefined;
    return `7E80641009999999900\r${goodVehicle(command)}\r7E803410D63`;
  });
  expect((await asks(4000)).length).toBeGreaterThan(30);
  expect(valuesOf(sink, "engine-speed")).toEqual([1726]);
  expect(valuesOf(sink, "coolant")).toEqual([83]);
  expect(valuesOf(sink, "vehicle-speed")).toEqual([]);
  expect(session.status.doing).toBe("listening");
});

describe("one right baud rate today and another tomorrow", () => {
  const bauds: number[] = [];
  const line = (clock: VirtualClock) => {
    let rate = 38_400;
    const adapter = new Scripted(clock, (command) => goodAdapter(command) ?? goodVehicle(command));
    return {
      turn: (to: number) => (rate = to),
      drop: () => adapter.drop(),
      open: async (baud?: number) => {
        bauds.push(baud ?? 0);
        const deaf = new Scripted(clock, () => ({ text: "\xc3\x91\x05\xf8" }));
        return baud === rate ? adapter.open() : deaf.open();
      },
    };
  };

  test("between two sessions: the rate is looked for each time", async () => {
    const clock = new VirtualClock();
    const { open, turn } = line(clock);
    const first = await listening(clock, { open, findBaud: true });
    expect(first.session.status.adapter?.baud).toBe(38_400);
    await clock.run(first.session.close());
    turn(9600);
    const second = await listening(clock, { open, findBaud: true });
    expect(second.session.status.adapter?.baud).toBe(9600);
  });

  test("while the line was away: looked for anew, and readings go on", async () => {
    const clock = new VirtualClock();
    const { open, turn, drop } = line(clock);
    const { session, sink, asks } = await listening(clock, { open, findBaud: true });
    turn(115_200);
    await drop();
    await clock.pass(60_000);
    expect(session.status.adapter?.baud).toBe(115_200);
    expect(sink.states).toContain("back");
    expect((await asks(2000)).length).toBeGreaterThan(20);
  });
});
