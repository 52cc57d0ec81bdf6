/** Two programs on one machine, each a process of its own, that want the same adapter and the same job. */
import { readdirSync } from "node:fs";
import { beforeAll, expect, test } from "vitest";
import { verifyRecording } from "../../src/recorder/verify.ts";
import { BarePage } from "../support/barePage.ts";
import { build } from "../support/build.ts";
import { service, tempFolder } from "../support/program.ts";
import { idlingModule, tcpPeer } from "../support/tcpPeer.ts";

beforeAll(build, 180_000);

test("the second is told which process holds adapter and job; no recording holds readings of both", async () => {
  const folder = tempFolder();
  const adapter = await tcpPeer({ modules: [idlingModule], restartMs: 5 });
  const [one, two] = [await service(folder.path), await service(folder.path)];
  const urlOf = (program: typeof one): string => program.said[1] ?? "";
  const [first, second] = [await BarePage.open(urlOf(one)), await BarePage.open(urlOf(two))];
  const connect = { type: "connect", address: adapter.address, facts: {} } as const;
  expect(await first.ask(connect)).toMatchObject({ type: "done" });
  const refused = await second.ask(connect);
  expect(refused).toMatchObject({ type: "failed", failure: { code: "link-held" } });
  expect(refused.type === "failed" ? refused.failure.message : "").toMatch(/process \d+, since /);
  expect(adapter.peer.opened).toBe(1);

  const origin = urlOf(one).slice(0, -1);
  await fetch(`${urlOf(one)}api/jobs`, { method: "POST", headers: { origin }, body: '{"name":"cart"}' });
  const { jobs } = (await (await fetch(`${urlOf(two)}api/jobs`)).json()) as { jobs: { id: string }[] };
  const job = jobs[0]?.id ?? "";
  await first.ask({ type: "job", job });
  await second.ask({ type: "job", job });
  expect(second.last("you")?.beside).toMatch(/another Crankside on this machine \(process \d+, since /);
  // Its page was there before the other one, and hears of it too.
  const beside = (page: BarePage): string => page.last("you")?.beside ?? "";
  await first.until(() => beside(first) !== "");
  expect(beside(first)).toMatch(/another Crankside on this machine \(process \d+, since /);
  expect(beside(first)).not.toBe(beside(second));

  await first.until(() => (first.status?.recording?.bytes ?? 0) > 3000);
  await one.stop();
  await second.until(() => beside(second) === "");
  expect(await second.ask(connect)).toMatchObject({ type: "done" });
  await second.until(() => (second.status?.recording?.bytes ?? 0) > 3000);
  second.close();
  await two.stop();
  const files = readdirSync(folder.path).filter((name) => name.endsWith(".ndjson"));
  expect(files).toHaveLength(2);
  for (const file of files) expect((await verifyRecording(`${folder.path}/${file}`)).state).toBe("whole");
  await adapter.close();
  folder.remove();
}, 120_000);
