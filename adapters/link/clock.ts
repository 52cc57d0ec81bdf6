/** The only module that reads the system's time or sets its timers. */
import { uptime } from "node:os";
import type { Clock } from "../../shared/clock.ts";
import { CranksideError } from "../../shared/errors.ts";

/** The time that the machine slept is looked for this often, milliseconds. */
const sleepLookMs = 1000;
/** The system tells the time since its start in steps of up to a second. */
const leastSleepMs = 3000;

/**
 * A monotonic clock that goes on while the machine sleeps, made of one that may stand still then and one that does
 * not: the time since the system's start, which no change of the wall clock moves. Milliseconds.
 */
export function throughSleep(monotonic: () => number, sinceStart: () => number): () => number {
  let looked = monotonic();
  const beyond = sinceStart() - looked;
  let slept = 0;
  return () => {
    const now = monotonic();
    if (now - looked < sleepLookMs) return now + slept;
    looked = now;
    const missing = sinceStart() - beyond - now - slept;
    if (missing >= leastSleepMs) slept += missing;
    return now + slept;
  };
}

export const realClock: Clock = {
  now: throughSleep(
    () => performance.now(),
    () => uptime() * 1000,
  ),
  wall: () => Date.now(),
  after(ms, callback) {
    const timer = setTimeout(callback, ms);
    return () => clearTimeout(timer);
  },
};

interface Timer {
  readonly due: number;
  /** Order of setting, which decides between timers that are due at once. */
  readonly order: number;
  readonly callback: () => void;
  cancelled: boolean;
}

/** Real time that `run` grants to file or socket work when no virtual timer is left, milliseconds. */
const idleGraceMs = 5000;

/** Cancelled timers are swept out when they outnumber the live ones and are at least this many. */
const sweepFrom = 256;

/** A clock that stands still until it is moved. The same program on it takes the same steps every time. */
export class VirtualClock implements Clock {
  #now = 0;
  #order = 0;
  #cancelled = 0;
  /** Binary heap, earliest first. */
  #heap: Timer[] = [];
  readonly #wallStart: number;
  readonly #turnEvery: number;
  #steps = 0;

  /**
   * `wallStart`: wall time at now() = 0, milliseconds since 1970 UTC. `turnEvery`: files, sockets and signals get
   * their turn after so many steps; more than 1 is quicker, and for runs that wait for nothing outside.
   */
  constructor(wallStart = Date.UTC(2024, 0, 1), turnEvery = 1) {
    this.#wallStart = wallStart;
    this.#turnEvery = turnEvery;
  }

  now(): number {
    return this.#now;
  }

  wall(): number {
    return this.#wallStart + this.#now;
  }

  /** Timers that are set and not cancelled. */
  get pending(): number {
    return this.#heap.length - this.#cancelled;
  }

  after(ms: number, callback: () => void): () => void {
    // `ms > 0` also sends NaN to zero, as setTimeout does.
    const due = this.#now + (ms > 0 ? ms : 0);
    const timer: Timer = { due, order: this.#order++, callback, cancelled: false };
    this.#push(timer);
    return () => {
      if (timer.cancelled) return;
      timer.cancelled = true;
      this.#cancelled += 1;
      if (this.#cancelled >= sweepFrom && this.#cancelled * 2 > this.#heap.length) this.#sweep();
    };
  }

  /** Moves on by `ms`, calling back all that falls due, in order. Promises are not waited for: see `run`. */
  advance(ms: number): void {
    const until = this.#now + ms;
    for (let timer = this.#next(); timer !== undefined && timer.due <= until; timer = this.#next()) {
      this.#fire(timer);
    }
    this.#now = until;
  }

  /** The machine sleeps for `ms`: the time goes on and timers are late. */
  sleep(ms: number): void {
    this.#now += ms;
  }

  /** Moves on by `ms` and lets promises settle after each timer. */
  async pass(ms: number): Promise<void> {
    const until = this.#now + ms;
    await settle();
    for (let timer = this.#next(); timer !== undefined && timer.due <= until; timer = this.#next()) {
      this.#fire(timer);
      await this.#settled();
    }
    this.#now = until;
  }

  #settled(): Promise<void> {
    this.#steps += 1;
    return this.#steps % this.#turnEvery === 0 ? settle() : settlePromises();
  }

  /**
   * Lets all promises settle, then jumps to the next timer, again and again until the condition holds or the
   * promise is settled; a rejected promise rejects here. Rejects with `clock-stuck` when `limitMs` of this
   * clock have passed, or when no timer is left and nothing happens for some real seconds.
   */
  async run(until: (() => boolean) | Promise<unknown>, limitMs = 3_600_000): Promise<void> {
    const watch = typeof until === "function" ? null : watchPromise(until);
    const done = typeof until === "function" ? until : (): boolean => watch?.settled === true;
    const limit = this.#now + limitMs;
    for (;;) {
      await this.#settled();
      if (done()) break;
      let timer = this.#next();
      if (timer === undefined) {
        await this.#waitIdle(done);
        if (done()) break;
        timer = this.#next();
        if (timer === undefined) throw stuck("no timer is left to wait for", this.#now);
      }
      if (timer.due > limit) throw stuck(`it did not happen within ${limitMs} ms of the clock`, this.#now);
      this.#fire(timer);
    }
    if (watch?.failed === true) throw watch.reason;
  }

  /** Files and sockets do not run on this clock: gives them real time. */
  async #waitIdle(done: () => boolean): Promise<void> {
    const start = performance.now();
    while (!done() && this.#next() === undefined && performance.now() - start < idleGraceMs) {
      await new Promise((resolve) => {
        setTimeout(resolve, 1);
      });
    }
  }

  #fire(timer: Timer): void {
    this.#pop();
    if (timer.due > this.#now) this.#now = timer.due;
    timer.cancelled = true; // Cancelling after this must change nothing.
    timer.callback();
  }

  #next(): Timer | undefined {
    for (;;) {
      const first = this.#heap[0];
      if (first === undefined || !first.cancelled) return first;
      this.#pop();
      this.#cancelled -= 1;
    }
  }

  #sweep(): void {
    const live = this.#heap.filter((timer) => !timer.cancelled).sort((a, b) => (before(a, b) ? -1 : 1));
    this.#heap = live; // A sorted list is a heap.
    this.#cancelled = 0;
  }

  #push(timer: Timer): void {
    const heap = this.#heap;
    let at = heap.length;
    heap.push(timer);
    while (at > 0) {
      const parentAt = (at - 1) >> 1;
      const parent = heap[parentAt];
      if (parent === undefined || !before(timer, parent)) break;
      heap[at] = parent;
      at = parentAt;
    }
    heap[at] = timer;
  }

  #pop(): void {
    const heap = this.#heap;
    const last = heap.pop();
    if (last === undefined || heap.length === 0) return;
    let at = 0;
    for (;;) {
      let childAt = 2 * at + 1;
      let child = heap[childAt];
      if (child === undefined) break;
      const right = heap[childAt + 1];
      if (right !== undefined && before(right, child)) {
        childAt += 1;
        child = right;
      }
      if (!before(child, last)) break;
      heap[at] = child;
      at = childAt;
    }
    heap[at] = last;
  }
}

function before(a: Timer, b: Timer): boolean {
  return a.due < b.due || (a.due === b.due && a.order < b.order);
}

/** One turn of the event loop: every promise that can settle without I/O has settled after it. */
function settle(): Promise<void> {
  return new Promise((resolve) => {
    setImmediate(resolve);
  });
}

/** Every promise that can settle by itself has settled after it: Node drains them all before the next tick. */
function settlePromises(): Promise<void> {
  return new Promise((resolve) => {
    process.nextTick(resolve);
  });
}

interface Watch {
  settled: boolean;
  failed: boolean;
  reason: unknown;
}

function watchPromise(promise: Promise<unknown>): Watch {
  const watch: Watch = { settled: false, failed: false, reason: undefined };
  promise.then(
    () => {
      watch.settled = true;
    },
    (reason: unknown) => {
      watch.settled = true;
      watch.failed = true;
      watch.reason = reason;
    },
  );
  return watch;
}

function stuck(found: string, now: number): CranksideError {
  return new CranksideError("clock-stuck", "waited in vain on the virtual clock", {
    found,
    where: `${now} ms`,
  });
}
