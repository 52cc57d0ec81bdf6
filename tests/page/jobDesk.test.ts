/** The open job as it is typed: what is kept beside the page, sent, tried again, undone, and told of. */
import { afterEach, expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import { followJob } from "../../src/page/lib/job/guestJob.ts";
import { JobDesk } from "../../src/page/lib/job/jobDesk.svelte.ts";
import { JobKeep } from "../../src/page/lib/job/jobKeep.ts";
import { FakeJobs, settled } from "./fakeServer.ts";
import { fakeStorage } from "./fakeStorage.ts";

const done = ["texts", "done"];
const open: JobDesk[] = [];

afterEach(() => {
  for (const desk of open.splice(0)) desk.close();
});

interface Made {
  readonly api: FakeJobs;
  readonly clock: VirtualClock;
  readonly box: Storage;
  readonly desk: JobDesk;
}

async function made(api = new FakeJobs("van"), box = fakeStorage(), page = "a"): Promise<Made> {
  const clock = new VirtualClock();
  const keep = new JobKeep(() => box, page, { alive: () => Promise.resolve(new Set([page])) });
  const desk = new JobDesk(api, clock, keep, () => false);
  open.push(desk);
  await desk.begin();
  return { api, clock, box, desk };
}

const kept = (box: Storage): string[] => Object.keys(box);
const textOf = ({ api }: Made, id = "van"): unknown => api.jobs.get(id)?.texts.done;

test("words are kept beside the page at once, sent a moment after the last key, and then no longer kept", async () => {
  const one = await made();
  const { desk, clock, api, box } = one;
  expect([desk.job?.id, desk.saved, desk.careless]).toEqual(["van", "kept", false]);
  desk.set(done, "Plug");
  clock.advance(300);
  desk.set(done, "Plug cleaned.");
  expect([desk.job?.texts.done, desk.saved, kept(box)]).toEqual([
    ...["Plug cleaned.", "typing"],
    ["crankside-job-van/a"],
  ]);
  clock.advance(599);
  expect(api.sent).toEqual([]);
  clock.advance(1);
  expect(desk.saved).toBe("saving");
  await settled();
  expect([desk.saved, desk.failure, textOf(one), kept(box)]).toEqual(["kept", null, "Plug cleaned.", []]);
  expect(api.sent.length).toBe(1);
});

test("away, it is told and tried again until it is there; what is typed meanwhile goes with it", async () => {
  const one = await made();
  const { desk, clock, api, box } = one;
  api.away = true;
  desk.set(done, "Plug");
  await desk.flush();
  expect([desk.saved, desk.failure?.code, kept(box).length]).toEqual(["failed", "link-closed", 1]);
  desk.set(["texts", "conclusion"], "A contact.");
  expect([desk.saved, desk.failure]).toEqual(["typing", null]);
  clock.advance(600);
  await settled();
  expect([desk.saved, api.sent.length]).toEqual(["failed", 2]);
  clock.advance(2999);
  await settled();
  expect(api.sent.length).toBe(2);
  api.away = false;
  clock.advance(1);
  await settled();
  expect([desk.saved, desk.failure, textOf(one), api.jobs.get("van")?.texts.conclusion, kept(box)]).toEqual([
    ...["kept", null, "Plug", "A contact."],
    [],
  ]);
});

test("typed on during a save, the rest is sent behind it; typed back, that is sent too", async () => {
  const one = await made();
  const { desk, clock, api, box } = one;
  api.slow();
  desk.set(done, "Plug");
  clock.advance(600);
  expect(desk.saved).toBe("saving");
  desk.set(done, "Plug cleaned.");
  api.hold?.();
  await settled();
  expect([desk.job?.texts.done, textOf(one), desk.saved, kept(box).length]).toEqual([
    ...["Plug cleaned.", "Plug", "typing", 1],
  ]);
  clock.advance(600);
  await settled();
  expect([textOf(one), desk.saved]).toEqual(["Plug cleaned.", "kept"]);
  api.slow();
  clock.advance(1500);
  desk.set(done, "Plug cleaned twice.");
  clock.advance(600);
  desk.steps.undo();
  expect([desk.job?.texts.done, desk.saved, kept(box)]).toEqual(["Plug cleaned.", "typing", []]);
  api.hold?.();
  await settled();
  expect([textOf(one), desk.job?.texts.done]).toEqual(["Plug cleaned twice.", "Plug cleaned."]);
  clock.advance(600);
  await settled();
  expect([textOf(one), desk.saved, kept(box)]).toEqual(["Plug cleaned.", "kept", []]);
});

test("typed back before it was sent, nothing is sent", async () => {
  const { desk, clock, api, box } = await made();
  desk.set(done, "Plug");
  desk.steps.undo();
  expect([desk.saved, desk.job?.texts.done, kept(box)]).toEqual(["kept", undefined, []]);
  clock.advance(10_000);
  await settled();
  expect(api.sent).toEqual([]);
});

test("one step back takes the words of one field back; a pause or another field begins a new step", async () => {
  const { desk, clock } = await made();
  desk.set(done, "Plug");
  clock.advance(1400);
  desk.set(done, "Plug cleaned");
  clock.advance(1500);
  desk.set(done, "Plug cleaned, gap set");
  desk.set(["texts", "conclusion"], "A contact.");
  const words = (): unknown[] => [desk.job?.texts.done ?? "", desk.job?.texts.conclusion ?? ""];
  const seen: unknown[] = [];
  while (desk.steps.canUndo) {
    desk.steps.undo();
    seen.push(words());
  }
  expect(seen).toEqual([
    ["Plug cleaned, gap set", ""],
    ["Plug cleaned", ""],
    ["", ""],
  ]);
  while (desk.steps.canRedo) desk.steps.redo();
  expect(words()).toEqual(["Plug cleaned, gap set", "A contact."]);
  desk.steps.undo();
  desk.set(done, "Else");
  expect(desk.steps.canRedo).toBe(false);
});

test("what a page that is gone left is this page's own, and sent; of other jobs it is told", async () => {
  const box = fakeStorage();
  const left = (id: string, after: string): void =>
    box.setItem(`crankside-job-${id}/gone`, JSON.stringify([{ path: done, after }]));
  left("van", "Plug cleaned.");
  left("bus", "Belt seen.");
  const one = await made(new FakeJobs("van", "bus"), box);
  const { desk } = one;
  one.clock.advance(0);
  await settled();
  expect([textOf(one), desk.left]).toEqual(["Plug cleaned.", ["bus"]]);
  // Left while this page is there.
  left("van", "Plug cleaned, gap set.");
  one.clock.advance(4000);
  await settled();
  expect(desk.job?.texts.done).toBe("Plug cleaned, gap set.");
  await desk.open("bus");
  one.clock.advance(4000);
  await settled();
  expect([textOf(one, "bus"), textOf(one), desk.left]).toEqual(["Belt seen.", "Plug cleaned, gap set.", []]);
});

test("another job is opened behind what is sent of this one; away, it is laid aside only when that is saved", async () => {
  const one = await made(new FakeJobs("van", "bus"));
  const { desk, api, box } = one;
  desk.set(done, "Plug");
  await desk.open("bus");
  expect([textOf(one), desk.job?.id, desk.job?.texts.done, desk.steps.canUndo]).toEqual([
    "Plug",
    "bus",
    undefined,
    false,
  ]);
  desk.set(done, "Belt");
  api.away = true;
  await desk.leave();
  expect([desk.job?.id, desk.saved, kept(box)]).toEqual(["bus", "failed", ["crankside-job-bus/a"]]);
  api.away = false;
  await desk.leave();
  expect([desk.job, desk.saved, kept(box), api.lastOpened]).toEqual([null, "kept", [], null]);
});

test("a device of the network has the job open that lies open on the laptop, and none when none does", async () => {
  const { desk, clock, api } = await made(new FakeJobs("van", "bus"));
  const stop = followJob(desk, clock);
  const later = (ms: number): Promise<void> => {
    clock.advance(ms);
    return settled();
  };
  await settled();
  expect([desk.job?.id, api.asked]).toEqual(["van", 1]);
  api.lastOpened = "bus";
  await later(4000);
  expect(desk.job?.id).toBe("bus");
  api.lastOpened = null;
  await later(4000);
  expect([desk.job, desk.failure]).toEqual([null, null]);
  api.lastOpened = "van";
  await later(4000);
  // Away is not the same as none.
  api.away = true;
  await later(4000);
  expect([desk.job?.id, desk.failure?.code]).toEqual(["van", "link-closed"]);
  // Results that the laptop does not have yet are not left behind.
  desk.set(done, "Plug");
  api.lastOpened = null;
  await later(4000);
  expect([desk.job?.id, desk.saved]).toEqual(["van", "failed"]);
  api.away = false;
  await later(4000);
  expect([desk.job, api.jobs.get("van")?.texts.done]).toEqual([null, "Plug"]);
  stop();
  const { asked } = api;
  await later(20_000);
  expect(api.asked).toBe(asked);
});

test("what this page may not change is taken back and told, and not tried again", async () => {
  const { desk, clock, api, box } = await made();
  api.guest = true;
  desk.set(done, "Plug");
  await desk.flush();
  expect([desk.job?.texts.done, desk.saved, desk.failure?.code, desk.steps.canUndo, kept(box)]).toEqual([
    ...[undefined, "kept", "role-refused", false, []],
  ]);
  clock.advance(60_000);
  await settled();
  expect(api.sent.length).toBe(1);
});

test("what does not fit the job is not taken, and told", async () => {
  const { desk, api } = await made();
  desk.do([{ path: ["nowhere"], after: 1 }]);
  expect([desk.failure?.code, desk.saved, desk.steps.canUndo, api.sent]).toEqual([
    "job-invalid",
    "kept",
    false,
    [],
  ]);
  desk.set(done, "Plug");
  expect(desk.failure).toBeNull();
});

test("another page's words to the same field are handed back, ours stand, and theirs can be taken", async () => {
  const one = await made();
  const { desk, api } = one;
  await api.change("van", [{ path: done, after: "Theirs" }]);
  desk.set(done, "Ours");
  await desk.flush();
  expect([textOf(one), desk.conflicts.map((c) => c.theirs)]).toEqual(["Ours", ["Theirs"]]);
  const [conflict] = desk.conflicts;
  if (conflict !== undefined) desk.takeTheirs(conflict);
  await desk.flush();
  expect([textOf(one), desk.conflicts]).toEqual(["Theirs", []]);
});

test("where nothing can be kept, closing would lose words until they are saved", async () => {
  const { desk } = await made(new FakeJobs("van"), fakeStorage(true));
  expect([desk.careless, desk.wouldLose]).toEqual([true, false]);
  desk.set(done, "Plug");
  expect(desk.wouldLose).toBe(true);
  await desk.flush();
  expect(desk.wouldLose).toBe(false);
});
