/** An instant, or with `until` a stretch, with its label. Milliseconds since the start. */
export interface Mark {
  readonly id: string;
  readonly at: number;
  readonly until?: number;
  readonly label: string;
}

/** A mark as it was asked to be kept. */
export type Unsaved = Mark & { readonly removed?: true };

interface MarkRead {
  readonly id: string;
  readonly at: number;
  readonly until?: number | undefined;
  readonly label: string;
  readonly removed?: true | undefined;
}

/** Nothing but what is said of a mark; one that was read from a recording carries more. */
export function unsaved({ id, at, until, label, removed }: MarkRead): Unsaved {
  return {
    ...{ id, at, label },
    ...(until === undefined ? {} : { until }),
    ...(removed === undefined ? {} : { removed }),
  };
}

/** Marks of the recording with what is on its way into it put in place, by time. */
export function mergeMarks(kept: readonly Mark[], unsaved: readonly Unsaved[]): Mark[] {
  const byId = new Map<string, Unsaved>(kept.map((m) => [m.id, m]));
  for (const mark of unsaved) byId.set(mark.id, mark);
  return [...byId.values()].filter((m) => m.removed !== true).sort((a, b) => a.at - b.at);
}
