/** A running server with a scripted adapter behind it: broken messages over its socket, broken bodies over HTTP. */
import { readdirSync } from "node:fs";
import { join } from "node:path";
import { realClock } from "../../adapters/link/index.ts";
import { CranksideError } from "../../shared/errors.ts";
import { startServer } from "../../src/server/index.ts";
import { BarePage } from "../support/barePage.ts";
import { tempFolder } from "../support/program.ts";
import { mayLeave } from "../support/mayLeave.ts";
import { idlingModule, tcpPeer } from "../support/tcpPeer.ts";
import type { FuzzTarget } from "./fuzz.ts";
import { goodJob, goodRequests } from "./good.ts";
import { mutate, mutateJson, type Chance } from "./mutate.ts";

/** A page asks for so much at most before it is told to wait; then another one comes. */
const requestsAPage = 100;
/** Longer ones end the page unread. */
const longestText = 60_000;

export async function doors(): Promise<FuzzTarget> {
  const folder = tempFolder();
  const adapter = await tcpPeer({ modules: [idlingModule], restartMs: 5 });
  const server = await startServer({
    ...{ port: 0, pageFolder: join(folder.path, "no-page"), clock: realClock, writer: "fuzz" },
    folders: { own: join(folder.path, "own"), bundled: null },
  });
  const origin = server.url.slice(0, -1);
  let page = await BarePage.open(server.url);
  const connected = await page.ask({ type: "connect", address: adapter.address, facts: {} });
  if (connected.type === "failed") throw new Error(connected.failure.message);
  let sent = 0;

  const overSocket = async (chance: Chance): Promise<void> => {
    const text = broken(chance, chance.of(goodRequests.filter(({ type }) => !linkEnds.has(type)))).toString(
      "utf8",
    );
    if (text.length > longestText) return;
    if (++sent % requestsAPage === 0) {
      page.close();
      page = await BarePage.open(server.url);
    }
    const before = page.messages.length;
    page.send(text);
    const isAnswer = (m: (typeof page.messages)[number]): boolean => m.type === "done" || m.type === "failed";
    await page.until(() => page.messages.slice(before).some(isAnswer));
    const answer = page.messages.slice(before).find(isAnswer);
    if (answer?.type === "failed") mustBeCoded(answer.failure.code, text);
  };

  const overHttp = async (chance: Chance): Promise<void> => {
    const [path, good] = chance.of<readonly [string, unknown]>([
      ["api/jobs", { name: "../../evil" }],
      ["api/jobs/none/changes", { changes: [{ path: ["texts", "complaint"], after: "dies" }] }],
      ["api/jobs/none/changes", { changes: [{ path: ["__proto__", "polluted"], after: goodJob }] }],
      ["api/jobs/none/take-in", { file: "../../secret.ndjson" }],
      ["api/jobs/none/photos", goodJob],
      ["api/jobs/..%2F..%2Fx/open", {}],
      ["api/recordings/..%2Fx.ndjson", {}],
    ]);
    const body = new Uint8Array(broken(chance, good));
    const response = await fetch(`${server.url}${path}`, { method: "POST", headers: { origin }, body });
    const said = await response.text();
    if (response.ok) return;
    if (response.status >= 500) throw new Error(`answered ${response.status} to ${path}: ${said}`);
    // Where nothing is taken at all the status is the code.
    if (!said.startsWith("{")) throw refusal("wrong-use", said);
    const { failure, code } = JSON.parse(said) as { failure?: { code: string }; code?: string };
    mustBeCoded(failure?.code ?? code ?? "", said);
  };

  return {
    name: "messages over the socket and bodies over HTTP, to a running server",
    async run(chance) {
      await (chance.below(2) === 0 ? overSocket(chance) : overHttp(chance));
      const forbidden = adapter.peer.received.find((command) => !mayLeave(command));
      if (forbidden !== undefined) throw new Error(`the adapter was asked ${JSON.stringify(forbidden)}`);
      if (readdirSync(folder.path).join() !== "own") throw new Error("something was written outside");
      return undefined;
    },
    async close() {
      page.close();
      await server.close();
      await adapter.close();
      folder.remove();
    },
  };
}

/** Requests that end the flow for those after them. */
const linkEnds: ReadonlySet<string> = new Set(["connect", "disconnect", "stop", "close-lan"]);

function broken(chance: Chance, good: unknown): Buffer {
  return chance.below(3) === 0
    ? mutate(chance, Buffer.from(JSON.stringify(good)))
    : Buffer.from(JSON.stringify(mutateJson(chance, good)));
}

/** Throws in any case: the refusal where it has a code, else an error without one. */
function mustBeCoded(code: string, what: string): never {
  if (!/^[a-z]+(?:-[a-z]+)+$/.test(code)) throw new Error(`a refusal without a code: ${what.slice(0, 200)}`);
  if (code === "server-failed") throw new Error(`an unexpected error at ${what.slice(0, 200)}`);
  throw refusal("wrong-use", code);
}

function refusal(code: "wrong-use", text: string): CranksideError {
  return new CranksideError(code, text);
}
