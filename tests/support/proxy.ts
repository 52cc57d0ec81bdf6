/** A wire between browser and program that can be cut while both live on. */
import { connect, createServer, type AddressInfo, type Socket } from "node:net";

export interface Proxy {
  readonly port: number;
  /** Cuts all that flows, and lets nothing through until `mend`. */
  cut(): void;
  mend(): void;
  close(): Promise<void>;
}

export async function proxyTo(port: number): Promise<Proxy> {
  const sockets = new Set<Socket>();
  let whole = true;
  const server = createServer((near) => {
    if (!whole) return near.destroy();
    const far = connect(port, "127.0.0.1");
    for (const [socket, other] of [
      [near, far],
      [far, near],
    ] as const) {
      sockets.add(socket);
      socket.on("error", () => socket.destroy());
      socket.on("close", () => {
        sockets.delete(socket);
        other.destroy();
      });
      socket.pipe(other);
    }
  });
  const cut = (): void => {
    whole = false;
    for (const socket of sockets) socket.destroy();
  };
  await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
  return {
    port: (server.address() as AddressInfo).port,
    cut,
    mend: () => (whole = true),
    close: () =>
      new Promise((resolve) => {
        cut();
        server.close(() => resolve());
      }),
  };
}
