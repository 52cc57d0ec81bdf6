/** The local service: the page, the recordings, and the live line. Listens on this machine only. */
import { createServer } from "node:http";
import type { AddressInfo } from "node:net";
import type { Clock } from "../../shared/clock.ts";
import { CranksideError, messageOf } from "../../shared/errors.ts";
import { Desk } from "./desk.ts";
import type { Folders } from "./folders.ts";
import { requestListener } from "./http.ts";
import { serveSockets } from "./sockets.ts";

export interface ServerOptions {
  readonly port: number;
  readonly folders: Folders;
  readonly pageFolder: string;
  readonly clock: Clock;
  readonly writer: string;
}

export interface RunningServer {
  readonly url: string;
  /** Ends the live recording properly, then stops listening. */
  close(): Promise<void>;
}

const host = "127.0.0.1";

/** Rejects with `server-failed` when the port is taken. */
export async function startServer(options: ServerOptions): Promise<RunningServer> {
  const desk = new Desk(options);
  const server = createServer(requestListener(options.pageFolder, options.folders));
  const sockets = serveSockets(server, desk);
  await new Promise<void>((resolve, reject) => {
    server.once("error", (error) => {
      reject(
        new CranksideError(
          "server-failed",
          "the page cannot be served",
          {
            found: messageOf(error),
            where: `${host}:${options.port}`,
            advice: "Another port can be given with --port.",
          },
          error,
        ),
      );
    });
    server.listen(options.port, host, resolve);
  });
  const { port } = server.address() as AddressInfo;
  return {
    url: `http://${host}:${port}/`,
    close: async () => {
      await desk.close();
      for (const ws of sockets.clients) ws.terminate();
      sockets.close();
      await new Promise<void>((resolve) => {
        server.close(() => resolve());
        server.closeAllConnections();
      });
    },
  };
}
