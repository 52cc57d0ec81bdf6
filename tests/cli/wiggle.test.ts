/** A harness moved by hand, from the command line: what is told second by second, and the marks that it leaves. */
import { expect, test } from "vitest";
import { aloneMs, WiggleFollower, wigglePlace, type WiggleMark } from "../../src/cli/wiggle.ts";
import { interpret } from "../../src/interpret/index.ts";
import { Reading } from "../../src/reading/index.ts";
import { but, eventsOf, idle, script } from "../interpret/scenes.ts";

test("left alone, then moved: each drop-out is told once, and the recording says the same afterwards", () => {
  const breaks = [38, 42.2, 47.6];
  const speed = (s: number): number => (breaks.some((b) => s >= b && s < b + 0.3) ? Number.NaN : 750);
  const events = eventsOf(script([but(idle(60), { "engine-speed": speed })], 10).samples);
  const reading = new Reading("moved");
  const marks: WiggleMark[] = [];
  const follower = new WiggleFollower(reading, wigglePlace(" harness at the bulkhead "), (mark) => {
    marks.push(mark);
    reading.event({ k: "mark", t: Math.max(reading.lastTime, mark.until ?? mark.at), ...mark });
  });
  const words: string[] = [];
  const news: string[] = [];
  let next = 0;
  for (let now = 1000; now <= 52_000; now += 1000) {
    for (; (events[next]?.t ?? Number.POSITIVE_INFINITY) <= now; next += 1) {
      const event = events[next];
      if (event !== undefined) reading.event(event);
    }
    const told = follower.told(now);
    words.push(told.words);
    news.push(...told.news);
  }
  follower.end(52_000);
  expect(words[0]).toBe("leave it alone, running or cranking as you will test it: 29 s");
  expect(marks).toEqual([
    { id: "wiggle", at: aloneMs, label: "wiggled: harness at the bulkhead" },
    { id: "wiggle", at: aloneMs, until: 52_000, label: "wiggled: harness at the bulkhead" },
  ]);
  expect(words.at(-1)).toBe("move it; harness at the bulkhead: 3 drop-outs in 23 s, none in 30 s before");
  expect(news.map((line) => line.replace(/^\S+ +/, ""))).toEqual([
    ...["no answer: Engine speed", "no answer: Engine speed", "no answer: Engine speed"],
  ]);
  const [found] = interpret(reading).wiggles ?? [];
  expect(found?.drops).toHaveLength(3);
  expect(found?.words).toContain("harness at the bulkhead: 3 drop-outs in 23 s, none in 30 s before");
});

test("nothing was moved where the half minute before was not over", () => {
  const marks: WiggleMark[] = [];
  const follower = new WiggleFollower(new Reading("short"), "plug", (mark) => marks.push(mark));
  follower.told(5000);
  follower.end(6000);
  expect(marks).toEqual([]);
});

test("a place has to be named", () => {
  for (const text of ["", "  ", "x".repeat(201)])
    expect(() => wigglePlace(text)).toThrow(expect.objectContaining({ code: "wrong-use" }));
});
