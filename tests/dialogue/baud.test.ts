import { describe, expect, test } from "vitest";
import { findBaud } from "../../adapters/dialogue/baud.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { memoryPair } from "../../adapters/link/memory.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { CranksideError } from "../../shared/errors.ts";
import { MemorySink } from "../polling/support.ts";
import { Peer } from "../support/peer.ts";

interface Port {
  readonly opened: number[];
  readonly open: (baud: number) => Promise<ByteEnd>;
}

/** An adapter at one rate; at the others it hears and says noise, or nothing. */
function port(clock: VirtualClock, rate: number | null, wrongRate: "noise" | "nothing" = "noise"): Port {
  const opened: number[] = [];
  const peer = new Peer({ clock });
  peer.set.echo = false;
  return {
    opened,
    open: (baud) => {
      opened.push(baud);
      if (baud === rate) return peer.open(`serial:x@${baud}`);
      const [ours, theirs] = memoryPair("ours", "theirs");
      theirs.onBytes((bytes) => {
        if (wrongRate === "noise") void theirs.write(bytes.map((byte) => byte ^ 0xc5));
      });
      return Promise.resolve(ours);
    },
  };
}

async function find(clock: VirtualClock, tried: Port, sink = new MemorySink(0)): Promise<unknown> {
  const found = findBaud({ open: tried.open, clock, sink }).then(
    ({ baud }) => baud,
    (error: unknown) => error,
  );
  await clock.run(found);
  return found;
}

describe("finding the baud rate", () => {
  test.each([38_400, 115_200, 9600, 500_000, 19_200])("%i", async (rate) => {
    const clock = new VirtualClock();
    const tried = port(clock, rate);
    expect(await find(clock, tried)).toBe(rate);
    expect(tried.opened[0]).toBe(38_400);
    expect(tried.opened.at(-1)).toBe(rate);
    expect(new Set(tried.opened).size).toBe(tried.opened.length);
  });

  test("noise at every rate: adapter-garbled with what came at each", async () => {
    const clock = new VirtualClock();
    const error = await find(clock, port(clock, null));
    expect(error).toMatchObject({ code: "adapter-garbled" });
    expect((error as CranksideError).context.found).toMatch(/38400: .*115200: /);
  });

  test("nothing at any rate: adapter-silent with all of them", async () => {
    const clock = new VirtualClock();
    const error = await find(clock, port(clock, null, "nothing"));
    expect(error).toMatchObject({ code: "adapter-silent" });
    expect((error as CranksideError).context.found).toContain("nothing at 38400, 115200, 9600");
  });

  test("another device that talks plainly: no-adapter", async () => {
    const clock = new VirtualClock();
    const open = (): Promise<ByteEnd> => {
      const [ours, theirs] = memoryPair("ours", "theirs");
      theirs.onBytes(() => void theirs.write(Uint8Array.from("$GPTXT,hello*00\r\n", (c) => c.charCodeAt(0))));
      return Promise.resolve(ours);
    };
    expect(await find(clock, { opened: [], open })).toMatchObject({ code: "no-adapter" });
  });

  test("an adapter that restarts when its port is opened is found in the second round", async () => {
    const clock = new VirtualClock();
    const peer = new Peer({ clock });
    const open = async (baud: number): Promise<ByteEnd> => {
      const end = await peer.open();
      peer.faults.add("silence");
      if (baud === 9600) clock.after(1000, () => peer.faults.delete("silence"));
      return end;
    };
    expect(await find(clock, { opened: [], open })).toBe(9600);
  });

  test("a port that is not there is told at once", async () => {
    const clock = new VirtualClock();
    const missing = new CranksideError("port-missing", "no such port");
    expect(await find(clock, { opened: [], open: () => Promise.reject(missing) })).toBe(missing);
  });

  test("a rate that the port cannot do is passed by", async () => {
    const clock = new VirtualClock();
    const good = port(clock, 9600);
    const open = (baud: number): Promise<ByteEnd> =>
      baud === 115_200 ? Promise.reject(new CranksideError("link-failed", "bad rate")) : good.open(baud);
    expect(await find(clock, { opened: [], open })).toBe(9600);
  });

  test("all that came is recorded", async () => {
    const clock = new VirtualClock();
    const sink = new MemorySink(0);
    await find(clock, port(clock, 115_200), sink);
    expect(sink.exchanges.length).toBeGreaterThanOrEqual(3);
    expect(sink.exchanges.at(-1)).toMatchObject({ ask: "ATI", lines: ["ELM327 v1.5"] });
  });
});
