/**
 * What the program itself adds between the prompt and the next request: from the moment the bytes with the prompt
 * are handed in by a pseudo-terminal to the moment the next command is handed to it.
 */
import { openSerial, realClock, serialPair } from "../../adapters/link/index.ts";
import { Session } from "../../adapters/polling/session.ts";
import { pause } from "../../shared/clock.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { engineModule, Peer } from "../support/peer.ts";
import { socat } from "../support/tools.ts";
import { quantile } from "./figures.ts";

const seconds = 6;

export async function measureTurnaround(): Promise<void> {
  if (socat === null) {
    process.stdout.write("  SKIPPED: socat is missing\n");
    return;
  }
  const pair = await serialPair();
  const peer = new Peer({
    clock: realClock,
    modules: [{ ...engineModule, respondsMs: 1 }],
    waitsMs: 20,
    restartMs: 20,
  });
  const [near, far] = await Promise.all([peer.open(), openSerial({ path: pair.b, baud: 115_200 })]);
  near.onBytes((bytes) => void far.write(bytes));
  far.onBytes((bytes) => void near.write(bytes));
  const times: number[] = [];
  const session = new Session({
    open: async () => timed(await openSerial({ path: pair.a, baud: 115_200 }), times),
    address: "serial:pair",
    clock: realClock,
    sink: null,
  });
  await session.connect();
  const sink = { zeroMs: realClock.now(), append: (): void => undefined };
  session.start(sink);
  await pause(realClock, 1000);
  times.length = 0;
  await pause(realClock, seconds * 1000);
  await session.close();
  await Promise.all([near.close(), far.close()]);
  await pair.close();
  const [median, late] = [quantile(times, 0.5), quantile(times, 0.99)];
  process.stdout.write(
    `  between prompt and next request, ${times.length} times: median ${median.toFixed(3)} ms, 99th percentile ${late.toFixed(3)} ms\n`,
  );
}

/** Notes how long it takes from each chunk that holds a prompt to the write that follows. */
function timed(end: ByteEnd, times: number[]): ByteEnd {
  let promptAt = Number.NaN;
  return {
    name: end.name,
    write: (bytes) => {
      if (!Number.isNaN(promptAt)) times.push(performance.now() - promptAt);
      promptAt = Number.NaN;
      return end.write(bytes);
    },
    onBytes: (listener) =>
      end.onBytes((bytes) => {
        if (bytes.includes(0x3e)) promptAt = performance.now();
        listener(bytes);
      }),
    onClose: (listener) => end.onClose(listener),
    close: () => end.close(),
  };
}
