/** Marks on their way into their recording: kept beside the page, tried again, and taken back where they are refused. */
import { expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import type { MarkEvent } from "../../shared/recording/format.ts";
import { requestSchema, type Failure } from "../../shared/messages.ts";
import { unsaved, type Unsaved } from "../../src/page/lib/marks/markList.ts";
import { recordingOutboxes } from "../../src/page/lib/app/recordingOutboxes.ts";
import { FormKeep } from "../../src/page/lib/job/formKeep.ts";
import type { Outbox } from "../../src/page/lib/app/outbox.svelte.ts";
import { Marks } from "../../src/page/lib/marks/marks.svelte.ts";
import { settled } from "./fakeServer.ts";
import { fakeStorage } from "./fakeStorage.ts";

const file = "2024-03-02-van.ndjson";
const away: Failure = { code: "link-closed", message: "away" };
const refused: Failure = { code: "wrong-use", message: "no such instant" };

interface Made {
  readonly marks: Marks;
  readonly outbox: Outbox<Unsaved>;
  readonly clock: VirtualClock;
  readonly said: string[];
  readonly sent: Unsaved[];
  failure: Failure | null;
  hold: Promise<void> | null;
}

function made(box: Storage): Made {
  const inRecording = new Map<string, MarkEvent>();
  const reading = {
    get marks(): readonly MarkEvent[] {
      return [...inRecording.values()];
    },
  };
  const clock = new VirtualClock();
  const [said, sent]: [string[], Unsaved[]] = [[], []];
  const say = (text: string): void => void said.push(text);
  const { marks: outbox } = recordingOutboxes({
    ...{ clock, say, storage: () => box },
    isLive: () => false,
    written: () => Promise.resolve(),
    ask: async (ask) => {
      if (ask.type !== "mark" || ask.recording !== file) throw new Error(ask.type);
      // The program takes nothing else than this.
      expect(requestSchema.safeParse({ id: 1, ...ask }).success).toBe(true);
      sent.push(unsaved(ask.mark));
      const { failure } = one;
      if (one.hold !== null) await one.hold;
      if (failure !== null) return { ok: false, failure };
      const { removed, until, ...kept } = ask.mark;
      if (removed === true) inRecording.delete(kept.id);
      else inRecording.set(kept.id, { k: "mark", t: 0, ...kept, ...(until === undefined ? {} : { until }) });
      return { ok: true, ports: [] };
    },
  });
  const marks = new Marks({ file, bundled: false, reading }, outbox, say, new FormKeep(() => box));
  const one: Made = { marks, outbox, clock, said, sent, failure: null, hold: null };
  return one;
}

/** What is due by then is sent. */
async function later(one: Made, ms: number): Promise<void> {
  one.clock.advance(ms);
  await settled();
}
const kept = (box: Storage): string[] =>
  Object.keys(box).filter((name) => name.startsWith("crankside-mark-"));

test("a mark is there at once, kept beside the page until it is in the recording, and named after that", async () => {
  const box = fakeStorage();
  const one = made(box);
  const id = one.marks.drop(4000.4) ?? "";
  expect([one.marks.all, kept(box)]).toEqual([
    [{ id, at: 4000, label: "mark 1" }],
    [`crankside-mark-${file}/${id}`],
  ]);
  await settled();
  expect([one.marks.all.length, kept(box), one.said]).toEqual([1, [], []]);
  one.marks.keepName(id, " relay swapped ");
  await settled();
  expect([one.marks.all[0]?.label, one.sent.length, kept(box)]).toEqual(["relay swapped", 2, []]);
  one.marks.remove(id);
  expect(one.marks.all).toEqual([]);
  await settled();
  expect([one.marks.all, one.sent.at(-1)?.removed, kept(box)]).toEqual([[], true, []]);
});

test("away, it is told once and tried again, also by the next page", async () => {
  const box = fakeStorage();
  const one = made(box);
  one.failure = away;
  one.marks.drop(4000);
  await settled();
  await later(one, 3000);
  expect([one.said, one.sent.length, one.marks.all.length]).toEqual([
    ["The mark is not kept yet: away"],
    2,
    1,
  ]);
  const next = made(box);
  expect(next.marks.all.length).toBe(1);
  await later(next, 0);
  expect([next.sent.length, kept(box), next.marks.all.length]).toEqual([1, [], 1]);
  await later(next, 10_000);
  expect(next.sent.length).toBe(1);
  // The program is there again before the time is up.
  one.failure = null;
  one.outbox.retry();
  await settled();
  expect([one.sent.length, one.marks.all.length, one.said.length]).toEqual([3, 1, 1]);
});

test("refused, it is told and taken back; a change that was made meanwhile is a thing of its own", async () => {
  const box = fakeStorage();
  const one = made(box);
  one.failure = refused;
  const id = one.marks.drop(4000) ?? "";
  await settled();
  expect([one.said, one.marks.all, kept(box)]).toEqual([["The mark was not kept: no such instant"], [], []]);
  let go: () => void = () => undefined;
  one.hold = new Promise((resolve) => (go = resolve));
  const other = one.marks.drop(5000) ?? "";
  one.failure = null;
  one.marks.keepName(other, "hose off");
  go();
  one.hold = null;
  await settled();
  await later(one, 0);
  expect([id === other, one.marks.all.map((m) => m.label), kept(box)]).toEqual([false, ["hose off"], []]);
});

test("in a sample that ships with the program no mark is kept", () => {
  const box = fakeStorage();
  const reading = { marks: [{ k: "mark", t: 0, id: "m1", at: 5, label: "of the sample" } as const] };
  const said: string[] = [];
  const one = made(box);
  const place = { file, bundled: true, reading };
  const marks = new Marks(place, one.outbox, (text) => void said.push(text), new FormKeep(() => box));
  marks.remove("m1");
  expect([marks.drop(1), one.sent, kept(box), marks.all.length]).toEqual([null, [], [], 1]);
  expect(said).toEqual([expect.stringContaining("read only"), expect.stringContaining("read only")]);
});

test("where nothing can be kept, closing would lose a mark until it is in the recording", async () => {
  const one = made(fakeStorage(true));
  one.marks.drop(1);
  expect(one.marks.wouldLose).toBe(true);
  await settled();
  expect(one.marks.wouldLose).toBe(false);
});
