/**
 * The session over a real serial line: the library, a pseudo-terminal pair, the bench vehicle's adapter behind it. A
 * pseudo-terminal has no baud rate of its own: it shows the commands and the order of things, not the noise of a wrong
 * rate (rate.test.ts has that).
 */
import { afterEach, describe, expect, test } from "vitest";
import { attachAdapter, Bench, benchVehicles } from "../../adapters/bench/index.ts";
import { openSerial, pacedClock, realClock, serialPair, type SerialPair } from "../../adapters/link/index.ts";
import { RateMemory } from "../../adapters/polling/rateMemory.ts";
import { Session } from "../../adapters/polling/session.ts";
import { pause } from "../../shared/clock.ts";
import type { DefinedParameter } from "../../shared/defined.ts";
import { CranksideError } from "../../shared/errors.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { Reading } from "../../src/reading/index.ts";
import { crankCounter } from "../support/defined.ts";
import { socat } from "../support/tools.ts";
import { expectWhole } from "../support/wholeSurvey.ts";
import { MemorySink } from "./support.ts";

const baud = 38_400;
const cleanUps: (() => Promise<void>)[] = [];
afterEach(async () => {
  for (const cleanUp of cleanUps.splice(0).reverse()) await cleanUp();
});

interface Line {
  readonly bench: Bench;
  readonly sink: MemorySink;
  readonly session: Session;
  /** Both plugs are pulled; a new pair takes the place of the old one. */
  readonly pull: () => Promise<void>;
  readonly putBack: () => Promise<void>;
}

async function line(vehicle: string, defined: readonly DefinedParameter[] = []): Promise<Line> {
  const clock = pacedClock(realClock);
  const bench = new Bench({ vehicle, clock });
  bench.act({ act: "key", to: "on" });
  let pair: SerialPair | null = null;
  let far: ByteEnd | null = null;
  const putBack = async (): Promise<void> => {
    pair = await serialPair();
    far = await openSerial({ path: pair.a, baud });
    attachAdapter(bench, far, clock, { baud });
  };
  const pull = async (): Promise<void> => {
    const [oldFar, oldPair] = [far, pair];
    far = null;
    pair = null;
    await oldFar?.close();
    await oldPair?.close();
  };
  await putBack();
  const sink = new MemorySink(realClock.now());
  const session = new Session({
    open: () =>
      pair === null
        ? Promise.reject(new CranksideError("port-missing", "no such port"))
        : openSerial({ path: pair.b, baud }),
    address: "serial:pair",
    clock: realClock,
    ...{ sink, baud, defined, rates: new RateMemory() },
  });
  cleanUps.push(pull, () => session.close());
  await session.connect();
  session.start(sink);
  return { bench, sink, session, pull, putBack };
}

/** Until it is so; the test's own time-out is the end of it. */
async function until(so: () => boolean): Promise<void> {
  while (!so()) await pause(realClock, 20);
}

const good = (sink: MemorySink, from = 0): number =>
  sink.exchanges.filter((x) => x.t >= from && x.ask.startsWith("01") && x.err === undefined).length;

describe.skipIf(socat === null)("over a pseudo-terminal", () => {
  test("the faster line is asked for, tested, used, and left", async () => {
    const { sink, session } = await line("garden-van");
    // On a machine that is too busy to confirm in time it is the next one.
    expect([500_000, 230_400, 115_200]).toContain(session.status.adapter?.baud);
    const asked = sink.asked();
    expect(asked).toContain("ATBRD08");
    const at = asked.lastIndexOf("");
    expect(asked[at - 1]).toMatch(/^ATBRD/);
    expect(asked.slice(at + 1, at + 9)).toEqual(Array<string>(8).fill("ATI"));
    await until(() => good(sink) > 30);
    await session.close();
    expect(sink.asked().at(-1)).toBe("ATZ");
  }, 180_000);

  test("a read that one module is asked alone: its header before, that to all behind, steps a second", async () => {
    const { bench, sink } = await line("garden-van", [{ ...crankCounter, module: "7E8", alone: true }]);
    bench.act({ act: "key", to: "crank" });
    await until(() => sink.asked().filter((ask) => ask.startsWith("2211")).length > 8);
    const asked = sink.asked();
    asked.slice(0, -3).forEach((ask, i) => {
      if (ask.startsWith("2211")) expect([asked[i - 1], asked[i + 1]]).toEqual(["ATSH7E0", "ATSH7DF"]);
    });
    const reading = new Reading("serial");
    for (const event of sink.events) reading.event(event);
    const rates = (reading.channels.find("crank-signal-rate")?.values ?? []).filter((v) => !Number.isNaN(v));
    expect(Math.max(...rates)).toBeGreaterThan(50);
  }, 180_000);

  test("the plug is pulled and put back: the gap with its cause, no search, and readings again", async () => {
    const { sink, session, pull, putBack } = await line("garden-van");
    await until(() => good(sink) > 5);
    await pull();
    await until(() => session.status.failure?.code === "port-missing");
    await putBack();
    const back = sink.exchanges.at(-1)?.t ?? 0;
    await until(() => good(sink, back) > 5);
    const states = sink.states.filter((state) => state !== "identified");
    expect(states.slice(-3)).toEqual(["lost", "opened", "back"]);
    expect(sink.links.find(({ state }) => state === "lost")?.why).toMatch(/lost|closed/);
    expect(sink.asked(back)).not.toContain("ATSP0");
  }, 180_000);

  test.each(benchVehicles.map(({ id }) => id))(
    "%s is surveyed, with the oxygen sensor tests of service 05 before CAN",
    async (id) => {
      const { session, sink } = await line(id);
      const survey = await session.survey();
      expectWhole(id, survey, sink.asked());
    },
    120_000,
  );
});
