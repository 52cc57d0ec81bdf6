/** The whole path over a real serial line: the bench vehicle's adapter, a pseudo-terminal pair, a recording. */
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, test } from "vitest";
import { Reading } from "../../src/reading/index.ts";
import { build } from "../support/build.ts";
import { background, crankside, start, tempFolder } from "../support/program.ts";
import { socat } from "../support/tools.ts";

const folder = tempFolder();
const file = (name: string): string => join(folder.path, name);

beforeAll(() => build(), 180_000);
afterAll(() => folder.remove());

function read(path: string): Reading {
  const reading = new Reading(path);
  reading.push(readFileSync(path, "utf8"));
  reading.finish();
  return reading;
}

// The bench vehicle keeps the real time here: what is waited for is waited for at once.
for (const vehicle of ["garden-van", "old-hatch"]) {
  test.skipIf(socat === null).concurrent(
    `${vehicle} over a serial line becomes a whole recording`,
    async ({ expect }) => {
      const bench = await background(
        ["bench", "--vehicle", vehicle, "--script", "start-and-idle", "--serial"],
        /--on (serial:\S+)/,
      );
      const out = file(`${vehicle}.ndjson`);
      const heard = start(["listen", "--on", bench.said[1] ?? "", "--out", out]);
      try {
        const ended = new Promise((resolve) => heard.once("close", resolve));
        let said = "";
        heard.stderr?.setEncoding("utf8").on("data", (text: string) => (said += text));
        const answered = (channel: string): number =>
          existsSync(out) ? (read(out).channels.find(channel)?.answered ?? 0) : 0;
        const least = () => Math.min(...["engine-speed", "socket-voltage", "coolant"].map(answered));
        await expect.poll(least, { timeout: 60_000, interval: 200 }).toBeGreaterThan(2);
        heard.kill("SIGINT");
        expect(await ended).toBe(0);
        expect(said).toContain("exchanges");
      } finally {
        heard.kill("SIGKILL");
        await bench.stop();
      }
      const verified = await crankside(["verify", out]);
      expect(verified.stdout).toContain("whole");
      expect(verified.status).toBe(0);
      expect(read(out).ended).toBe(true);
    },
    90_000,
  );
}

test.concurrent(
  "the same over TCP",
  async ({ expect }) => {
    const bench = await background(["bench", "--vehicle", "garden-van", "--tcp", "0"], /--on (tcp:\S+)/);
    const out = file("tcp.ndjson");
    try {
      const heard = await crankside(["listen", "--on", bench.said[1] ?? "", "--for", "4s", "--out", out]);
      expect(heard.status).toBe(0);
      const survey = await crankside(["survey", "--on", bench.said[1] ?? "", "--json"]);
      expect(JSON.parse(survey.stdout)).toMatchObject({
        modules: [{ module: "7E8", stored: [] }, { module: "7E9" }],
      });
    } finally {
      await bench.stop();
    }
    expect((await crankside(["verify", out])).status).toBe(0);
  },
  120_000,
);
