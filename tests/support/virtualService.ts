import { VirtualClock } from "../../adapters/link/index.ts";
import { startServer, type RunningServer } from "../../src/server/index.ts";
import { BarePage } from "./barePage.ts";
import { withoutPage } from "./bareServer.ts";
import { tempFolder } from "./program.ts";

export interface VirtualService {
  /** Where its recordings lie. */
  readonly folder: string;
  readonly clock: VirtualClock;
  readonly server: RunningServer;
  /** Asks as a page, and lets the clock run until it is answered. */
  readonly ask: (request: Parameters<BarePage["ask"]>[0]) => ReturnType<BarePage["ask"]>;
  readonly close: () => Promise<void>;
}

/** A service with the built page on a clock that stands still: what would be minutes of waiting passes at once. */
export async function virtualService(pageFolder: string): Promise<VirtualService> {
  const folder = tempFolder();
  const clock = new VirtualClock(Date.UTC(2024, 2, 2));
  const server = await startServer({ ...withoutPage(folder.path), pageFolder, clock });
  const hands = await BarePage.open(server.url);
  return {
    ...{ folder: folder.path, clock, server },
    ask: async (request) => {
      const answer = hands.ask(request);
      let waits = true;
      const answered = answer.finally(() => (waits = false));
      // The answer comes over a real socket, after a real disk: each tenth of a second of this clock leaves them a turn.
      while (waits) {
        await clock.pass(100);
        await new Promise((turn) => setTimeout(turn, 1));
      }
      return answered;
    },
    close: async () => {
      hands.close();
      await server.close();
      folder.remove();
    },
  };
}
