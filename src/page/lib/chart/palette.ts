/** Colours of the canvas, read from the style sheet's tokens so that they are named in one place. */
export interface Palette {
  readonly traces: readonly string[];
  readonly band: string;
  readonly grid: string;
  readonly muted: string;
  readonly missed: string;
  readonly font: string;
  /** Device pixels of a trace: one keeps frames short, the sun takes more. */
  readonly weight: number;
}

export function readPalette(element: Element): Palette {
  const style = getComputedStyle(element);
  const token = (name: string): string => style.getPropertyValue(name).trim();
  return {
    traces: [1, 2, 3, 4, 5].map((n) => token(`--trace-${n}`)),
    band: token("--band"),
    grid: token("--grid"),
    muted: token("--ink-soft"),
    missed: token("--missed"),
    font: `11px ${token("--font")}`,
    weight: Number(token("--trace-weight")) || 1,
  };
}
