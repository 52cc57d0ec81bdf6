import { readFile } from "node:fs/promises";
import { expect, test } from "vitest";
import { realClock, throughSleep, VirtualClock } from "../../adapters/link/clock.ts";
import { memoryPair } from "../../adapters/link/memory.ts";
import { pause } from "../../shared/clock.ts";
import { isCranksideError } from "../../shared/errors.ts";

test("the virtual clock stands still until it is moved", () => {
  const clock = new VirtualClock(1000);
  let called = 0;
  clock.after(5, () => (called += 1));
  expect([clock.now(), clock.wall(), called]).toEqual([0, 1000, 0]);
  clock.advance(4);
  expect([clock.now(), clock.wall(), called]).toEqual([4, 1004, 0]);
  clock.advance(1);
  expect([clock.now(), called]).toEqual([5, 1]);
});

test("timers fire in order of their time, then of their setting, also those set on the way", () => {
  const clock = new VirtualClock();
  const fired: string[] = [];
  const note = (name: string) => () => fired.push(`${name}@${clock.now()}`);
  clock.after(30, note("late"));
  clock.after(10, () => {
    note("first")();
    clock.after(5, note("child"));
    clock.after(0, note("at once"));
  });
  clock.after(10, note("second"));
  const cancel = clock.after(12, note("never"));
  cancel();
  cancel();
  clock.advance(100);
  expect(fired).toEqual(["first@10", "second@10", "at once@10", "child@15", "late@30"]);
  expect(clock.pending).toBe(0);
});

test("a negative or unusual delay counts as none", () => {
  const clock = new VirtualClock();
  const fired: number[] = [];
  for (const ms of [-5, Number.NaN, 0]) clock.after(ms, () => fired.push(clock.now()));
  clock.advance(0);
  expect(fired).toEqual([0, 0, 0]);
});

test("many timers, many cancelled, come out sorted", () => {
  const clock = new VirtualClock();
  const fired: number[] = [];
  let seed = 1;
  const expected: number[] = [];
  for (let i = 0; i < 5000; i++) {
    seed = (seed * 1103515245 + 12345) % 2147483648;
    const due = seed % 1000;
    const cancel = clock.after(due, () => fired.push(clock.now()));
    if (i % 4 !== 0) cancel();
    else expected.push(due);
  }
  expect(clock.pending).toBe(expected.length);
  clock.advance(1000);
  expect(fired).toEqual(expected.sort((a, b) => a - b));
});

test("run lets promises settle between timers and ends when the condition holds", async () => {
  const clock = new VirtualClock();
  const steps: number[] = [];
  const work = async (): Promise<void> => {
    for (let i = 0; i < 5; i++) {
      await pause(clock, 100);
      steps.push(clock.now());
    }
  };
  const done = work();
  await clock.run(() => steps.length === 3);
  expect(clock.now()).toBe(300);
  await clock.run(done);
  expect(steps).toEqual([100, 200, 300, 400, 500]);
});

test("run rejects with the promise it waits for", async () => {
  const clock = new VirtualClock();
  const fails = pause(clock, 10).then(() => {
    throw new TypeError("as planned");
  });
  await expect(clock.run(fails)).rejects.toThrow(TypeError);
});

test("run rejects with a code when time runs out", async () => {
  const clock = new VirtualClock();
  const again = (): void => {
    clock.after(10, again);
  };
  again();
  const outcome = await clock.run(() => false, 1000).catch((error: unknown) => error);
  expect(isCranksideError(outcome, "clock-stuck")).toBe(true);
  expect(clock.now()).toBe(1000);
});

test("run waits for work that is not on the clock when no timer is left", async () => {
  const clock = new VirtualClock();
  const outside = new Promise<void>((resolve) => {
    realClock.after(20, resolve);
  });
  await clock.run(outside);
  expect(clock.now()).toBe(0);
});

test("pass moves on by exactly its time and settles promises on the way", async () => {
  const clock = new VirtualClock();
  const seen: number[] = [];
  const work = (async () => {
    for (;;) {
      await pause(clock, 40);
      seen.push(clock.now());
      if (seen.length === 3) return;
    }
  })();
  await clock.pass(100);
  expect(clock.now()).toBe(100);
  expect(seen).toEqual([40, 80]);
  await clock.run(work);
});

/** A question and an answer over a pair in memory, with a time-out on each, as the dialogue does it. */
async function converse(exchanges: number, turnEvery = 1): Promise<{ log: string; clock: VirtualClock }> {
  const clock = new VirtualClock(0, turnEvery);
  const [near, far] = memoryPair("near", "far");
  const log: string[] = [];
  far.onBytes((bytes) => {
    clock.after(60 + ((bytes[0] ?? 0) % 7), () => void far.write(Uint8Array.of(62, bytes[0] ?? 0)));
  });
  let answer: (bytes: Uint8Array) => void = () => undefined;
  near.onBytes((bytes) => answer(bytes));
  const talk = (async () => {
    for (let i = 0; i < exchanges; i++) {
      const reply = new Promise<Uint8Array>((resolve, reject) => {
        answer = resolve;
        const cancels = [400, 1000].map((ms) => clock.after(ms, () => reject(new Error("late"))));
        answer = (bytes) => {
          for (const cancel of cancels) cancel();
          resolve(bytes);
        };
      });
      await near.write(Uint8Array.of(i & 0xff));
      const bytes = await reply;
      if (i % 1000 === 0) log.push(`${clock.now()}:${bytes.join(",")}`);
    }
  })();
  await clock.run(talk, 7_200_000);
  return { log: log.join(" "), clock };
}

test("twenty minutes of exchanges take the same steps every time", async () => {
  const first = await converse(18_000);
  const second = await converse(18_000);
  expect(first.clock.now()).toBeGreaterThan(18_000 * 60);
  expect(second.log).toBe(first.log);
  expect(second.clock.now()).toBe(first.clock.now());
});

test("a clock that stands still while the machine sleeps goes on by what it slept, and never back", () => {
  let monotonic = 500;
  let sinceStart = 1_000_000;
  const now = throughSleep(
    () => monotonic,
    () => Math.floor(sinceStart / 1000) * 1000,
  );
  const awake = (ms: number): number => {
    monotonic += ms;
    sinceStart += ms;
    return now();
  };
  expect(now()).toBe(500);
  expect(awake(5000)).toBe(5500);
  sinceStart += 600_000;
  const after = awake(1500);
  expect(after - 7000).toBeGreaterThan(598_900);
  expect(after - 7000).toBeLessThan(601_100);
  let last = after;
  for (let i = 0; i < 3000; i++) {
    const next = awake(37);
    expect(next).toBeGreaterThan(last);
    last = next;
  }
  expect(last - after).toBe(3000 * 37);
});

test("the time since the system's start is taken no notice of while the machine is awake", () => {
  let monotonic = 0;
  const now = throughSleep(
    () => monotonic,
    () => monotonic + 999 * Math.sin(monotonic),
  );
  for (let i = 0; i < 1000; i++) {
    monotonic += 400;
    expect(now()).toBe(monotonic);
  }
});

test("after a sleep on the virtual clock the time has gone on and timers are late", () => {
  const clock = new VirtualClock();
  let at = 0;
  clock.after(100, () => (at = clock.now()));
  clock.sleep(600_000);
  expect([clock.now(), at]).toEqual([600_000, 0]);
  clock.advance(1);
  expect(at).toBe(600_000);
});

test("with rare turns of the event loop the steps are the same, and files get theirs all the same", async () => {
  const every = await converse(4_000);
  const rare = await converse(4_000, 64);
  expect([rare.log, rare.clock.now()]).toEqual([every.log, every.clock.now()]);
  const clock = new VirtualClock(0, 64);
  const file = readFile(import.meta.filename);
  const tick = (): void => void clock.after(1, tick);
  tick();
  await clock.run(file, 1e9);
});
