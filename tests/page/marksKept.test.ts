/** Marks on their way into their recording: kept beside the page, tried again, and taken back where they are refused. */
import { expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import type { MarkEvent } from "../../shared/recording/format.ts";
import type { Failure } from "../../shared/messages.ts";
import { StorageMarkKeep } from "../../src/page/lib/marks/markKeep.ts";
import { FormKeep } from "../../src/page/lib/job/formKeep.ts";
import { Marks, type Mark } from "../../src/page/lib/marks/marks.svelte.ts";
import { settled } from "./fakeServer.ts";
import { fakeStorage } from "./fakeStorage.ts";

const file = "2024-03-02-van.ndjson";
const away: Failure = { code: "link-closed", message: "away" };
const refused: Failure = { code: "wrong-use", message: "no such instant" };

interface Made {
  readonly marks: Marks;
  readonly clock: VirtualClock;
  readonly said: string[];
  readonly sent: (Mark & { removed?: true })[];
  failure: Failure | null;
  hold: Promise<void> | null;
}

function made(box: Storage, bundled = false): Made {
  const inRecording = new Map<string, MarkEvent>();
  const recording = {
    file,
    bundled,
    reading: {
      get marks(): readonly MarkEvent[] {
        return [...inRecording.values()];
      },
    },
  };
  const clock = new VirtualClock();
  const save = async (mark: Mark & { removed?: true }) => {
    one.sent.push(mark);
    const { failure } = one;
    if (one.hold !== null) await one.hold;
    if (failure !== null) return { ok: false, failure } as const;
    const { removed, ...kept } = mark;
    if (removed === true) inRecording.delete(mark.id);
    else inRecording.set(mark.id, { k: "mark", t: 0, ...kept });
    return { ok: true, ports: [] } as const;
  };
  const said: string[] = [];
  const marks = new Marks(
    { recording, save },
    new StorageMarkKeep(() => box),
    (text) => void said.push(text),
    new FormKeep(() => box),
  );
  const one: Made = { marks, clock, said, sent: [], failure: null, hold: null };
  return one;
}

const again = (one: Made): Promise<void> => {
  one.marks.retry();
  return settled();
};
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
  await again(one);
  expect([one.said, one.sent.length, one.marks.all.length]).toEqual([
    ["The mark is not kept yet: away"],
    2,
    1,
  ]);
  const next = made(box);
  expect(next.marks.all.length).toBe(1);
  await again(next);
  expect([next.sent.length, kept(box), next.marks.all.length]).toEqual([1, [], 1]);
  await again(next);
  expect(next.sent.length).toBe(1);
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
  expect([id === other, one.marks.all.map((m) => m.label), kept(box)]).toEqual([false, ["hose off"], []]);
});

test("in a sample that ships with the program no mark is kept", () => {
  const box = fakeStorage();
  const one = made(box, true);
  expect([one.marks.drop(1), one.sent, kept(box)]).toEqual([null, [], []]);
  expect(one.said[0]).toContain("read only");
});

test("where nothing can be kept, closing would lose a mark until it is in the recording", async () => {
  const one = made(fakeStorage(true));
  one.marks.drop(1);
  expect(one.marks.wouldLose).toBe(true);
  await settled();
  expect(one.marks.wouldLose).toBe(false);
});
