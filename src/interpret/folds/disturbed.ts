/** When acts that a person marked disturb what is read: from the mark on, and a while behind its end. */
import type { MarkEvent } from "../../../shared/recording/format.ts";
import { disturbs, type Disturbable } from "../tables/disturbs.ts";

/** A person marks by hand, a moment late, milliseconds (an estimate, as at the edges of marked intervals). */
const handMs = 500;

interface Span {
  readonly from: number;
  readonly to: number;
  readonly of: readonly Disturbable[];
}

export class Disturbed {
  readonly #spans: readonly Span[];

  constructor(marks: readonly MarkEvent[]) {
    this.#spans = marks.flatMap((mark) => spanOf(mark) ?? []);
  }

  get none(): boolean {
    return this.#spans.length === 0;
  }

  at(t: number, what: Disturbable): boolean {
    return this.#spans.some(({ from, to, of }) => t >= from && t < to && of.includes(what));
  }

  /** The same for every reading before `t`: nothing that was taken has to be taken anew. */
  sameBefore(t: number, other: Disturbed): boolean {
    return (this.none && other.none) || this.#before(t) === other.#before(t);
  }

  #before(t: number): string {
    const spans = this.#spans.filter(({ from }) => from < t);
    return JSON.stringify(spans.map(({ from, to, of }) => [from, Math.min(to, t), of]));
  }
}

/** Looked at again and again while a recording grows; a mark that is changed is another event. */
const known = new WeakMap<MarkEvent, Span | null>();

function spanOf(mark: MarkEvent): Span | null {
  const before = known.get(mark);
  if (before !== undefined) return before;
  const row = disturbs.find(({ label }) => label.test(mark.label));
  const to = (mark.until ?? mark.at) + (row?.seconds ?? 0) * 1000;
  const span = row === undefined ? null : { from: mark.at - handMs, to, of: row.disturbs };
  known.set(mark, span);
  return span;
}
