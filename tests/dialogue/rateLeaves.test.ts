/**
 * What leaves while the rate of the line is being changed: random requests at every entry of the dialogue before, during
 * and behind the change, against an adapter that may misbehave in the middle of it.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { permitInRateChange } from "../../adapters/dialogue/allowed.ts";
import { ClearConsent } from "../../adapters/dialogue/clearing.ts";
import { Dialogue } from "../../adapters/dialogue/dialogue.ts";
import { fasterRates, type FasterRate } from "../../adapters/dialogue/fasterRates.ts";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { isCranksideError } from "../../shared/errors.ts";
import { forbiddenIn, hostile, mayLeave, tapped } from "../support/mayLeave.ts";
import { Peer, type PeerFault } from "../support/peer.ts";

const own = 38_400;
const reads = ["221101"];

const text = fc.oneof(
  fc.constantFrom(...hostile, "010C1", "03", "ATRV", "ATI", "221101", "2211011"),
  fc.string({ unit: fc.constantFrom(...Array.from("0123456789ABCDEFT \r\n>\0")), maxLength: 12 }),
);
/** The listed rates, and what a mistake of the caller could make of one. */
const rate: fc.Arbitrary<FasterRate> = fc.oneof(
  { weight: 3, arbitrary: fc.constantFrom(...fasterRates) },
  { weight: 1, arbitrary: fc.record({ baud: fc.constantFrom(9600, 500_000, 1), divisor: text }) },
);
const header = fc.oneof(text, fc.constantFrom("ATSH7E0", "ATSH7DF"));

type Entry =
  | { readonly kind: "ask" | "clear"; readonly text: string }
  | { readonly kind: "alone"; readonly text: string; readonly alone: string; readonly all: string }
  | { readonly kind: "faster"; readonly rate: FasterRate; readonly says: string }
  | { readonly kind: "reset" | "hail" };
const entry: fc.Arbitrary<Entry> = fc.oneof(
  fc.record({ kind: fc.constantFrom("ask", "clear"), text }),
  fc.record({ kind: fc.constant("alone"), text, alone: header, all: header }),
  fc.record({ kind: fc.constant("faster"), rate, says: fc.oneof(fc.constant("ELM327 v1.5"), text) }),
  fc.record({ kind: fc.constantFrom("reset", "hail") }),
);
const fault = fc.constantFrom<PeerFault>(
  "garbage",
  "lossy",
  "silence",
  "echo",
  "doubled",
  "no-prompt",
  "split",
);
const run = fc.record({
  entries: fc.array(entry, { minLength: 1, maxLength: 6 }),
  faults: fc.uniqueArray(fault, { maxLength: 2 }),
  /** Something goes wrong in the middle, so many milliseconds from the beginning. */
  at: fc.nat(900),
  trouble: fc.constantFrom("none", "dip", "silence", "noise"),
  knows: fc.boolean(),
});

function enter(dialogue: Dialogue, asked: Entry): Promise<unknown> {
  switch (asked.kind) {
    case "ask":
      return dialogue.ask(asked.text);
    case "clear":
      return dialogue.clear(new ClearConsent(asked.text));
    case "alone":
      return dialogue.askAlone(asked.text, { alone: asked.alone, all: asked.all });
    case "faster":
      return dialogue.faster(own, asked.rate, asked.says);
    case "reset":
      return dialogue.resetTo(own);
    case "hail":
      return dialogue.hail(100);
  }
}

test("random requests at every entry, and a rate change among them: nothing but the lists leaves", async () => {
  let all = "";
  let refused = 0;
  let proven = 0;
  await fc.assert(
    fc.asyncProperty(run, async ({ entries, faults, at, trouble, knows }) => {
      const clock = new VirtualClock();
      const refuses = knows ? [] : ["ATBRD08", "ATBRD11", "ATBRD23", "ATBRT1C"];
      const peer = new Peer({ clock, faults, refuses, ...(knows ? { baud: own } : {}) });
      let written = "";
      const end = tapped(await peer.open("serial:x", own), (sent) => (written += sent));
      const dialogue = new Dialogue(end, clock, { reads: new Set(reads) });
      clock.after(at, () => {
        if (trouble === "dip") peer.dip(200);
        else if (trouble === "silence") peer.faults.add("silence");
        else if (trouble === "noise") peer.say("\r04\r>OK\r>");
      });
      // All at once: each takes its turn behind the one before.
      const asked = entries.map((one) =>
        enter(dialogue, one).then(
          (outcome) => (proven += outcome === "proven" ? 1 : 0),
          (error: unknown) => {
            if (!isCranksideError(error, "request-refused")) throw error;
            refused += 1;
          },
        ),
      );
      await clock.run(Promise.all(asked));
      await dialogue.close();
      expect(forbiddenIn(written, { reads, rate: true })).toEqual([]);
      all += written;
    }),
    { numRuns: 400 },
  );
  // It was no empty exercise.
  expect(refused).toBeGreaterThan(100);
  expect(proven).toBeGreaterThan(5);
  const commands = all.split("\r");
  expect(commands.filter((command) => command.startsWith("ATBRD")).length).toBeGreaterThan(50);
  expect(commands.filter((command, i) => command === "" && i < commands.length - 1).length).toBeGreaterThan(
    20,
  );
}, 120_000);

test("inside a rate change no request to the vehicle passes, and the bare return only behind the rate command", () => {
  const before = fc.oneof(fc.constant(null), text, fc.constantFrom("ATBRD08", "ATBRT1C", "ATI"));
  fc.assert(
    fc.property(text, before, (command, last) => {
      let passed = true;
      try {
        expect(permitInRateChange(command, last)).toBe(command);
      } catch (error) {
        if (!isCranksideError(error, "request-refused")) throw error;
        passed = false;
      }
      if (!passed) return;
      if (command === "") expect(last).toMatch(/^ATBRD(08|11|23)$/);
      else expect(mayLeave(command) || /^ATBR(T1C|D(08|11|23))$/.test(command)).toBe(true);
      expect(command).toMatch(/^(AT|$)/);
    }),
    { numRuns: 2000 },
  );
});
