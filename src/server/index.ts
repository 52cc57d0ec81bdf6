/** The local service: the page, the recordings, and the live line. Listens on this machine only, unless told. */
import { createServer, type RequestListener, type Server } from "node:http";
import type { AddressInfo } from "node:net";
import { Carriers, realClock } from "../../adapters/link/index.ts";
import type { Clock } from "../../shared/clock.ts";
import type { DefinedParameter } from "../../shared/defined.ts";
import { CranksideError, messageOf } from "../../shared/errors.ts";
import { CarrySockets } from "./carry.ts";
import { Desk } from "./desk.ts";
import { loopbackDoor } from "./doors.ts";
import { usualSpares, type Folders } from "./folders.ts";
import { requestListener, type Extra } from "./http.ts";
import { Imports } from "./imports.ts";
import { Jobs } from "./jobs.ts";
import { Finder } from "./finder.ts";
import { Normals } from "./normals.ts";
import { lanHost, LanDoor } from "./lan.ts";
import * as limits from "./limits.ts";
import { Sockets } from "./sockets.ts";

export interface ServerOptions {
  readonly port: number;
  readonly folders: Folders;
  readonly pageFolder: string;
  readonly clock: Clock;
  readonly writer: string;
  /** Parameters that the person defined. */
  readonly defined?: readonly DefinedParameter[];
  /** See `DeskOptions`. */
  readonly survey?: boolean;
  /** Where a recording may go on when its folder fails. */
  readonly spares?: readonly string[];
  /** See `DeskOptions`. */
  readonly ownerGoneMs?: number;
  /** Open to the network too: at this address of the machine, or at its first private one. */
  readonly lan?: { readonly host: string | null } | null;
  /** Where the devices of pages are found; of its own where not given. */
  readonly carriers?: Carriers;
}

export interface RunningServer {
  readonly url: string;
  /** The door to the network, while it is open. */
  readonly lan: { readonly url: string; readonly code: string; text(): string } | null;
  /** Ends the live recording properly, then stops listening. */
  close(): Promise<void>;
}

const loopback = "127.0.0.1";

/** Rejects with `server-failed` when the port is taken, and `wrong-use` when there is no network to open to. */
export async function startServer(options: ServerOptions): Promise<RunningServer> {
  const { carriers = new Carriers() } = options;
  const desk = new Desk({
    ...{ spares: usualSpares(), ...options, carriers },
    onClosed: () => finder.settle(),
  });
  const sockets = new Sockets(desk, realClock, new CarrySockets(carriers, realClock));
  const { pageFolder, clock, writer } = options;
  const jobs = new Jobs({ folders: () => desk.folders, clock, writer });
  const imports = new Imports({ own: () => desk.folders.own, clock, writer });
  const finder = new Finder({
    own: () => desk.folders.own,
    busy: () => desk.status().recording !== null,
    clock,
  });
  const normals = new Normals({
    folders: () => desk.folders,
    busy: () => desk.status().recording !== null,
    onUsed: () => finder.settle(),
  });
  const answering = { pageFolder, desk, jobs, imports, finder, normals };
  let lan: LanDoor | null = null;
  const drawCode: Extra = (_request, response, url) => {
    if (url.pathname !== "/api/lan.svg" || lan === null) return false;
    response.writeHead(200, { "content-type": "image/svg+xml", "cache-control": "no-store" });
    response.end(lan.svg());
    return true;
  };
  const servers = [makeServer(requestListener({ ...answering, door: loopbackDoor, extra: drawCode }))];
  const closeAll = async (): Promise<void> => {
    sockets.close();
    await Promise.all(servers.map(stopServer));
    await imports.close();
    await finder.close();
  };
  try {
    const [own] = servers as [Server];
    sockets.attach(own, loopbackDoor);
    const port = await listen(own, options.port, loopback);
    if (options.lan !== undefined && options.lan !== null) {
      const host = lanHost(options.lan.host);
      const theirs = makeServer();
      servers.push(theirs);
      const lanPort = await listen(theirs, port, host);
      const door = new LanDoor({
        host,
        port: lanPort,
        clock: realClock,
        guests: () => desk.guests,
        onChange: () => desk.tellLan(),
      });
      theirs.on("request", requestListener({ ...answering, door, extra: door.extra }));
      sockets.attach(theirs, door);
      lan = door;
      desk.setLan({
        tellFor: (visitor) => door.tellFor(visitor),
        letEnter: (on) => door.letEnter(on),
        close: async () => {
          lan = null;
          await stopServer(theirs);
        },
      });
    }
    return {
      url: `http://${loopback}:${port}/`,
      get lan() {
        return lan;
      },
      close: async () => {
        try {
          await desk.close();
        } finally {
          await closeAll();
        }
      },
    };
  } catch (error) {
    await closeAll();
    throw error;
  }
}

function makeServer(listener?: RequestListener): Server {
  return createServer({ maxHeaderSize: limits.longestHeaders }, listener);
}

function listen(server: Server, port: number, host: string): Promise<number> {
  server.maxConnections = limits.mostConnections;
  server.headersTimeout = limits.headersMs;
  server.requestTimeout = limits.requestMs;
  return new Promise((resolve, reject) => {
    server.on("error", (error) => {
      reject(
        new CranksideError(
          "server-failed",
          "the page cannot be served",
          {
            found: messageOf(error),
            where: `${host}:${port}`,
            advice: "Another port can be given with --port.",
          },
          error,
        ),
      );
    });
    server.listen(port, host, () => resolve((server.address() as AddressInfo).port));
  });
}

function stopServer(server: Server): Promise<void> {
  return new Promise((resolve) => {
    server.close(() => resolve());
    server.closeAllConnections();
  });
}
