/** Clearing codes through the session: what the peer received, and what the recording says. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { clearSentence } from "../../shared/clearing.ts";
import { isCranksideError } from "../../shared/errors.ts";
import type { Survey } from "../../shared/survey.ts";
import { engineModule, gearModule, type PeerModule } from "../support/peer.ts";
import { closed, listening, MemorySink, type Rig } from "./support.ts";

const faulty: PeerModule = {
  ...engineModule,
  replies: {
    ...engineModule.replies,
    "03": "43010335",
    "07": "4700",
    "0A": "4A00",
    "020200": "4202000335",
    "04": "44",
  },
};
const twin: PeerModule = { ...gearModule, replies: { ...gearModule.replies, "03": "4300", "04": "44" } };
const modules = [faulty, twin];
const words = "erase P0335, the freeze frame, readiness";

const sent = ({ peer }: Rig): number => peer.received.filter((command) => /^04/.test(command)).length;

async function survey({ clock, session }: Rig): Promise<Survey> {
  const asked = session.survey();
  await clock.run(asked);
  return asked;
}

/** What became of it: "cleared", or the code of the error. */
async function clear({ clock, session }: Rig, typed: string): Promise<string> {
  const asked = session.clearCodes(typed).then(
    () => "cleared",
    (error: unknown) => (isCranksideError(error) ? error.code : "another error"),
  );
  await clock.run(asked);
  return asked;
}

describe("after a survey in the same recording, with the words that name what is lost", () => {
  test("it is sent once, and recorded with its answer and the person's words", async () => {
    const all = await listening({ modules });
    expect(clearSentence(await survey(all))).toBe(words);
    expect(await clear(all, words)).toBe("cleared");
    await all.clock.pass(20_000);
    expect(sent(all)).toBe(1);
    expect(all.sink.exchanges.filter(({ ask }) => ask === "04")).toMatchObject([
      { lines: ["7E80144", "7E90144"] },
    ]);
    expect(all.sink.notices).toEqual([`a person asked to clear codes, in these words: ${words}`]);
    await closed(all);
  });

  test("what an adapter would repeat at a bare carriage return afterwards is something harmless", async () => {
    // This one tells no voltage, so nothing else asks for it.
    const all = await listening({ modules, refuses: ["ATRV"] });
    await survey(all);
    await clear(all, words);
    const { received } = all.peer;
    expect(received[received.indexOf("04") + 1]).toBe("ATRV");
    await closed(all);
  });

  test("the same words a second time are refused: what is stored now was not kept", async () => {
    const all = await listening({ modules });
    await survey(all);
    await clear(all, words);
    expect(await clear(all, words)).toBe("clear-refused");
    expect(sent(all)).toBe(1);
    await closed(all);
  });

  test("a vehicle that says no is told as such, and is not asked again", async () => {
    const stubborn = { ...faulty, replies: { ...faulty.replies, "04": "7F0422" } };
    const all = await listening({ modules: [stubborn] });
    await survey(all);
    expect(await clear(all, words)).toBe("clear-refused");
    await all.clock.pass(20_000);
    expect(sent(all)).toBe(1);
    await closed(all);
  });

  test("an adapter that falls silent over it is not sent it again when it is back", async () => {
    const all = await listening({ modules });
    await survey(all);
    all.peer.faults.add("no-prompt");
    expect(await clear(all, words)).not.toBe("another error");
    all.peer.faults.delete("no-prompt");
    await all.clock.pass(60_000);
    expect(sent(all)).toBeLessThanOrEqual(1);
    expect(all.session.status.link).toBe("listening");
    await closed(all);
  });
});

describe("nothing is sent", () => {
  const cases: readonly (readonly [string, (all: Rig) => Promise<unknown>])[] = [
    ["without a survey", () => Promise.resolve()],
    [
      "after a survey of which nothing was recorded",
      async (all) => {
        await all.clock.run(all.session.pause());
        await survey(all);
        all.session.start(new MemorySink(all.clock.now()));
      },
    ],
    [
      "in another recording than the survey's",
      async (all) => {
        await survey(all);
        all.session.start(new MemorySink(all.clock.now()));
        await all.clock.pass(1000);
      },
    ],
    [
      "ten minutes later",
      async (all) => {
        await survey(all);
        await all.clock.pass(601_000);
      },
    ],
    [
      "while cranking is waited for",
      async (all) => {
        await survey(all);
        all.session.arm();
        await all.clock.pass(1000);
      },
    ],
    [
      "with an engine that runs",
      async (all) => {
        await survey(all);
        all.peer.modules = [{ ...faulty, replies: { ...faulty.replies, "010C": "410C0C80" } }, twin];
        await all.clock.pass(5000);
      },
    ],
    [
      "with an engine that runs, whose speed nobody reads",
      async (all) => {
        all.session.setChannels(["load"]);
        await survey(all);
        all.peer.modules = [{ ...faulty, replies: { ...faulty.replies, "010C": "410C0C80" } }, twin];
      },
    ],
    [
      "with an engine whose speed no module tells",
      async (all) => {
        await survey(all);
        const replies = Object.entries(faulty.replies).filter(([request]) => request !== "010C");
        all.peer.modules = [{ ...faulty, replies: Object.fromEntries(replies) }];
      },
    ],
    [
      "when the link was lost meanwhile",
      async (all) => {
        await survey(all);
        await all.peer.pull();
        await all.clock.pass(10_000);
        expect(all.session.status.link).toBe("listening");
      },
    ],
  ];
  test.each(cases)("%s", async (_name, before) => {
    const all = await listening({ modules });
    await before(all);
    expect(await clear(all, words)).toBe("clear-refused");
    await all.clock.pass(5000);
    expect(sent(all)).toBe(0);
    await closed(all);
  });
});

test("whatever a session is asked to do, it is sent no more often than rightly asked for", async () => {
  const act = fc.oneof(
    fc.constant({ do: "survey" } as const),
    fc.record({ do: fc.constant("clear" as const), typed: fc.oneof(fc.constant(words), fc.string()) }),
    fc.record({ do: fc.constant("arm" as const), on: fc.boolean() }),
    fc.record({
      do: fc.constant("channels" as const),
      names: fc.array(fc.constantFrom("load", "04", "coolant")),
    }),
    fc.constant({ do: "sink" } as const),
    fc.constant({ do: "pause" } as const),
    fc.record({ do: fc.constant("pass" as const), ms: fc.integer({ min: 0, max: 3000 }) }),
  );
  await fc.assert(
    fc.asyncProperty(fc.array(act, { maxLength: 12 }), async (acts) => {
      const all = await listening({ modules });
      let fresh = false;
      let allowed = 0;
      let recording = true;
      let armed = false;
      for (const step of acts) {
        if (step.do === "survey") {
          await survey(all);
          fresh = recording;
        } else if (step.do === "clear") {
          const outcome = await clear(all, step.typed);
          const right = fresh && recording && !armed && step.typed === words;
          expect(outcome).toBe(right ? "cleared" : "clear-refused");
          if (right) {
            allowed += 1;
            fresh = false;
          }
        } else if (step.do === "arm") {
          all.session.arm(step.on);
          armed = step.on;
          // The focus looks at the engine again until it is at rest for a while.
          if (!step.on) await all.clock.pass(5000);
        } else if (step.do === "channels") all.session.setChannels(step.names);
        else if (step.do === "sink") {
          all.session.start(new MemorySink(all.clock.now()));
          await all.clock.pass(500);
          fresh = false;
          recording = true;
        } else if (step.do === "pause") {
          await all.clock.run(all.session.pause());
          fresh = false;
          recording = false;
        } else await all.clock.pass(step.ms);
      }
      expect(sent(all)).toBe(allowed);
      await closed(all);
    }),
    { numRuns: 60 },
  );
});
