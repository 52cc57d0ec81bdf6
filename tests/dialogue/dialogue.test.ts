import { describe, expect, test } from "vitest";
import { Dialogue } from "../../adapters/dialogue/dialogue.ts";
import type { DialogueOptions } from "../../adapters/dialogue/options.ts";
import { bytesOf } from "../../adapters/dialogue/machine.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { memoryPair } from "../../adapters/link/memory.ts";
import type { ByteEnd } from "../../shared/wire.ts";
import { CranksideError } from "../../shared/errors.ts";
import { engineModule, Peer, type PeerFault } from "../support/peer.ts";
import { MemorySink } from "../polling/support.ts";

interface Talk {
  readonly clock: VirtualClock;
  readonly peer: Peer;
  readonly sink: MemorySink;
  readonly dialogue: Dialogue;
  readonly ask: (command: string) => Promise<string[]>;
}

async function talk(
  faults: readonly PeerFault[] = [],
  options: Partial<DialogueOptions> = {},
): Promise<Talk> {
  const clock = new VirtualClock();
  const peer = new Peer({ clock, modules: [engineModule], faults });
  Object.assign(peer.set, {
    echo: false,
    linefeeds: false,
    spaces: false,
    headers: true,
    protocol: 6,
    active: 6,
  });
  clock.advance(1000);
  const sink = new MemorySink(400);
  const dialogue = new Dialogue(await peer.open(), clock, { ...options, sink });
  const ask = async (command: string): Promise<string[]> => {
    const asked = dialogue.ask(command);
    await clock.run(asked);
    return [...(await asked).answer];
  };
  return { clock, peer, sink, dialogue, ask };
}

describe("the raw tap", () => {
  test("an exchange is recorded with its times before the asker has it", async () => {
    const { clock, sink, dialogue } = await talk();
    let recordedBefore = -1;
    const asked = dialogue.ask("010C1").then(() => {
      recordedBefore = sink.events.length;
    });
    await clock.run(asked);
    expect(recordedBefore).toBe(1);
    // Sent 1000 ms on the clock, with t = 0 at 400; this peer's module answers after 10 ms.
    expect(sink.events).toEqual([
      { k: "x", t: 600, ask: "010C1", lines: ["7E804410C0000"], first: 10, end: 10 },
    ]);
  });

  test("stray bytes between exchanges are recorded once they pause, with the time of the first", async () => {
    const { clock, peer, sink } = await talk();
    peer.say("LP ");
    await clock.pass(5);
    peer.say("ALERT\r");
    await clock.pass(100);
    expect(sink.events).toEqual([{ k: "stray", t: 600, text: "LP ALERT\r" }]);
  });

  test("a stray stands before the exchange that follows it", async () => {
    const { peer, sink, ask, clock } = await talk();
    peer.say("ACT ALERT\r");
    await clock.pass(1);
    await ask("ATRV");
    expect(sink.events.map(({ k }) => k)).toEqual(["stray", "x"]);
  });

  test("silence is recorded as silent, and so is the call that looks for the adapter afterwards", async () => {
    const { peer, sink, ask } = await talk(["silence"]);
    await ask("010C1");
    peer.faults.delete("silence");
    expect(await ask("ATRV")).toEqual(["12.4V"]);
    expect(sink.exchanges.map(({ ask: command, err, end }) => [command, err, end === null])).toEqual([
      ["010C1", "silent", true],
      ["ATRV", undefined, false],
      ["ATDPN", undefined, false],
      ["ATRV", undefined, false],
    ]);
  });

  test("half a reply is kept", async () => {
    const { sink, ask } = await talk(["no-prompt"]);
    await ask("010C1");
    expect(sink.exchanges[0]).toMatchObject({ lines: ["7E804410C0000"], err: "cut", end: null });
  });

  test("what comes when no recording runs is dropped, and the next recording begins clean", async () => {
    const { clock, peer, sink, dialogue, ask } = await talk();
    dialogue.setSink(null);
    await ask("ATRV");
    peer.say("LP ALERT\r");
    await clock.pass(100);
    const next = new MemorySink(clock.now());
    dialogue.setSink(next);
    await ask("ATRV");
    expect(sink.events).toEqual([]);
    expect(next.events.map(({ t }) => t)).toEqual([0]);
  });
});

describe("one at a time, in step", () => {
  test("commands given at once go out one after the other, each after the prompt of the one before", async () => {
    const { clock, peer, sink, dialogue } = await talk();
    const all = Promise.all([dialogue.ask("010C1"), dialogue.ask("010B1"), dialogue.ask("ATRV")]);
    await clock.run(all);
    expect((await all).map(({ answer }) => answer[0])).toEqual(["7E804410C0000", "7E803410B65", "12.4V"]);
    expect(peer.received).toEqual(["010C1", "010B1", "ATRV"]);
    const [first, second] = sink.exchanges;
    expect(second?.t).toBeGreaterThanOrEqual((first?.t ?? 0) + (first?.end ?? Infinity));
  });

  test("a reply that comes too late is not taken for the next one's", async () => {
    // The module takes 2 s, the dialogue waits 0.5 s.
    const { clock, sink, peer, dialogue } = await talk([], { silenceMs: 500 });
    peer.modules = [{ ...engineModule, respondsMs: 2000 }];
    const late = dialogue.ask("010C1");
    await clock.run(late);
    expect((await late).err).toBe("silent");
    const volts = dialogue.ask("ATRV");
    await clock.run(volts);
    expect((await volts).answer).toEqual(["12.4V"]);
    // The call broke the first one off; what was left of it is answered with a question mark, and let pass; the
    // next call is answered, and then comes the command itself.
    expect(peer.received).toEqual(["010C1", "TRV", "ATRV", "ATRV"]);
    expect(sink.exchanges.map(({ err }) => err)).toEqual(["silent", "STOPPED", undefined, undefined]);
    expect(sink.events.map(({ k }) => k)).toEqual(["x", "x", "stray", "x", "x"]);
  });

  test("without a prompt no request to the vehicle leaves: a busy adapter would take the rest of it for another", async () => {
    const { clock, peer, sink, dialogue } = await talk(["silence"]);
    const first = dialogue.ask("010C1");
    const second = dialogue.ask("0105");
    await clock.run(second);
    expect((await first).err).toBe("silent");
    expect(await second).toMatchObject({ ask: "ATRV", err: "silent" });
    expect(sink.asked()).toEqual(["010C1", "ATRV"]);
    peer.faults.delete("silence");
    const third = dialogue.ask("0105");
    await clock.run(third);
    // The first prompt stayed away for good: an answer that only its own question has shows it.
    expect(peer.received).toEqual(["ATRV", "ATDPN", "0105"]);
    expect((await third).answer).toEqual(["7E80341057B"]);
  });

  test("an adapter at work gets nothing but a call for its prompt, however often it is asked", async () => {
    const { clock, peer, dialogue } = await talk([], { silenceMs: 30 });
    peer.modules = [{ ...engineModule, respondsMs: 200 }];
    for (let i = 0; i < 20; i++) await clock.run(dialogue.ask("010C1"));
    // What is left of a call that interrupted it is a command to nobody.
    expect(peer.received.filter((command) => !["010C1", "ATRV", "TRV"].includes(command))).toEqual([]);
    expect(peer.received).toContain("TRV");
  });

  test("a reply that comes twice is let pass once it is mistrusted", async () => {
    const { clock, peer, sink, dialogue, ask } = await talk(["doubled"]);
    expect(await ask("010C1")).toEqual(["7E804410C0000"]);
    peer.faults.delete("doubled");
    await clock.pass(1);
    dialogue.mistrust();
    expect(await ask("ATRV")).toEqual(["12.4V"]);
    expect(sink.events.filter(({ k }) => k === "stray")).toEqual([
      expect.objectContaining({ text: "7E804410C0000\r\r>" }),
    ]);
  });

  test("noise that never stops does not keep it from going on", async () => {
    const { clock, peer, dialogue } = await talk();
    let noisy = true;
    const noise = (): void => {
      if (!noisy) return;
      peer.say("\x81");
      clock.after(7, noise);
    };
    noise();
    dialogue.mistrust();
    const asked = dialogue.ask("ATRV");
    await clock.run(asked, 20_000);
    noisy = false;
    expect((await asked).end).not.toBeNull();
  });
});

describe("everything settles", () => {
  test("closing rejects what runs and what waits, and records the one that ran", async () => {
    const { clock, sink, dialogue } = await talk(["silence"]);
    const outcomes = Promise.allSettled([dialogue.ask("010C1"), dialogue.ask("ATRV")]);
    await clock.pass(10);
    await dialogue.close();
    expect(
      (await outcomes).map((o) => (o.status === "rejected" ? (o.reason as CranksideError).code : "sent")),
    ).toEqual(["link-closed", "link-closed"]);
    expect(sink.exchanges).toMatchObject([{ ask: "010C1", err: "closed", end: null }]);
    await expect(dialogue.ask("ATRV")).rejects.toMatchObject({ code: "link-closed" });
  });

  test("closing in the middle of settling rejects too", async () => {
    const { clock, dialogue } = await talk();
    dialogue.mistrust();
    const asked = dialogue.ask("ATRV");
    const outcome = asked.catch((error: unknown) => error);
    await clock.pass(10);
    await dialogue.close();
    expect(await outcome).toMatchObject({ code: "link-closed" });
    expect(clock.pending).toBe(0);
  });

  test("a line that is lost tells why, and rejects with that as the cause", async () => {
    const { clock, peer, dialogue } = await talk(["silence"]);
    const heard: (string | null)[] = [];
    dialogue.onClose((why) => heard.push(why?.code ?? null));
    const outcome = dialogue.ask("010C1").catch((error: unknown) => error);
    await clock.pass(5);
    await peer.pull();
    expect(await outcome).toMatchObject({ code: "link-closed", cause: { code: "link-failed" } });
    expect(heard).toEqual(["link-failed"]);
  });

  test("a write that fails ends the line", async () => {
    const clock = new VirtualClock();
    const [near] = memoryPair("near", "far");
    const broken: ByteEnd = { ...near, write: () => Promise.reject(new Error("EIO")) };
    const dialogue = new Dialogue(broken, clock);
    await expect(dialogue.ask("ATRV")).rejects.toMatchObject({
      code: "link-closed",
      cause: { code: "link-failed" },
    });
    expect(dialogue.closed).toBe(true);
  });

  test("a refused command is rejected and does not disturb the next", async () => {
    const { peer, dialogue, ask } = await talk();
    await expect(dialogue.ask("04")).rejects.toMatchObject({ code: "request-refused" });
    expect(await ask("ATRV")).toEqual(["12.4V"]);
    expect(peer.received).toEqual(["ATRV"]);
  });

  test("an answer that is there before the write is reported done is not missed", async () => {
    const clock = new VirtualClock();
    let listener: (bytes: Uint8Array) => void = () => undefined;
    const eager: ByteEnd = {
      name: "eager",
      write: () => {
        listener(bytesOf("OK\r\r>"));
        return Promise.resolve();
      },
      onBytes: (set) => (listener = set),
      onClose: () => undefined,
      close: () => Promise.resolve(),
    };
    const dialogue = new Dialogue(eager, clock);
    expect((await dialogue.ask("ATE0")).answer).toEqual(["OK"]);
  });
});

describe("a prompt counts where a line begins", () => {
  test("one in the middle of a reply sends no request to a busy adapter", async () => {
    const { clock, peer, dialogue, sink } = await talk();
    peer.modules = [{ ...engineModule, respondsMs: 400 }];
    const first = dialogue.ask("010C1");
    const second = dialogue.ask("0105");
    await clock.pass(20);
    peer.say("7E8>");
    await clock.run(Promise.all([first, second]));
    expect(await first).toMatchObject({ err: "cut", end: null });
    expect(peer.received.filter((command) => !command.startsWith("AT"))).toEqual(["010C1", "TRV", "0105"]);
    expect(sink.exchanges[0]).toMatchObject({ lines: ["7E8>"], err: "cut" });
  });

  test("one at the start of a line, without the empty line that this adapter puts there, is not believed", async () => {
    const { clock, peer, dialogue, ask } = await talk();
    for (let i = 0; i < 4; i++) await ask("ATRV");
    peer.modules = [{ ...engineModule, respondsMs: 60 }];
    const first = dialogue.ask("010C1");
    const second = dialogue.ask("0105");
    await clock.pass(10);
    peer.say("7E804410C0000\r>");
    await clock.run(Promise.all([first, second]));
    expect(peer.received.filter((command) => !command.startsWith("AT"))).toEqual(["010C1", "TRV", "0105"]);
  });

  test("bytes that nobody asked for send the next command to look for the prompt, unless they are known words", async () => {
    const { clock, peer, ask, sink } = await talk();
    peer.say("7E804410C1234\r");
    await clock.pass(1);
    expect(await ask("010C1")).toEqual(["7E804410C0000"]);
    expect(sink.asked()).toEqual(["ATRV", "010C1"]);
    peer.say("LP ALERT\r");
    await clock.pass(1);
    await ask("010C1");
    expect(sink.asked()).toEqual(["ATRV", "010C1", "010C1"]);
  });
});

describe("nothing reaches the vehicle that was not meant for it", () => {
  const pair = { alone: "ATSH7E0", all: "ATSH7DF" };

  async function aloneWith(refuses: readonly string[]): Promise<Talk> {
    const clock = new VirtualClock();
    const module = { ...engineModule, replies: { ...engineModule.replies, "221101": "62110142" } };
    const peer = new Peer({ clock, modules: [module], refuses });
    Object.assign(peer.set, { echo: false, linefeeds: false, spaces: false, headers: true });
    Object.assign(peer.set, { protocol: 6, active: 6 });
    const sink = new MemorySink(0);
    const dialogue = new Dialogue(await peer.open(), clock, { sink, reads: new Set(["221101"]) });
    const ask = async (command: string): Promise<string[]> => {
      const asked = dialogue.ask(command);
      await clock.run(asked);
      return [...(await asked).answer];
    };
    return { clock, peer, sink, dialogue, ask };
  }

  test("an adapter that does not know the way back to all modules is asked on all the same", async () => {
    const { clock, peer, dialogue, ask } = await aloneWith(["ATSH7DF"]);
    await clock.run(dialogue.askAlone("221101", pair));
    expect(await ask("010C1")).toEqual(["7E804410C0000"]);
    expect(await ask("0105")).toEqual(["7E80341057B"]);
    expect(peer.received).toEqual(["ATSH7E0", "221101", "ATSH7DF", "010C1", "0105"]);
  });

  test("behind a reset nothing is asked: the settings are gone", async () => {
    const { clock, peer, dialogue } = await talk();
    dialogue.mistrust();
    peer.dip(40);
    const asked = dialogue.ask("010C1");
    await clock.run(asked);
    expect(await asked).toMatchObject({ ask: "ATRV", err: "reset" });
    expect(peer.received.filter((command) => !command.startsWith("AT"))).toEqual([]);
  });

  test("a prompt with nothing before it is no answer: the next command looks for the prompt first", async () => {
    const { clock, peer, dialogue, ask } = await talk();
    peer.modules = [{ ...engineModule, respondsMs: 60 }];
    const asked = dialogue.ask("010C1");
    await clock.pass(10);
    peer.say("\r\r>");
    await clock.run(asked);
    expect(await asked).toMatchObject({ answer: [] });
    expect(await ask("0105")).toEqual(["7E80341057B"]);
    const between = peer.received.slice(peer.received.indexOf("010C1") + 1, peer.received.indexOf("0105"));
    expect(between.filter((command) => /^A?TRV$/.test(command)).length).toBeGreaterThan(0);
  });
});

describe("an answer to an earlier question", () => {
  test("is given up, marked as late, and its own question is let pass", async () => {
    const { clock, peer, dialogue, sink } = await talk();
    peer.modules = [{ ...engineModule, respondsMs: 30 }];
    const asked = dialogue.ask("010C1");
    await clock.pass(10);
    peer.say("12.1V\r\r>");
    const next = dialogue.ask("0105");
    await clock.run(Promise.all([asked, next]));
    expect(await asked).toMatchObject({ err: "late", answer: [], lines: ["12.1V"] });
    expect((await next).answer).toEqual(["7E80341057B"]);
    expect(sink.exchanges[0]).toMatchObject({ err: "late", lines: ["12.1V"] });
  });

  test("that comes sooner than any answer can is given up too", async () => {
    const { clock, peer, dialogue, ask } = await talk();
    for (let i = 0; i < 6; i++) await ask("010C1");
    const asked = dialogue.ask("010C1");
    await clock.pass(1);
    peer.say("7E804410C2222\r\r>");
    await clock.run(asked);
    expect(await asked).toMatchObject({ err: "late", answer: [] });
    expect(await ask("0105")).toEqual(["7E80341057B"]);
  });

  test("with the adapter's name, behind a reset that took long, is no reset by itself", async () => {
    const { clock, peer, dialogue } = await talk([], { silenceMs: 500 });
    void dialogue.ask("ATZ");
    const next = dialogue.ask("ATE0");
    await clock.run(next);
    expect(peer.received[0]).toBe("ATZ");
    expect((await next).answer).toEqual(["OK"]);
  });
});
