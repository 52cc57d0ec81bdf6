/** A whole run of the program, with every connection that it opens and every name that it looks up written down. */
import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { beforeAll, expect, test } from "vitest";
import { BarePage } from "../support/barePage.ts";
import { build } from "../support/build.ts";
import { service, tempFolder } from "../support/program.ts";
import { idlingModule, tcpPeer } from "../support/tcpPeer.ts";

beforeAll(build, 180_000);

/** Loaded into the program before anything of its own. */
function listener(log: string): string {
  return `
    const { appendFileSync } = require("node:fs");
    const note = (what) => appendFileSync(${JSON.stringify(log)}, what + "\\n");
    require("node:diagnostics_channel").subscribe("net.client.socket", ({ socket }) => {
      const connect = socket.connect;
      socket.connect = function (...args) {
        const [to] = Array.isArray(args[0]) ? args[0] : args;
        note("connection to " + (to.path ?? to.host + ":" + to.port));
        return connect.apply(this, args);
      };
    });
    const dns = require("node:dns");
    const lookUp = dns.lookup;
    dns.lookup = (name, ...rest) => {
      // Where it listens is looked up too; an address asks nobody.
      if (require("node:net").isIP(name) === 0) note("name " + name);
      return lookUp(name, ...rest);
    };
    require("node:dgram").createSocket = () => {
      note("datagrams");
      throw new Error("no datagrams here");
    };
    require("node:module").syncBuiltinESMExports();
  `;
}

test("the program connects to the adapter that it is told of, and to nothing else", async () => {
  const folder = tempFolder();
  const log = join(folder.path, "asked.txt");
  const preload = join(folder.path, "listener.cjs");
  writeFileSync(preload, listener(log));
  const adapter = await tcpPeer({ modules: [idlingModule], restartMs: 5 });
  const before = process.env["NODE_OPTIONS"];
  process.env["NODE_OPTIONS"] = `${before ?? ""} --require ${JSON.stringify(preload)}`;
  const program = await service(join(folder.path, "own")).finally(() => {
    if (before === undefined) delete process.env["NODE_OPTIONS"];
    else process.env["NODE_OPTIONS"] = before;
  });
  const asked = (): string[] =>
    existsSync(log) ? readFileSync(log, "utf8").split("\n").filter(Boolean) : [];
  const page = await BarePage.open(program.said[1] ?? "");
  const connect = async (address: string): Promise<void> => {
    expect(await page.ask({ type: "connect", address, facts: {} })).toMatchObject({ type: "done" });
    await page.until(() => (page.status?.recording?.bytes ?? 0) > 1500);
    expect(await page.ask({ type: "disconnect" })).toMatchObject({ type: "done" });
  };
  await connect("bench:garden-van");
  for (const path of ["", "api/recordings", "api/jobs"]) await fetch(`${program.said[1] ?? ""}${path}`);
  expect(await page.ask({ type: "ports" })).toMatchObject({ type: "done" });
  expect(asked()).toEqual([]);
  await connect(adapter.address);
  // Which shows too that the listener listens.
  expect(asked()).toEqual([`connection to ${adapter.address.replace("tcp:", "")}`]);
  page.close();
  await program.stop();
  expect(asked()).toHaveLength(1);
  await adapter.close();
  folder.remove();
}, 120_000);
