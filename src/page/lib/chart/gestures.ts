import type { View } from "./view.svelte.ts";

/** Less movement than this is a click. */
const stillPx = 4;

/**
 * The view under a hand, by mouse, pen or finger; returns what lets go of it. `pulls`: a plain drag pulls out a stretch
 * (the time axis) and a tap does nothing; else it moves the paper (the lanes).
 */
export function gestures(element: HTMLElement, view: View, pulls: boolean): () => void {
  const pointers = new Map<number, { x: number; y: number; startX: number }>();
  let mode: "none" | "still" | "pan" | "pull" | "pinch" = "none";
  /** Of two fingers: how far apart they are, and where the middle between them is. */
  let two = { apart: 1, middle: 0 };

  const width = (): number => Math.max(1, element.clientWidth);
  const partAt = (clientX: number): number => (clientX - element.getBoundingClientRect().left) / width();
  const ordered = (a: number, b: number): { from: number; to: number } => ({
    from: Math.min(a, b),
    to: Math.max(a, b),
  });

  const down = (event: PointerEvent): void => {
    if (event.button !== 0) return;
    element.setPointerCapture(event.pointerId);
    pointers.set(event.pointerId, { x: event.clientX, y: event.clientY, startX: event.clientX });
    if (pointers.size === 2) {
      mode = "pinch";
      two = twoOf();
    } else mode = "still";
  };

  const twoOf = (): typeof two => {
    const [a, b] = [...pointers.values()];
    if (a === undefined || b === undefined) return two;
    return { apart: Math.max(8, Math.hypot(a.x - b.x, a.y - b.y)), middle: (a.x + b.x) / 2 };
  };

  const move = (event: PointerEvent): void => {
    const pointer = pointers.get(event.pointerId);
    if (pointer === undefined) {
      if (event.pointerType !== "touch") view.hover(partAt(event.clientX));
      return;
    }
    const by = event.clientX - pointer.x;
    [pointer.x, pointer.y] = [event.clientX, event.clientY];
    if (mode === "pinch") {
      pinch();
      return;
    }
    if (mode === "still") {
      if (Math.abs(event.clientX - pointer.startX) < stillPx) return;
      mode = pulls || event.shiftKey ? "pull" : "pan";
    }
    if (mode === "pan") view.pan(-by / width());
    if (mode === "pull") view.pull(ordered(partAt(pointer.startX), partAt(event.clientX)));
    view.hover(partAt(event.clientX));
  };

  /** What was under the middle stays under it. */
  const pinch = (): void => {
    const before = two;
    two = twoOf();
    view.zoom(before.apart / two.apart, partAt(before.middle));
    // The live end stays in view while it is followed.
    if (!view.following) view.pan((before.middle - two.middle) / width());
  };

  const up = (event: PointerEvent): void => {
    const pointer = pointers.get(event.pointerId);
    pointers.delete(event.pointerId);
    if (pointer === undefined) return;
    if (mode === "still" && !pulls) view.tap(partAt(event.clientX));
    if (mode === "pull") {
      view.pull(null);
      view.pulled(ordered(partAt(pointer.startX), partAt(event.clientX)));
    }
    mode = "none";
  };

  const cancel = (event: PointerEvent): void => {
    if (pointers.delete(event.pointerId) && mode === "pull") view.pull(null);
    mode = "none";
  };

  const wheel = (event: WheelEvent): void => {
    event.preventDefault();
    const unit = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 30 : 1;
    const sideways = event.shiftKey ? event.deltaY + event.deltaX : event.deltaX;
    if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY))
      view.pan((sideways * unit) / width());
    else view.zoom(Math.exp(event.deltaY * unit * 0.0015), partAt(event.clientX));
  };

  const leave = (): void => view.hover(null);
  const double = (): void => view.whole();

  const off = new AbortController();
  const { signal } = off;
  element.addEventListener("pointerdown", down, { signal });
  element.addEventListener("pointermove", move, { signal });
  element.addEventListener("pointerup", up, { signal });
  element.addEventListener("pointercancel", cancel, { signal });
  element.addEventListener("pointerleave", leave, { signal });
  element.addEventListener("dblclick", double, { signal });
  element.addEventListener("wheel", wheel, { passive: false, signal });
  return () => off.abort();
}
