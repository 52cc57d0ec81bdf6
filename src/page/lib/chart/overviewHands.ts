import type { Stretch } from "../../../sheet/chart/stretch.ts";

/** What the strip of the whole recording moves. */
export interface Movable {
  readonly stretch: Stretch;
  show(from: number, to: number): void;
  pan(part: number): void;
}

const keyPans: Readonly<Record<string, number>> = {
  ArrowLeft: -0.25,
  ArrowRight: 0.25,
  PageUp: -1,
  PageDown: 1,
};

/** Hands and keys on the strip of the whole recording; returns what stops them. `to`: where the strip ends. */
export function overviewHands(
  element: HTMLElement,
  { view, to }: { view: () => Movable; to: () => number },
): () => void {
  let grabbed: { readonly at: number; readonly from: number } | null = null;

  const timeAt = (event: PointerEvent): number => {
    const box = element.getBoundingClientRect();
    return ((event.clientX - box.left) / Math.max(1, box.width)) * to();
  };

  /** A press beside the window brings it there; then it goes with the hand. */
  const down = (event: PointerEvent): void => {
    if (event.button !== 0) return;
    element.setPointerCapture(event.pointerId);
    const t = timeAt(event);
    const { stretch } = view();
    const length = stretch.to - stretch.from;
    const inside = t >= stretch.from && t <= stretch.to;
    const from = inside ? stretch.from : t - length / 2;
    grabbed = { at: t, from };
    if (!inside) view().show(from, from + length);
  };

  const move = (event: PointerEvent): void => {
    if (grabbed === null) return;
    const { stretch } = view();
    const from = grabbed.from + timeAt(event) - grabbed.at;
    view().show(from, from + (stretch.to - stretch.from));
  };

  const end = (): void => {
    grabbed = null;
  };

  const key = (event: KeyboardEvent): void => {
    const { stretch } = view();
    const by = keyPans[event.key];
    if (by !== undefined) view().pan(by);
    else if (event.key === "Home") view().show(0, stretch.to - stretch.from);
    else if (event.key === "End") view().show(to() - (stretch.to - stretch.from), to());
    else return;
    event.preventDefault();
    event.stopPropagation();
  };

  const off = new AbortController();
  const { signal } = off;
  element.addEventListener("pointerdown", down, { signal });
  element.addEventListener("pointermove", move, { signal });
  element.addEventListener("pointerup", end, { signal });
  element.addEventListener("pointercancel", end, { signal });
  element.addEventListener("keydown", key, { signal });
  return () => off.abort();
}
