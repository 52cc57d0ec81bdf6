/**
 * Every vehicle with every script behind a real TCP connection and a real serial line. The vehicle's time is driven on
 * between the bytes, so nothing sleeps; each script is played over its first part (the whole of each is played over
 * memory in scripts.test.ts).
 */
import { expect, test } from "vitest";
import { attachAdapter, Bench, benchScripts, benchVehicles, runScript } from "../../adapters/bench/index.ts";
import { listenTcp, openSerial, openTcp, serialPair, VirtualClock } from "../../adapters/link/index.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { socat } from "../support/tools.ts";

/** Seconds of each script; all have cranked, and most run, by then. */
const partS = 32;
const pairs = benchVehicles.flatMap((v) => benchScripts.map((s) => [v.id, s.id] as const));

interface Ends {
  /** The tool's end, once `attach` has taken the vehicle's. */
  readonly ours: ByteEnd;
  readonly close: () => Promise<void>;
}

async function overTcp(attach: (end: ByteEnd) => void): Promise<Ends> {
  const server = await listenTcp({ host: "127.0.0.1", port: 0 }, attach);
  const ours = await openTcp({ host: "127.0.0.1", port: server.port });
  return {
    ours,
    close: async () => {
      await ours.close();
      await server.close();
    },
  };
}

async function overSerial(attach: (end: ByteEnd) => void): Promise<Ends> {
  const pair = await serialPair();
  const theirs = await openSerial({ path: pair.a, baud: 38_400 });
  attach(theirs);
  const ours = await openSerial({ path: pair.b, baud: 38_400 });
  return {
    ours,
    close: async () => {
      await ours.close();
      await theirs.close();
      await pair.close();
    },
  };
}

/** Plays the script's first part and asks for speed about once a second; what came back, prompt by prompt. */
async function played(vehicle: string, script: string, open: typeof overTcp): Promise<string[]> {
  const clock = new VirtualClock(undefined, 64);
  const bench = new Bench({ vehicle, clock });
  // Bytes said and not yet heard at the other end: while there are any the vehicle's time stands still, for real bytes
  // take real time and it must not run away from them.
  let flying = 0;
  const { ours, close } = await open((end) => {
    const counted: ByteEnd = {
      ...{ name: end.name, close: () => end.close(), onClose: (told) => end.onClose(told) },
      write: (bytes) => {
        flying += bytes.length;
        return end.write(bytes);
      },
      onBytes: (told) => {
        end.onBytes((bytes) => {
          flying -= bytes.length;
          told(bytes);
        });
      },
    };
    attachAdapter(bench, counted, clock);
  });
  let heard = "";
  ours.onBytes((bytes) => {
    flying -= bytes.length;
    heard += String.fromCharCode(...bytes);
  });
  const replies: string[] = [];
  const ask = async (command: string): Promise<void> => {
    heard = "";
    flying += command.length + 1;
    await ours.write(new TextEncoder().encode(`${command}\r`));
    while (!heard.endsWith(">")) {
      if (flying === 0) await clock.pass(4);
      else await new Promise((resolve) => setImmediate(resolve));
    }
    replies.push(heard);
  };
  try {
    // Left where it is when the part is over: this clock then stands still.
    void runScript(bench, script, clock);
    await clock.pass(1000);
    for (const command of ["ATZ", "ATE0", "0100"]) await ask(command);
    while (clock.now() < partS * 1000) {
      await ask("010C1");
      await clock.pass(900);
    }
  } finally {
    await close();
  }
  return replies;
}

function check(script: string, replies: readonly string[]): void {
  expect(replies[0]).toContain("BENCH ADAPTER");
  expect(replies[2]).toMatch(/41 00/);
  const speeds = replies
    .flatMap((r) => /41 0C ([0-9A-F]{2}) ([0-9A-F]{2})/.exec(r) ?? [])
    .flatMap((_, i, all) =>
      i % 3 === 0 ? [Number.parseInt(`${all[i + 1] ?? ""}${all[i + 2] ?? ""}`, 16) / 4] : [],
    );
  expect(speeds.length).toBeGreaterThan(8);
  const top = Math.max(...speeds);
  if (script === "key-on") expect(top).toBe(0);
  else expect(top).toBeGreaterThan(100);
}

test.each(pairs)("%s plays %s over TCP", async (vehicle, script) => {
  check(script, await played(vehicle, script, overTcp));
});

test.skipIf(socat === null).each(pairs)("%s plays %s over a serial line", async (vehicle, script) => {
  check(script, await played(vehicle, script, overSerial));
});
