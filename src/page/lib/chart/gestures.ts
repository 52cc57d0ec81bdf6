/** What a hand does over the chart, by mouse, pen or finger, as parts of the plot's width (0 left, 1 right). */
export interface GestureHandlers {
  hover(part: number | null): void;
  /** Moves the paper: a positive part shows later times. */
  pan(part: number): void;
  zoom(factor: number, around: number): void;
  /** A stretch is being pulled out; null when given up. */
  pull(stretch: { from: number; to: number } | null): void;
  pulled(stretch: { from: number; to: number }): void;
  /** A click that moved nothing. */
  tap(part: number): void;
  whole(): void;
}

export interface GestureOptions {
  /** True: a plain drag pulls out a stretch (the time axis); false: it moves the paper (the lanes). */
  readonly pulls: boolean;
}

/** Less movement than this is a click. */
const stillPx = 4;

/** Listens on an element; returns what stops it. */
export function gestures(
  element: HTMLElement,
  handlers: GestureHandlers,
  options: GestureOptions,
): () => void {
  const pointers = new Map<number, { x: number; startX: number }>();
  let mode: "none" | "still" | "pan" | "pull" | "pinch" = "none";
  let spread = 0;

  const width = (): number => Math.max(1, element.clientWidth);
  const partAt = (clientX: number): number => (clientX - element.getBoundingClientRect().left) / width();
  const ordered = (a: number, b: number): { from: number; to: number } => ({
    from: Math.min(a, b),
    to: Math.max(a, b),
  });

  const down = (event: PointerEvent): void => {
    if (event.button !== 0) return;
    element.setPointerCapture(event.pointerId);
    pointers.set(event.pointerId, { x: event.clientX, startX: event.clientX });
    if (pointers.size === 2) {
      mode = "pinch";
      spread = spreadOf();
    } else mode = "still";
  };

  const spreadOf = (): number => {
    const [a, b] = [...pointers.values()];
    return a === undefined || b === undefined ? 1 : Math.max(8, Math.abs(a.x - b.x));
  };

  const move = (event: PointerEvent): void => {
    const pointer = pointers.get(event.pointerId);
    if (pointer === undefined) {
      if (event.pointerType !== "touch") handlers.hover(partAt(event.clientX));
      return;
    }
    const by = event.clientX - pointer.x;
    pointer.x = event.clientX;
    if (mode === "pinch") {
      pinch();
      return;
    }
    if (mode === "still") {
      if (Math.abs(event.clientX - pointer.startX) < stillPx) return;
      mode = options.pulls || event.shiftKey ? "pull" : "pan";
    }
    if (mode === "pan") handlers.pan(-by / width());
    if (mode === "pull") handlers.pull(ordered(partAt(pointer.startX), partAt(event.clientX)));
    handlers.hover(partAt(event.clientX));
  };

  const pinch = (): void => {
    const now = spreadOf();
    const xs = [...pointers.values()].map((p) => p.x);
    const middle = xs.reduce((a, b) => a + b, 0) / xs.length;
    handlers.zoom(spread / now, partAt(middle));
    spread = now;
  };

  const up = (event: PointerEvent): void => {
    const pointer = pointers.get(event.pointerId);
    pointers.delete(event.pointerId);
    if (pointer === undefined) return;
    if (mode === "still") handlers.tap(partAt(event.clientX));
    if (mode === "pull") {
      handlers.pull(null);
      handlers.pulled(ordered(partAt(pointer.startX), partAt(event.clientX)));
    }
    mode = "none";
  };

  const cancel = (event: PointerEvent): void => {
    if (pointers.delete(event.pointerId) && mode === "pull") handlers.pull(null);
    mode = "none";
  };

  const wheel = (event: WheelEvent): void => {
    event.preventDefault();
    const unit = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 30 : 1;
    const sideways = event.shiftKey ? event.deltaY + event.deltaX : event.deltaX;
    if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY))
      handlers.pan((sideways * unit) / width());
    else handlers.zoom(Math.exp(event.deltaY * unit * 0.0015), partAt(event.clientX));
  };

  const leave = (): void => handlers.hover(null);
  const double = (): void => handlers.whole();

  element.addEventListener("pointerdown", down);
  element.addEventListener("pointermove", move);
  element.addEventListener("pointerup", up);
  element.addEventListener("pointercancel", cancel);
  element.addEventListener("pointerleave", leave);
  element.addEventListener("dblclick", double);
  element.addEventListener("wheel", wheel, { passive: false });
  return () => {
    element.removeEventListener("pointerdown", down);
    element.removeEventListener("pointermove", move);
    element.removeEventListener("pointerup", up);
    element.removeEventListener("pointercancel", cancel);
    element.removeEventListener("pointerleave", leave);
    element.removeEventListener("dblclick", double);
    element.removeEventListener("wheel", wheel);
  };
}
