import { readyLabels } from "./marks.svelte.ts";

/** So many of the person's own labels stand before those that are ready for everybody. */
const mostOwn = 6;
const ofCylinder = /^cylinder (\d+)/;

/** The person's own first; cylinders only as far as the engine has them. */
export function labelsFor(own: readonly string[], cylinders: number): string[] {
  return [...new Set([...own.slice(0, mostOwn), ...readyLabels])].filter(
    (label) => Number(ofCylinder.exec(label)?.[1] ?? 0) <= cylinders,
  );
}

/** For a small screen: what is done to one cylinder or another is one label, which then asks for the number. */
export function labelsApart(labels: readonly string[]): {
  readonly plain: readonly string[];
  readonly cylinders: readonly string[];
} {
  return {
    plain: labels.filter((label) => !ofCylinder.test(label)),
    cylinders: labels.filter((label) => ofCylinder.test(label)),
  };
}
