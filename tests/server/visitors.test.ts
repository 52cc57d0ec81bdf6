import { expect, test } from "vitest";
import { VirtualClock } from "../../adapters/link/clock.ts";
import type { Role, ServerMessage } from "../../shared/messages.ts";
import { Visitors, type Visitor } from "../../src/server/visitors.ts";

interface Heard extends Visitor {
  readonly heard: ServerMessage[];
  away: boolean;
}

function visitor(role: Role = "full"): Heard {
  const heard: ServerMessage[] = [];
  const one: Heard = {
    role,
    heard,
    away: false,
    tell: (message) => heard.push(message),
    send: () => undefined,
    sendAway: () => (one.away = true),
  };
  return one;
}

function setting() {
  const clock = new VirtualClock();
  let gone = 0;
  const elsewhere = new Set(["elsewhere"]);
  const open: (readonly string[])[] = [];
  const visitors = new Visitors({
    ...{ clock, ownerGoneMs: 120_000 },
    onOwnerGone: () => (gone += 1),
    otherProgramAt: (job) => (elsewhere.has(job) ? "another program" : null),
    onJobs: (jobs) => open.push([...jobs]),
  });
  return { clock, visitors, gone: () => gone, open, elsewhere };
}

test("the second page is told who drives, and takes over by one act", () => {
  const { visitors } = setting();
  const [first, second] = [visitor(), visitor()];
  visitors.come(first);
  visitors.come(second);
  visitors.drive(first);
  expect(second.heard.at(-1)).toMatchObject({
    type: "you",
    holder: expect.stringContaining("opened at") as string,
  });
  expect(first.heard.at(-1)).toMatchObject({ type: "you", holder: null });
  expect(() => visitors.drive(second)).toThrow(expect.objectContaining({ code: "link-held" }) as Error);
  visitors.take(second);
  expect(() => visitors.drive(first)).toThrow(expect.objectContaining({ code: "link-held" }) as Error);
  visitors.drive(second);
});

test("the link of a page that went is left to the other one", () => {
  const { visitors } = setting();
  const [first, second] = [visitor(), visitor()];
  visitors.come(first);
  visitors.come(second);
  visitors.drive(first);
  visitors.go(first);
  expect(second.heard.at(-1)).toMatchObject({ type: "you", holder: null });
  visitors.drive(second);
});

test("a device of the network drives nothing and owns nothing", () => {
  const { clock, visitors, gone } = setting();
  const [owner, guest] = [visitor(), visitor("mark")];
  visitors.come(owner);
  visitors.come(guest);
  for (const act of [
    () => visitors.drive(guest),
    () => visitors.take(guest),
    () => visitors.mustBeFull(guest),
  ]) {
    expect(act).toThrow(expect.objectContaining({ code: "role-refused" }) as Error);
  }
  visitors.drive(owner);
  visitors.go(owner);
  clock.advance(120_000);
  expect(gone()).toBe(1);
  visitors.sendGuestsAway();
  expect(guest.away).toBe(true);
});

test("two pages on one job are told of each other, until one lays it aside or goes; a guest counts for nobody", () => {
  const { visitors, open } = setting();
  const [first, second, guest] = [visitor(), visitor(), visitor("mark")];
  for (const one of [first, second, guest]) visitors.come(one);
  visitors.openJob(first, "cart");
  visitors.openJob(guest, "cart");
  expect(first.heard.at(-1)).toMatchObject({ beside: null });
  visitors.openJob(second, "cart");
  const opened = expect.stringContaining("opened at") as string;
  expect(first.heard.at(-1)).toMatchObject({ type: "you", beside: opened });
  expect(second.heard.at(-1)).toMatchObject({ type: "you", beside: opened });
  expect(guest.heard.filter((m) => m.type === "you" && m.beside !== null)).toEqual([]);
  visitors.openJob(second, "elsewhere");
  expect(first.heard.at(-1)).toMatchObject({ beside: null });
  expect(second.heard.at(-1)).toMatchObject({ beside: "another program" });
  visitors.openJob(second, "cart");
  visitors.go(second);
  expect(first.heard.at(-1)).toMatchObject({ beside: null });
  expect(open.at(-1)).toEqual(["cart"]);
});

test("a program that opens the job later, or lays it aside, is told of within seconds, once", () => {
  const { clock, visitors, elsewhere } = setting();
  const page = visitor();
  visitors.come(page);
  visitors.openJob(page, "cart");
  elsewhere.add("cart");
  const before = page.heard.length;
  clock.advance(5000);
  expect(page.heard.slice(before)).toEqual([
    { type: "you", role: "full", holder: null, beside: "another program" },
  ]);
  clock.advance(60_000);
  expect(page.heard).toHaveLength(before + 1);
  elsewhere.delete("cart");
  clock.advance(5000);
  expect(page.heard.at(-1)).toMatchObject({ beside: null });
  visitors.openJob(page, null);
  expect(clock.pending).toBe(0);
});

test("after the end nobody is waited for", () => {
  const { clock, visitors } = setting();
  const page = visitor();
  visitors.come(page);
  visitors.openJob(page, "cart");
  visitors.close();
  expect(clock.pending).toBe(0);
  visitors.go(page);
  expect(clock.pending).toBe(0);
});

test("the owner counts as gone two minutes after the last page, and a page that comes back in time stops that", () => {
  const { clock, visitors, gone } = setting();
  const first = visitor();
  visitors.come(first);
  visitors.go(first);
  clock.advance(119_999);
  visitors.come(visitor());
  clock.advance(600_000);
  expect(gone()).toBe(0);
  expect(clock.pending).toBe(0);
});
