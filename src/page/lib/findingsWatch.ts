import type { Clock } from "../../../shared/clock.ts";
import { Interpreter, type Findings } from "../../interpret/index.ts";
import type { Reading } from "../../reading/index.ts";

/** While a recording grows, findings are worked out at most this often, and less often where that takes long. */
const leastMs = 900;
const restFactor = 20;

/** What a recording shows so far, worked out now and then while it grows and once when it is whole. */
export class FindingsWatch {
  readonly #interpreter: Interpreter;
  readonly #clock: Clock;
  #findings: Findings | null = null;
  #dueAt = Number.NEGATIVE_INFINITY;
  #end = -1;
  #whole = false;
  #facts = "";

  constructor(reading: Reading, clock: Clock) {
    this.#interpreter = new Interpreter(reading);
    this.#clock = clock;
  }

  /** `end`: how far it was read, milliseconds. `facts`: the vehicle's, as text; corrected ones change every finding. */
  at(end: number, whole: boolean, facts: string): Findings {
    const now = this.#clock.now();
    const same = whole === this.#whole && facts === this.#facts;
    if (this.#findings !== null && same && (end === this.#end || now < this.#dueAt)) return this.#findings;
    this.#end = end;
    if (whole) this.#interpreter.finish();
    else this.#interpreter.advance();
    this.#findings = this.#interpreter.findings();
    this.#whole = whole;
    this.#facts = facts;
    this.#dueAt = now + Math.max(leastMs, (this.#clock.now() - now) * restFactor);
    return this.#findings;
  }
}
