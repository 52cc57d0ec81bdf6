import type { PageRequest } from "../../shared/messages.ts";
import type { MarkEvent } from "../../shared/recording/format.ts";

/** A mark as it came, without the fields that are undefined. */
export function given(mark: Extract<PageRequest, { type: "mark" }>["mark"]): Omit<MarkEvent, "k" | "t"> {
  const { id, at, label, until, removed } = mark;
  return {
    id,
    at,
    label,
    ...(until === undefined ? {} : { until }),
    ...(removed === undefined ? {} : { removed }),
  };
}
