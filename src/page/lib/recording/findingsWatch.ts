import type { Clock } from "../../../../shared/clock.ts";
import type { VehicleFacts } from "../../../../shared/vehicle.ts";
import type { Findings, Interpreter, Normal } from "../../../interpret/index.ts";
import type { Reading } from "../../../reading/index.ts";
import { Pieces } from "./pieces.ts";

/** While a recording grows, findings are worked out at most this often, and less often where that takes long. */
const leastMs = 900;
const restFactor = 20;
/** However long it takes: findings that are minutes behind are no findings. */
const mostMs = 6000;
/** Recording time that is taken between two looks at the clock, milliseconds. */
const strideMs = 15_000;

interface Watched {
  readonly reading: Reading;
  readonly vehicle: () => VehicleFacts;
  readonly normal?: () => Normal | undefined;
}

/**
 * What a recording shows so far, worked out in pieces between frames: now and then while it grows, and once when it
 * is whole. `told` gets each result.
 */
export class FindingsWatch {
  readonly #reading: Reading;
  readonly #vehicle: () => VehicleFacts;
  readonly #normal: () => Normal | undefined;
  readonly #clock: Clock;
  readonly #told: (findings: Findings) => void;
  #interpreter: Interpreter | null = null;
  /** What the interpreter holds it against, and how often that was changed. */
  #held: Normal | undefined;
  #changes = 0;
  #facts: string;
  #busy = false;
  #stopped = false;
  #dueAt = Number.NEGATIVE_INFINITY;
  /** What the last result was for. */
  #done = "";

  /** `vehicle`: the facts that it is read by; `normal`: what was learned of the vehicle. */
  constructor(
    { reading, vehicle, normal = () => undefined }: Watched,
    clock: Clock,
    told: (findings: Findings) => void,
  ) {
    this.#reading = reading;
    this.#vehicle = vehicle;
    this.#normal = normal;
    this.#clock = clock;
    this.#told = told;
    this.#facts = this.#factsNow();
  }

  /** Something came, or time went on. Returns at once; resolves when what was asked for is told, if it is due. */
  async renew(whole: boolean): Promise<void> {
    if (this.#busy || (!whole && this.#clock.now() < this.#dueAt) || !this.#isBehind(whole)) return;
    this.#busy = true;
    try {
      let spent = 0;
      do spent += await this.#work(whole);
      while (
        // A finished recording is done only when nothing was added meanwhile.
        whole &&
        !this.#stopped &&
        this.#state(whole) !== this.#done
      );
      this.#dueAt = this.#clock.now() + Math.max(leastMs, Math.min(mostMs, spent * restFactor));
    } finally {
      this.#busy = false;
    }
  }

  stop(): void {
    this.#stopped = true;
  }

  /** Milliseconds of work, pauses left out. */
  async #work(whole: boolean): Promise<number> {
    const state = this.#state(whole);
    const facts = this.#factsNow();
    if (facts !== this.#facts) {
      // Corrected facts change what everything is measured against.
      this.#facts = facts;
      this.#interpreter = null;
    }
    // It comes behind the first paint: a chart is seen without it.
    const { Interpreter } = await import("../../../interpret/index.ts");
    const interpreter = (this.#interpreter ??= new Interpreter(this.#reading, this.#vehicle(), this.#held));
    const end = this.#reading.lastTime;
    const pieces = new Pieces(this.#clock);
    for (let until = 0; until < end; until += strideMs) {
      interpreter.advance(until);
      if (!pieces.full) continue;
      await pieces.rest();
      if (this.#stopped) return pieces.spent;
    }
    if (whole) interpreter.finish();
    else interpreter.advance();
    this.#told(interpreter.findings());
    this.#done = state;
    return pieces.spent;
  }

  #isBehind(whole: boolean): boolean {
    return !this.#stopped && this.#state(whole) !== this.#done;
  }

  #factsNow(): string {
    return JSON.stringify(this.#vehicle());
  }

  #state(whole: boolean): string {
    const normal = this.#normal();
    if (normal !== this.#held) {
      this.#held = normal;
      this.#changes += 1;
      this.#interpreter = null;
    }
    const { lastTime, marks, notices } = this.#reading;
    const marked = marks.map((m) => `${m.id} ${m.at} ${m.until ?? ""} ${m.label}`).join();
    return `${whole} ${this.#changes} ${lastTime} ${notices.length} ${marked} ${this.#factsNow()}`;
  }
}
