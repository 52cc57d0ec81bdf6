/** Complaint and vehicle as they are typed: of the recording that is shown, and of the one that comes next. */
import { expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { requestSchema, type Failure } from "../../shared/messages.ts";
import type { JobFacts } from "../../shared/vehicle.ts";
import { keptFacts, recordingOutboxes } from "../../src/page/lib/app/recordingOutboxes.ts";
import { NextFacts } from "../../src/page/lib/job/nextFacts.svelte.ts";
import { RecordingFacts } from "../../src/page/lib/job/recordingFacts.svelte.ts";
import { settled } from "./fakeServer.ts";
import { fakeStorage } from "./fakeStorage.ts";

const away: Failure = { code: "link-closed", message: "away" };
const wrong: Failure = { code: "facts-invalid", message: "not facts" };

interface Made {
  readonly facts: RecordingFacts;
  readonly clock: VirtualClock;
  readonly asked: (readonly [file: string | null, complaint: string | undefined])[];
  readonly said: Map<string, JobFacts>;
  readonly turn: (file: string, readOnly?: boolean) => void;
  readonly later: (ms: number) => Promise<void>;
  failure: Failure | null;
  live: string | null;
  hold: Promise<void> | null;
}

function made(box: Storage): Made {
  const clock = new VirtualClock();
  const said = new Map<string, JobFacts>();
  const { facts: outbox } = recordingOutboxes({
    ...{ clock, storage: () => box, say: () => undefined },
    isLive: (file) => file === one.live,
    written: () => Promise.resolve(),
    ask: async (ask) => {
      if (ask.type !== "facts") throw new Error(ask.type);
      expect(requestSchema.safeParse({ id: 1, ...ask }).success).toBe(true);
      one.asked.push([ask.recording, ask.facts.complaint]);
      if (one.hold !== null) await one.hold;
      if (one.failure !== null) return { ok: false, failure: one.failure };
      said.set(ask.recording ?? one.live ?? "", ask.facts);
      return { ok: true, ports: [] };
    },
  });
  const facts = new RecordingFacts(outbox);
  const turn = (file: string, readOnly = false): void =>
    facts.turnTo({
      ...{ file, readOnly },
      get facts() {
        return said.get(file) ?? {};
      },
    });
  const later = (ms: number): Promise<void> => {
    clock.advance(ms);
    return settled();
  };
  const one: Made = {
    ...{ facts, clock, said, turn, later, asked: [] },
    ...{ failure: null, live: null, hold: null },
  };
  return one;
}

test("typed facts are there at once, and saved a moment after the last key", async () => {
  const box = fakeStorage();
  const one = made(box);
  one.turn("van");
  one.facts.setComplaint("Sha");
  await one.later(600);
  one.facts.setComplaint("Shakes.");
  one.facts.setVehicle("cylinders", 4);
  await one.later(699);
  expect([one.facts.facts, one.facts.saved, one.asked]).toEqual([
    ...[{ complaint: "Shakes.", vehicle: { cylinders: 4 } }, "typing", []],
  ]);
  await one.later(1);
  expect([one.asked, one.facts.saved, Object.keys(box)]).toEqual([[["van", "Shakes."]], "kept", []]);
  one.facts.setComplaint("  ");
  one.facts.setVehicle("cylinders", undefined);
  expect(one.facts.facts).toEqual({ vehicle: {} });
});

test("those of the live recording go into it, whatever its name", async () => {
  const one = made(fakeStorage());
  one.live = "van";
  one.turn("van");
  one.facts.setComplaint("Shakes.");
  await one.facts.flush();
  expect([one.asked, one.facts.facts]).toEqual([[[null, "Shakes."]], { complaint: "Shakes." }]);
});

test("another recording is turned to while the first is saved: nothing is left of it beside the page", async () => {
  const box = fakeStorage();
  const one = made(box);
  one.turn("van");
  one.facts.setComplaint("Shakes.");
  one.turn("bus");
  expect([one.facts.facts, one.facts.saved]).toEqual([{}, "kept"]);
  await settled();
  expect([one.said.get("van"), one.said.get("bus"), Object.keys(box)]).toEqual([
    ...[{ complaint: "Shakes." }, undefined, []],
  ]);
});

test("away, they are tried again, also when another recording was turned to; the next page finds them", async () => {
  const box = fakeStorage();
  const one = made(box);
  one.failure = away;
  one.turn("van");
  one.facts.setComplaint("Shakes.");
  await one.facts.flush();
  expect([one.facts.saved, one.facts.failure]).toEqual(["failed", away]);
  one.turn("bus");
  await settled();
  const next = made(box);
  next.turn("van");
  expect(next.facts.facts).toEqual({ complaint: "Shakes." });
  one.failure = null;
  await one.later(3000);
  expect([one.said.get("van"), Object.keys(box)]).toEqual([{ complaint: "Shakes." }, []]);
  await next.later(0);
  expect([next.said.get("van"), next.facts.saved]).toEqual([{ complaint: "Shakes." }, "kept"]);
});

test("what is refused stays in its field and is told, until it is typed anew", async () => {
  const box = fakeStorage();
  const one = made(box);
  one.failure = wrong;
  one.turn("van");
  one.facts.setComplaint("Shakes.");
  await one.later(60_000);
  expect([one.asked.length, one.facts.saved, one.facts.failure, one.facts.facts]).toEqual([
    ...[1, "failed", wrong, { complaint: "Shakes." }],
  ]);
  one.failure = null;
  one.facts.setComplaint("Shakes at idle.");
  expect(one.facts.failure).toBeNull();
  await one.later(700);
  expect([one.facts.saved, one.asked.length, Object.keys(box)]).toEqual(["kept", 2, []]);
});

test("typed on during a save, the later words are sent behind it", async () => {
  const one = made(fakeStorage());
  let go: () => void = () => undefined;
  one.turn("van");
  one.hold = new Promise((resolve) => (go = resolve));
  one.facts.setComplaint("Sha");
  await one.later(700);
  one.facts.setComplaint("Shakes.");
  one.hold = null;
  go();
  await settled();
  expect([one.facts.facts, one.facts.saved]).toEqual([{ complaint: "Shakes." }, "typing"]);
  await one.later(700);
  expect([one.said.get("van"), one.facts.saved]).toEqual([{ complaint: "Shakes." }, "kept"]);
});

test("what was left of a sample is not sent into it; what another tab types meanwhile is not taken away", async () => {
  const box = fakeStorage();
  keptFacts(() => box).write("sample", { complaint: "Mine" });
  const one = made(box);
  one.turn("sample", true);
  await one.later(10_000);
  expect([one.asked, one.facts.readOnly, one.facts.facts]).toEqual([[], true, {}]);
  one.turn("van");
  one.facts.setComplaint("Shakes.");
  keptFacts(() => box).write("van", { complaint: "Shakes at idle." });
  await one.facts.flush();
  expect([keptFacts(() => box).read("van"), one.facts.saved]).toEqual([
    { complaint: "Shakes at idle." },
    "kept",
  ]);
});

test("where nothing can be kept, closing would lose words until they are saved", async () => {
  const one = made(fakeStorage(true));
  one.turn("van");
  expect(one.facts.wouldLose).toBe(false);
  one.facts.setComplaint("Shakes.");
  expect(one.facts.wouldLose).toBe(true);
  await one.facts.flush();
  expect(one.facts.wouldLose).toBe(false);
});

test("facts of the next recording outlive the page until a recording begins with them", () => {
  const box = fakeStorage();
  const next = new NextFacts(keptFacts(() => box));
  next.setComplaint("Does not start.");
  next.setVehicle("cylinders", 4);
  next.setVehicle("fuel", "diesel");
  next.setVehicle("fuel", undefined);
  const typed = { complaint: "Does not start.", vehicle: { cylinders: 4 } };
  expect([next.facts, next.typedHere, next.wouldLose]).toEqual([typed, typed, false]);
  const after = new NextFacts(keptFacts(() => box));
  // Whatever vehicle that was about, it was not typed here.
  expect([after.facts, after.typedHere]).toEqual([typed, {}]);
  after.taken();
  expect([Object.keys(box), after.facts]).toEqual([[], typed]);
  after.setComplaint("Else.");
  after.begin({});
  expect([Object.keys(box), after.facts, after.typedHere]).toEqual([[], {}, {}]);
  const careless = new NextFacts(keptFacts(() => fakeStorage(true)));
  careless.setComplaint("x");
  expect(careless.wouldLose).toBe(true);
});
