/** A session that listens to a bench vehicle on a virtual clock, over a line in memory. */
import { attachAdapter, type Bench } from "../../adapters/bench/index.ts";
import type { VirtualClock } from "../../adapters/link/clock.ts";
import { memoryPair } from "../../adapters/link/memory.ts";
import { Session } from "../../adapters/polling/session.ts";
import type { RecordingEvent } from "../../shared/recording/format.ts";

export interface BenchSession {
  readonly session: Session;
  /** The clock's time at t = 0 of the events. */
  readonly zeroMs: number;
}

/** Connected and polling; `take` is told each event. */
export async function benchSession(
  bench: Bench,
  clock: VirtualClock,
  take: (event: RecordingEvent) => void,
  channels?: readonly string[],
): Promise<BenchSession> {
  const sink = { zeroMs: clock.now(), append: take };
  const session = new Session({
    open: () => {
      const [ours, theirs] = memoryPair("us", "bench adapter");
      attachAdapter(bench, theirs, clock);
      return Promise.resolve(ours);
    },
    ...{ address: "bench", clock, sink },
    ...(channels === undefined ? {} : { channels }),
  });
  await clock.run(session.connect());
  session.start(sink);
  return { session, zeroMs: sink.zeroMs };
}
