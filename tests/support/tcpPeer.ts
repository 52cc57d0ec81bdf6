/** The scripted adapter on a TCP port of this machine. */
import { createServer, type AddressInfo, type Socket } from "node:net";
import { realClock } from "../../adapters/link/index.ts";
import type { Clock } from "../../shared/clock.ts";
import { Peer, type PeerOptions } from "./peer.ts";

/** Waits of the scripted adapter made short: what it searches or restarts for takes a fiftieth of the time. */
const hasty: Clock = {
  now: () => realClock.now(),
  wall: () => realClock.wall(),
  after: (ms, callback) => realClock.after(ms >= 50 ? ms / 50 : ms, callback),
};

export interface TcpPeer {
  readonly peer: Peer;
  /** As it is typed. */
  readonly address: string;
  close(): Promise<void>;
}

export async function tcpPeer(options: Omit<PeerOptions, "clock">): Promise<TcpPeer> {
  const peer = new Peer({ clock: hasty, ...options });
  const sockets = new Set<Socket>();
  const server = createServer((socket) => {
    sockets.add(socket.setNoDelay(true));
    const opened = peer.open();
    socket.on("data", (bytes) => void opened.then((end) => end.write(bytes)));
    void opened.then((end) => end.onBytes((bytes) => socket.write(bytes)));
    socket.on("error", () => socket.destroy());
    socket.on("close", () => {
      sockets.delete(socket);
      void opened.then((end) => end.close());
    });
  });
  await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
  const { port } = server.address() as AddressInfo;
  return {
    peer,
    address: `tcp:127.0.0.1:${port}`,
    close: () =>
      new Promise((resolve) => {
        server.close(() => resolve());
        for (const socket of sockets) socket.destroy();
      }),
  };
}

/** An invented engine at idle that answers to the usual questions. */
export const idlingModule = {
  address: "7E8",
  replies: {
    "0100": "4100BE3EA813",
    "0120": "412080000001",
    "0140": "414040000000",
    "010C": "410C0C80",
    "010B": "410B23",
    "0105": "41057B",
    "0104": "410430",
    "0106": "410680",
    "0107": "410784",
    "010D": "410D00",
    "010E": "410E90",
    "010F": "410F3C",
    "0111": "411126",
  },
  respondsMs: 1,
} as const;
