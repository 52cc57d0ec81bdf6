/** One contract for every kind of line, over the real thing: memory, TCP on the loopback, a pseudo-terminal pair. */
import { listenTcp, memoryPair, openSerial, openTcp, serialPair } from "../../adapters/link/index.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { carriedByPage } from "../support/carrying.ts";
import { socat } from "../support/tools.ts";
import { contractOf, type LineKind } from "./contract.ts";

const nothing = (): Promise<void> => Promise.resolve();
const realPort = process.env["CRANKSIDE_TEST_PORT"];

const kinds: readonly LineKind[] = [
  {
    name: "memory",
    missing: null,
    echo: false,
    keepsLastBytes: true,
    open: () => {
      const [near, far] = memoryPair("near", "far");
      return Promise.resolve({ near, far, lose: () => far.close(), cleanUp: nothing });
    },
  },
  {
    name: "TCP",
    missing: null,
    echo: false,
    keepsLastBytes: true,
    open: async () => {
      let accept: (end: ByteEnd) => void = () => undefined;
      const accepted = new Promise<ByteEnd>((resolve) => {
        accept = resolve;
      });
      const listener = await listenTcp({ host: "127.0.0.1", port: 0 }, (end) => accept(end));
      const near = await openTcp({ host: listener.host, port: listener.port });
      const far = await accepted;
      return { near, far, lose: () => far.close(), cleanUp: () => listener.close() };
    },
  },
  {
    name: "serial (pseudo-terminal pair)",
    missing: socat === null ? "socat is missing" : null,
    echo: false,
    keepsLastBytes: false,
    open: async () => {
      const pair = await serialPair();
      const near = await openSerial({ path: pair.a, baud: 115_200 });
      const far = await openSerial({ path: pair.b, baud: 115_200 });
      return { near, far, lose: () => pair.close(), cleanUp: () => pair.close() };
    },
  },
  {
    name: "serial (CRANKSIDE_TEST_PORT with an echo plug)",
    missing: realPort === undefined ? "CRANKSIDE_TEST_PORT is not set" : null,
    echo: true,
    keepsLastBytes: false,
    open: async () => {
      const near = await openSerial({ path: realPort ?? "", baud: 38_400 });
      return { near, far: near, lose: nothing, cleanUp: nothing };
    },
  },
  {
    name: "carried by a page, over a real socket",
    missing: null,
    echo: false,
    keepsLastBytes: true,
    open: carriedByPage,
  },
];

for (const kind of kinds) contractOf(kind);
