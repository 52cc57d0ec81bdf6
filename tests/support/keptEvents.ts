import type { RecordingEvent, SampleEvent } from "../../shared/recording/format.ts";

/** Samples gathered in columns: 18 bytes each, where objects of the same would take a hundred. */
export class KeptEvents {
  readonly #channels: Pick<SampleEvent, "ch" | "u">[] = [];
  readonly #numbers = new Map<string, number>();
  /** What is no sample, by its place. */
  readonly #others = new Map<number, RecordingEvent>();
  #times = new Float64Array(1024);
  #values = new Float64Array(1024);
  #of = new Uint8Array(1024);
  #answered = new Uint8Array(1024);
  #length = 0;

  append(event: RecordingEvent): void {
    const at = this.#length;
    if (at === this.#times.length) this.#grow();
    this.#length += 1;
    if (event.k !== "s") {
      this.#others.set(at, event);
      return;
    }
    const { ch, u, t, v } = event;
    this.#times[at] = t;
    this.#values[at] = v ?? 0;
    this.#answered[at] = v === null ? 0 : 1;
    this.#of[at] = this.#numberOf(ch, u);
  }

  *events(): Generator<RecordingEvent> {
    for (let at = 0; at < this.#length; at++) {
      const other = this.#others.get(at);
      const { ch, u } = this.#channels[this.#of[at] ?? 0] ?? { ch: "", u: "" };
      const v = this.#answered[at] === 1 ? (this.#values[at] ?? 0) : null;
      yield other ?? { k: "s", t: this.#times[at] ?? 0, ch, v, u };
    }
  }

  #numberOf(ch: string, u: string): number {
    const name = `${ch} ${u}`;
    const known = this.#numbers.get(name) ?? this.#channels.push({ ch, u }) - 1;
    if (known > 255) throw new RangeError("more than 256 channels");
    this.#numbers.set(name, known);
    return known;
  }

  #grow(): void {
    const size = 2 * this.#times.length;
    const longer = <T extends Float64Array | Uint8Array>(into: T, from: T): T => {
      into.set(from);
      return into;
    };
    this.#times = longer(new Float64Array(size), this.#times);
    this.#values = longer(new Float64Array(size), this.#values);
    this.#of = longer(new Uint8Array(size), this.#of);
    this.#answered = longer(new Uint8Array(size), this.#answered);
  }
}
