import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { verifyRecording } from "../../src/recorder/verify.ts";
import { startServer } from "../../src/server/index.ts";
import { withoutPage } from "../support/bareServer.ts";
import { BarePage } from "../support/barePage.ts";
import { tempFolder } from "../support/program.ts";
import { idlingModule, tcpPeer } from "../support/tcpPeer.ts";

test("when no page is open any more the vehicle is left alone, and the recording ends well and says why", async () => {
  const folder = tempFolder();
  const adapter = await tcpPeer({ modules: [idlingModule], restartMs: 5 });
  const server = await startServer({
    ...withoutPage(folder.path),
    ownerGoneMs: 300,
  });
  const page = await BarePage.open(server.url);
  expect(await page.ask({ type: "connect", address: adapter.address, facts: {} })).toMatchObject({
    type: "done",
  });
  await page.until(() => (page.status?.recording?.bytes ?? 0) > 3000);
  page.close();
  const recording = (): string => readdirSync(folder.path).find((name) => name.endsWith(".ndjson")) ?? "";
  await expect.poll(() => readFileSync(join(folder.path, recording()), "utf8")).toContain('"k":"end"');
  expect((await verifyRecording(join(folder.path, recording()))).state).toBe("whole");
  expect(readFileSync(join(folder.path, recording()), "utf8")).toContain("no page has been open");
  const left = adapter.peer.received.length;
  const again = await BarePage.open(server.url);
  expect(again.status).toMatchObject({ link: "none", recording: null });
  await again.ask({ type: "ports" });
  expect(adapter.peer.received.length).toBe(left);
  again.close();
  await server.close();
  await adapter.close();
  folder.remove();
}, 180_000);

test("a second program is told who holds the adapter, and gets it when the first lets go", async () => {
  const folder = tempFolder();
  const adapter = await tcpPeer({ modules: [idlingModule], restartMs: 5 });
  const start = () => startServer(withoutPage(folder.path));
  const servers = [await start(), await start()];
  const [first, second] = await Promise.all(servers.map(({ url }) => BarePage.open(url)));
  if (first === undefined || second === undefined) throw new Error("unreachable: two were opened");
  const connect = { type: "connect", address: adapter.address, facts: {} } as const;
  expect(await first.ask(connect)).toMatchObject({ type: "done" });
  expect(await second.ask(connect)).toMatchObject({ type: "failed", failure: { code: "link-held" } });
  expect(readdirSync(folder.path).filter((name) => name.endsWith(".ndjson"))).toHaveLength(1);
  expect(await first.ask({ type: "disconnect" })).toMatchObject({ type: "done" });
  expect(await second.ask(connect)).toMatchObject({ type: "done" });
  for (const page of [first, second]) page.close();
  for (const server of servers) await server.close();
  await adapter.close();
  folder.remove();
}, 180_000);

test("a second page is told who drives the link, and takes over by one act; the recording is one", async () => {
  const folder = tempFolder();
  const server = await startServer(withoutPage(folder.path));
  const [first, second] = [await BarePage.open(server.url), await BarePage.open(server.url)];
  const connect = { type: "connect", address: "bench:garden-van", facts: {} } as const;
  expect(await first.ask(connect)).toMatchObject({ type: "done" });
  for (const request of [connect, { type: "stop" }, { type: "disconnect" }] as const) {
    expect(await second.ask(request)).toMatchObject({ type: "failed", failure: { code: "link-held" } });
  }
  const mark = { id: "m2", at: 1, label: "from the second page" };
  expect(await second.ask({ type: "mark", recording: null, mark })).toMatchObject({ type: "done" });
  expect(await second.ask({ type: "take" })).toMatchObject({ type: "done" });
  expect(first.last("you")?.holder).toContain("opened at");
  expect(await first.ask({ type: "stop" })).toMatchObject({ type: "failed", failure: { code: "link-held" } });
  expect(await second.ask({ type: "disconnect" })).toMatchObject({ type: "done" });
  expect(readdirSync(folder.path).filter((name) => name.endsWith(".ndjson"))).toHaveLength(1);
  for (const page of [first, second]) page.close();
  await server.close();
  folder.remove();
}, 180_000);
