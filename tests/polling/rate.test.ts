/** A faster serial line: asked for, proven, given up, and found again after all that happens to an adapter. */
import { afterEach, describe, expect, test } from "vitest";
import { attachAdapter, Bench } from "../../adapters/bench/index.ts";
import type { AdapterOptions } from "../../adapters/bench/adapter/front.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { ratedPair } from "../../adapters/link/rated.ts";
import { RateMemory } from "../../adapters/polling/rateMemory.ts";
import { Session } from "../../adapters/polling/session.ts";
import type { AdapterIdentity } from "../../shared/recording/format.ts";
import { CranksideError } from "../../shared/errors.ts";
import { listening, MemorySink, rig, type Rig } from "./support.ts";

let open: { readonly clock: VirtualClock; readonly session: Session }[] = [];
afterEach(async () => {
  for (const { clock, session } of open) await clock.run(session.close());
  open = [];
});

const own = 38_400;

interface OnBench {
  readonly clock: VirtualClock;
  readonly bench: Bench;
  readonly sink: MemorySink;
  readonly session: Session;
}

async function onBench(options: AdapterOptions, rates = new RateMemory(), from = own): Promise<OnBench> {
  const clock = new VirtualClock(undefined, 64);
  const bench = new Bench({ vehicle: "garden-van", clock });
  bench.act({ act: "key", to: "on" });
  const sink = new MemorySink(clock.now());
  const session = new Session({
    open: async (baud) => {
      const [ours, theirs] = ratedPair("serial:bench", "adapter", options.baud ?? from);
      attachAdapter(bench, theirs, clock, { baud: from, ...options });
      if (baud !== undefined) await ours.setBaud?.(baud);
      return ours;
    },
    address: "serial:bench",
    ...{ clock, sink, rates, baud: from },
  });
  open.push({ clock, session });
  await clock.run(session.connect());
  session.start(sink);
  return { clock, bench, sink, session };
}

function adapters(sink: MemorySink): (AdapterIdentity | undefined)[] {
  return sink.links.filter(({ state }) => state === "identified").map(({ adapter }) => adapter);
}

describe("the bench vehicle's adapter", () => {
  test("takes the fastest rate: handshake, test bytes, and the recording says so", async () => {
    const { sink, session, clock } = await onBench({});
    expect(session.status.adapter?.baud).toBe(500_000);
    const asked = sink.asked();
    const at = asked.indexOf("ATBRD08");
    expect(asked.slice(at - 1, at + 10)).toEqual(["ATBRT1C", "ATBRD08", "", ...Array<string>(8).fill("ATI")]);
    expect(sink.exchanges[at]?.lines).toEqual(["OK", "BENCH ADAPTER 1.0"]);
    expect(adapters(sink).map((adapter) => adapter?.baud)).toEqual([own, 500_000]);
    await clock.pass(5000);
    expect(sink.exchanges.every(({ err }) => err === undefined)).toBe(true);
  });

  test("more readings a second than at its own rate", async () => {
    const count = async (rates: RateMemory): Promise<number> => {
      const { sink, clock } = await onBench({}, rates);
      await clock.pass(1000);
      const from = clock.now();
      await clock.pass(5000);
      return sink.asked(from).length;
    };
    const none = new RateMemory();
    for (const baud of [500_000, 230_400, 115_200]) none.fail(baud);
    expect(await count(new RateMemory())).toBeGreaterThan(1.3 * (await count(none)));
  });

  test("is left at its own rate when the session ends", async () => {
    const { sink, session, clock } = await onBench({});
    await clock.pass(500);
    await clock.run(session.close());
    expect(sink.asked().at(-1)).toBe("ATZ");
  });

  test("refuses the command: nothing changes, and it is not asked again", async () => {
    const { sink, session, clock } = await onBench({ rates: "refuses" });
    expect(session.status.adapter?.baud).toBe(own);
    await clock.pass(8000);
    expect(sink.asked().filter((ask) => ask.startsWith("ATBRD"))).toEqual(["ATBRD08", "ATBRD11", "ATBRD23"]);
    expect(session.status.link).toBe("listening");
  });

  test("a clone that claims the rate and garbles: at its own again, not asked any more, and listened to", async () => {
    const { sink, session, clock } = await onBench({ rates: "garbles" });
    expect(session.status.adapter).toMatchObject({
      baud: own,
      refuses: ["500000 baud"],
    });
    await clock.pass(10_000);
    expect(sink.asked().filter((ask) => ask.startsWith("ATBRD"))).toEqual(["ATBRD08"]);
    expect(session.status).toMatchObject({ link: "listening", protocol: "can11-500" });
    expect(session.status.rates.get("engine-speed")).toBeGreaterThan(0);
    // The bare return follows the rate command only.
    const asked = sink.asked();
    asked.forEach((ask, i) => ask === "" && expect(asked[i - 1]).toMatch(/^ATBRD/));
  });

  test("a clone that confirms and loses bytes: the test bytes tell, it is reset, and listened to", async () => {
    const memory = new RateMemory();
    const { sink, session, clock } = await onBench({ rates: "loses" }, memory);
    expect(session.status.adapter?.baud).toBe(own);
    expect(memory.proven).toBe(null);
    await clock.pass(10_000);
    expect(session.status).toMatchObject({ link: "listening", protocol: "can11-500" });
    expect(session.status.rates.get("engine-speed")).toBeGreaterThan(0);
    const polled = sink.exchanges.filter(({ ask, t }) => ask.startsWith("01") && t > clock.now() - 2000);
    expect(polled.every(({ err }) => err === undefined)).toBe(true);
  });

  test("a memory of what was proven spares the trying", async () => {
    const memory = new RateMemory();
    memory.fail(500_000);
    memory.prove(115_200);
    const { sink } = await onBench({}, memory);
    expect(sink.asked().filter((ask) => ask.startsWith("ATBRD"))).toEqual(["ATBRD23"]);
  });

  test("an adapter that is at 115200 by itself is asked for more only", async () => {
    const { sink } = await onBench({ rates: "refuses" }, new RateMemory(), 115_200);
    expect(sink.asked().filter((ask) => ask.startsWith("ATBRD"))).toEqual(["ATBRD08", "ATBRD11"]);
  });
});

test("a line without a rate of its own is not asked", async () => {
  const all = await listening({}, { rates: new RateMemory() });
  open.push(all);
  await all.clock.pass(10_000);
  expect(all.peer.received.filter((command) => command.startsWith("ATBR"))).toEqual([]);
});

/** A scripted adapter that knows the command, with a session that listens at the faster rate. */
async function faster(): Promise<Rig> {
  let peer: Rig["peer"] | null = null;
  const made = rig(
    { baud: own },
    {
      open: (baud) =>
        peer === null
          ? Promise.reject(new CranksideError("port-missing", "gone"))
          : peer.open("serial:x", baud),
      ...{ baud: own, rates: new RateMemory() },
    },
  );
  peer = made.peer;
  open.push(made);
  await made.clock.run(made.session.connect());
  made.session.start(made.sink);
  await made.clock.pass(1005);
  expect(made.session.status.adapter?.baud).toBe(500_000);
  expect(made.peer.rate).toBe(500_000);
  return made;
}

function firstGood(sink: MemorySink, from: number): number {
  const good = sink.exchanges.find(
    (x) => x.t >= from && x.ask.startsWith("01") && x.err === undefined && x.end !== null,
  );
  return good === undefined ? Number.POSITIVE_INFINITY : good.t + (good.end ?? 0);
}

describe("the adapter begins anew while the line is faster", () => {
  test.each([50, 200, 400, 600, 850, 1000])(
    "a dip of %i ms: heard again at its own rate within a quarter of a second, no search",
    async (forMs) => {
      const { clock, peer, sink, session } = await faster();
      const [at, before] = [clock.now(), sink.links.length];
      peer.dip(forMs);
      await clock.pass(3000);
      expect(firstGood(sink, at)).toBeLessThan(at + forMs + 250);
      expect(sink.states.slice(before)).toEqual(["identified", "reset"]);
      expect(peer.log.filter((entry) => entry.at >= at).map(({ command }) => command)).not.toContain("ATSP0");
      expect(session.status).toMatchObject({ link: "listening", adapter: { baud: own } });
      // Left alone for a while, then asked again.
      await clock.pass(5000);
      expect(session.status.adapter?.baud).toBe(500_000);
    },
  );

  test("LV RESET in the middle of a reply", async () => {
    const { clock, peer, sink } = await faster();
    const at = clock.now();
    peer.dip(400, "LV RESET");
    await clock.pass(3000);
    expect(firstGood(sink, at)).toBeLessThan(at + 400 + 250);
    expect(sink.links.some(({ state }) => state === "low-voltage")).toBe(true);
  });

  test("a long dip is a gap, and the adapter is heard at its own rate within a quarter of a second", async () => {
    const { clock, peer, sink, session } = await faster();
    const at = clock.now();
    peer.dip(6000);
    await clock.pass(9000);
    expect(sink.states).toContain("lost");
    expect(sink.states.at(-1)).toBe("back");
    expect(firstGood(sink, at)).toBeLessThan(at + 6000 + 400);
    expect(session.status.link).toBe("listening");
  });

  test("the plug is pulled and put back: the adapter is still at the faster rate, and is found there", async () => {
    const { clock, peer, sink, session } = await faster();
    await peer.pull();
    await clock.pass(3000);
    expect(sink.states.at(-1)).toBe("back");
    expect(session.status).toMatchObject({ link: "listening", adapter: { baud: 500_000 } });
  });

  test("noise now and then on the faster line: it is given up for good, and nothing else is lost", async () => {
    const { clock, peer, sink, session } = await faster();
    for (let i = 0; i < 3; i++) {
      peer.faults.add("garbage");
      await clock.pass(60);
      peer.faults.delete("garbage");
      await clock.pass(3000);
    }
    expect(session.status.link).toBe("listening");
    expect(session.status.adapter).toMatchObject({ baud: own, refuses: ["500000 baud"] });
    expect(sink.links.find(({ state }) => state === "reset")?.why).toContain(
      "bytes were lost at 500000 baud",
    );
    await clock.pass(8000);
    // The next fastest has its chance.
    expect(session.status.adapter?.baud).toBe(230_400);
    expect(sink.states).not.toContain("lost");
  });
});
