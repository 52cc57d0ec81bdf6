import { describe, expect, test } from "vitest";
import { Dialogue } from "../../adapters/dialogue/dialogue.ts";
import { follow, type Plan } from "../../adapters/dialogue/plan.ts";
import { findProtocol, tryProtocol } from "../../adapters/dialogue/protocol.ts";
import { prepareAdapter, restoreSettings } from "../../adapters/dialogue/setup.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { memoryPair } from "../../adapters/link/memory.ts";
import { CranksideError } from "../../shared/errors.ts";
import { engineModule, Peer, type PeerOptions } from "../support/peer.ts";

async function walk<T>(
  plan: Plan<T>,
  options: Partial<PeerOptions> = {},
): Promise<{ peer: Peer; result: T }> {
  const clock = new VirtualClock();
  const peer = new Peer({ clock, modules: [engineModule], ...options });
  const dialogue = new Dialogue(await peer.open(), clock);
  const walked = follow(plan, dialogue);
  await clock.run(walked);
  return { peer, result: await walked };
}

/** A device that is no adapter: says what `says` makes of each command, whenever one ends. */
async function stranger(says: (command: string) => string): Promise<unknown> {
  const clock = new VirtualClock();
  const [ours, theirs] = memoryPair("serial:/dev/ttyUSB7", "stranger");
  let typed = "";
  theirs.onBytes((bytes) => {
    for (const byte of bytes) {
      if (byte !== 13) typed += String.fromCharCode(byte);
      else {
        const text = says(typed);
        typed = "";
        clock.after(5, () => void theirs.write(Uint8Array.from(text, (c) => c.charCodeAt(0))));
      }
    }
  });
  const walked = follow(prepareAdapter("serial:/dev/ttyUSB7"), new Dialogue(ours, clock)).catch(
    (e: unknown) => e,
  );
  await clock.run(walked);
  return walked;
}

describe("setting an adapter up", () => {
  test("a good one", async () => {
    const { peer, result } = await walk(prepareAdapter("tcp:x:1"));
    expect(result).toEqual({ identity: { says: "ELM327 v1.5" }, volts: 12.4 });
    expect(peer.received).toEqual(["ATZ", "ATE0", "ATL0", "ATS0", "ATH1", "ATAT1", "ATI", "ATRV"]);
    expect(peer.set).toMatchObject({ echo: false, linefeeds: false, spaces: false, headers: true });
  });

  test("one that was set up before is started warm", async () => {
    const { peer } = await walk(prepareAdapter("tcp:x:1", { says: "ELM327 v1.5" }));
    expect(peer.received.slice(0, 2)).toEqual(["ATWS", "ATE0"]);
  });

  test("a clone that refuses half of it is used as far as it goes, and the refusals are noted", async () => {
    const refuses = ["ATS0", "ATAT1", "ATL0", "ATI", "ATRV"];
    const { peer, result } = await walk(prepareAdapter("tcp:x:1"), { refuses, identity: "OBDII v9.9" });
    expect(result.identity).toEqual({
      says: "OBDII v9.9",
      refuses: ["ATL0", "ATS0", "ATAT1", "ATI", "ATRV"],
    });
    expect(result.volts).toBeNull();
    expect(peer.set).toMatchObject({ echo: false, headers: true });
  });

  test("an adapter without a full reset is started warm instead", async () => {
    const { peer, result } = await walk(prepareAdapter("tcp:x:1"), { refuses: ["ATZ"] });
    expect(peer.received.filter((c) => c === "ATWS")).toHaveLength(1);
    expect(result.identity.says).toBe("ELM327 v1.5");
  });

  test("echo that will not go off changes nothing", async () => {
    const { result } = await walk(prepareAdapter("tcp:x:1"), {
      faults: ["echo", "linefeeds", "spaces", "split"],
    });
    expect(result).toEqual({ identity: { says: "ELM327 v1.5" }, volts: 12.4 });
  });

  test("nothing comes: adapter-silent, saying what was sent", async () => {
    const clock = new VirtualClock();
    const peer = new Peer({ clock, faults: ["silence"] });
    const walked = follow(prepareAdapter("tcp:x:1"), new Dialogue(await peer.open(), clock)).catch(
      (e: unknown) => e,
    );
    await clock.run(walked, 60_000);
    const error = await walked;
    expect(error).toMatchObject({ code: "adapter-silent" });
    expect((error as CranksideError).message).toContain("ATZ");
    expect((error as CranksideError).context).toMatchObject({ where: "tcp:x:1", found: "nothing" });
  });

  test("noise comes: adapter-garbled, showing it", async () => {
    const error = await stranger(() => "\x83\xff\x91\x02\xe0");
    expect(error).toMatchObject({ code: "adapter-garbled" });
    expect((error as CranksideError).context.found).toContain("\\x83");
  });

  test.each([
    ["a position receiver", () => "$GPGGA,120000,0000.0,N,00000.0,E,1*00\r\n"],
    ["a modem", (c: string) => (c === "ATI" ? "MODEM 1\r\n\r\nOK\r\n" : "OK\r\n")],
    ["a line that only echoes", (c: string) => `${c}\r`],
    ["a shell with the same prompt", (c: string) => `${c}: not found\r\n>`],
  ])("%s is no adapter", async (_, says) => {
    const error = await stranger(says);
    // A modem that says OK and has no prompt is told apart by the prompt alone.
    expect(error).toMatchObject({ code: "no-adapter" });
    expect((error as CranksideError).message).toContain("ATZ");
  });
});

test("a device that never stops talking is told to be no adapter within half a minute", async () => {
  const clock = new VirtualClock();
  const [ours, theirs] = memoryPair("serial:/dev/ttyUSB7", "receiver");
  let talking = true;
  const talk = (): void => {
    if (!talking) return;
    void theirs.write(Uint8Array.from("$GPGGA,120000,0000.0,N\r\n", (c) => c.charCodeAt(0)));
    clock.after(200, talk);
  };
  talk();
  const walked = follow(prepareAdapter("x"), new Dialogue(ours, clock)).catch((e: unknown) => e);
  await clock.run(walked, 30_000);
  talking = false;
  expect(await walked).toMatchObject({ code: "no-adapter" });
});

describe("finding the protocol", () => {
  test("by the adapter's search, then fixed", async () => {
    const { peer, result } = await walk(findProtocol(null, new Set()), { protocol: 3 });
    expect(result.protocol).toBe("iso9141");
    expect(peer.received).toEqual(["ATSP0", "0100", "ATDPN", "ATSP3"]);
  });

  test("the known one first", async () => {
    const { peer, result } = await walk(findProtocol("can11-500", new Set()));
    expect(result.protocol).toBe("can11-500");
    expect(peer.received).toEqual(["ATSP6", "0100"]);
  });

  test("the known one in vain, then the search", async () => {
    const { peer, result } = await walk(findProtocol("vpw", new Set()));
    expect(result.protocol).toBe("can11-500");
    expect(peer.received).toEqual(["ATSP2", "0100", "ATSP0", "0100", "ATDPN", "ATSP6"]);
  });

  test.each(["ATSP0", "ATDPN"])(
    "an adapter that refuses %s is taken through them one by one",
    async (command) => {
      const refuses = new Set<string>();
      const { peer, result } = await walk(findProtocol(null, refuses), { protocol: 5, refuses: [command] });
      expect(result.protocol).toBe("kwp-fast");
      expect(refuses.has(command)).toBe(true);
      expect(peer.received.slice(-2)).toEqual(["ATSP5", "0100"]);
    },
  );

  test("a silent vehicle is no error: what was said instead is told", async () => {
    const { result } = await walk(findProtocol(null, new Set()), { faults: ["unplugged"] });
    expect(result).toEqual({ protocol: null, said: "SEARCHING... UNABLE TO CONNECT" });
  });

  test("one protocol that is not this vehicle's", async () => {
    const { result } = await walk(tryProtocol("pwm", new Set()));
    expect(result).toEqual({ protocol: null, said: "NO DATA" });
  });
});

test("after a reset by itself the settings and the protocol come back without a search", async () => {
  const { peer, result } = await walk(restoreSettings({ says: "x", refuses: ["ATAT1"] }, "can11-500"));
  expect(result).toBe(true);
  expect(peer.received).toEqual(["ATE0", "ATL0", "ATS0", "ATH1", "ATSP6"]);
});
