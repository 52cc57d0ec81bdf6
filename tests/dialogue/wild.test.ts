/** What adapters have been met to do while they are set up and look for the vehicle. */
import { describe, expect, test } from "vitest";
import { findBaud } from "../../adapters/dialogue/baud.ts";
import { Dialogue } from "../../adapters/dialogue/dialogue.ts";
import { follow, type Plan } from "../../adapters/dialogue/plan.ts";
import { findProtocol } from "../../adapters/dialogue/protocol.ts";
import { prepareAdapter } from "../../adapters/dialogue/setup.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { goodAdapter, goodVehicle, Scripted, type Said } from "../support/scripted.ts";

type Says = (command: string, at: number) => string | Said | undefined;

/** `odd` comes first; a good adapter and vehicle say the rest. */
function adapter(clock: VirtualClock, odd: Says): Scripted {
  return new Scripted(
    clock,
    (command, at) => odd(command, at) ?? goodAdapter(command) ?? goodVehicle(command),
  );
}

async function walk<T>(plan: Plan<T>, odd: Says): Promise<{ heard: string[]; result: T }> {
  const clock = new VirtualClock();
  const scripted = adapter(clock, odd);
  const walked = follow(plan, new Dialogue(await scripted.open(), clock));
  await clock.run(walked);
  return { heard: scripted.received, result: await walked };
}

const names = new Set(["ATZ", "ATWS", "ATI"]);

describe("the identity", () => {
  test.each(["\xfc", "\x7f", "\xfc\xfc\x7f", "\xfc\r\r"])(
    "behind unreadable bytes is the name alone",
    async (noise) => {
      const { heard, result } = await walk(prepareAdapter("x"), (command) =>
        names.has(command) ? `${noise}ELM327 v1.5` : undefined,
      );
      expect(result.identity).toEqual({ says: "ELM327 v1.5" });
      expect(heard.filter((command) => command === "ATZ")).toHaveLength(1);
    },
  );

  test.each(["\xfc", "\xfc\xfc\x7f\xfc"])(
    "behind unreadable bytes tells the right baud rate",
    async (noise) => {
      const clock = new VirtualClock();
      const scripted = adapter(clock, (command) => (command === "ATI" ? `${noise}ELM327 v1.5` : undefined));
      const found = findBaud({ open: () => scripted.open(), clock, bauds: [38_400] });
      await clock.run(found);
      expect((await found).baud).toBe(38_400);
    },
  );

  test("on restarting may be another than on asking", async () => {
    const { result } = await walk(prepareAdapter("x"), (command) =>
      command === "ATI" ? "ELM327 v2.1" : command === "ATZ" ? "SCANNER A1" : undefined,
    );
    expect(result).toEqual({ identity: { says: "ELM327 v2.1" }, volts: 12.4, greeting: "SCANNER A1" });
  });
});

test("answers glued to the echo of a command are taken from it", async () => {
  const { result } = await walk(prepareAdapter("x"), (command) => {
    if (command === "ATAT1") return `${command}?`;
    return `${command}${goodAdapter(command) ?? ""}`;
  });
  // A voltage is believed only on a line of its own.
  expect(result).toEqual({ identity: { says: "ELM327 v1.5", refuses: ["ATAT1"] }, volts: null });
});

test("an error word glued to the echo of a request is the answer; the line is kept as it came", async () => {
  const clock = new VirtualClock();
  const scripted = new Scripted(clock, (command) => `${command}NO DATA`);
  const dialogue = new Dialogue(await scripted.open(), clock);
  const asked = dialogue.ask("010C1");
  await clock.run(asked);
  expect(await asked).toMatchObject({ err: "NO DATA", answer: ["NO DATA"], lines: ["010C1NO DATA"] });
});

describe("looking for the protocol", () => {
  const isChoice = (command: string): boolean => command.startsWith("ATSP");

  test("one question mark to the choice may have meant what stood in the buffer", async () => {
    let first = true;
    const { heard, result } = await walk(findProtocol(null, new Set()), (command) => {
      if (!isChoice(command) || !first) return undefined;
      first = false;
      return "?";
    });
    expect(result.protocol).toBe("can11-500");
    expect(heard).toEqual(["ATSP0", "ATSP0", "0100", "ATDPN", "ATSP6"]);
  });

  test("an adapter that takes no choice at all is asked as it stands, and tells the protocol", async () => {
    const refuses = new Set<string>();
    const { result } = await walk(findProtocol(null, refuses), (command) =>
      isChoice(command) ? "?" : undefined,
    );
    expect(result.protocol).toBe("can11-500");
    expect(refuses.has("ATSP6")).toBe(true);
  });

  test.each([
    ["7E806410008300000", "can11-500"],
    ["18 DA F1 10 06 41 00 08 30 00 00", "can29-500"],
    ["48 6B 10 41 00 08 30 00 00 7C", null],
  ])("... or does not: %s is %s by its identifier", async (reply, protocol) => {
    const { result } = await walk(findProtocol(null, new Set()), (command) => {
      if (isChoice(command) || command === "ATDPN") return "?";
      return command === "0100" ? reply : undefined;
    });
    expect(result.protocol).toBe(protocol);
  });

  test.each(["", "SEARCHING..."])("an empty answer to the search (%s) is asked again", async (empty) => {
    let first = true;
    const { heard, result } = await walk(findProtocol(null, new Set()), (command) => {
      if (command !== "0100" || !first) return undefined;
      first = false;
      return empty;
    });
    expect(result.protocol).toBe("can11-500");
    expect(heard.filter((command) => command === "0100")).toHaveLength(2);
  });

  test("an adapter whose search always ends empty is taken through the protocols one by one", async () => {
    let chosen = "";
    const { result } = await walk(findProtocol(null, new Set()), (command) => {
      if (isChoice(command)) chosen = command;
      if (command === "0100" && chosen === "ATSP0") return "";
      return command.startsWith("AT") || chosen === "ATSP6" ? undefined : "NO DATA";
    });
    expect(result.protocol).toBe("can11-500");
  });
});
