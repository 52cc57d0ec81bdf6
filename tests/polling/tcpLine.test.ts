/** The session over TCP to the bench vehicle's adapter, as `crankside bench --tcp` offers it. */
import { expect, test } from "vitest";
import { attachAdapter, Bench, benchVehicles } from "../../adapters/bench/index.ts";
import { listenTcp, pacedClock, realClock } from "../../adapters/link/index.ts";
import { expectWhole } from "../support/wholeSurvey.ts";
import { sessionOverTcp } from "./support.ts";

test.each(benchVehicles.map(({ id }) => id))(
  "%s is surveyed, with the oxygen sensor tests of service 05 before CAN",
  async (id) => {
    const clock = pacedClock(realClock);
    const bench = new Bench({ vehicle: id, clock });
    bench.act({ act: "key", to: "on" });
    const listener = await listenTcp({ host: "127.0.0.1", port: 0 }, (end) => {
      attachAdapter(bench, end, clock);
    });
    const { sink, session } = sessionOverTcp(listener);
    try {
      await session.connect();
      session.start(sink);
      expectWhole(id, await session.survey(), sink.asked());
      expect(sink.states).not.toContain("lost");
    } finally {
      await session.close();
      bench.stop();
      await listener.close();
    }
  },
  120_000,
);
