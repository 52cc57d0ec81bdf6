/** The next place of a kind from where the cursor stands. Pure. */
import type { Series } from "../../../../shared/channels.ts";
import type { Findings } from "../../../interpret/index.ts";
import { outcomeWords } from "../../../interpret/report/text.ts";
import type { Mark } from "../marks/markList.ts";
import type { Shown } from "../recording/shown.ts";
import { told } from "./overview.ts";

export type PlaceKind = "mark" | "crank" | "sign";

export interface Place {
  readonly from: number;
  readonly to: number | undefined;
  /** To be said when it is reached. */
  readonly words?: string;
}

export interface Around {
  /** Where the cursor stands; null: nowhere, then the first (or last) of all is next. */
  readonly here: number | null;
  readonly marks: readonly Mark[];
  readonly findings: Findings | null;
}

/** What there is around the cursor of a recording that is shown. */
export function around({ view, marks, recording }: Shown): Around {
  return { here: view.cursor, marks: marks.all, findings: recording.findings };
}

/** Milliseconds: a cursor that stands on a place has reached it. */
const near = 0.5;

/** What begins at one moment is reached at once, from either side, and all of it is said. */
function allAt(place: Place, places: readonly Place[]): Place {
  const together = places.filter((p) => Math.abs(p.from - place.from) <= near);
  const words = [...new Set(together.flatMap((p) => p.words ?? []))].join(" ");
  const ends = together.flatMap((p) => p.to ?? []);
  return { from: place.from, to: ends.length === 0 ? undefined : Math.max(...ends), words };
}

/** The place, null where there is none, and what is said of it. */
export function nextPlace(
  kind: PlaceKind,
  by: 1 | -1,
  around: Around,
): { readonly place: Place | null; readonly words: string } {
  const places = placesOf(kind, around).sort((a, b) => a.from - b.from);
  const here = around.here ?? (by > 0 ? -1 : Number.POSITIVE_INFINITY);
  const next =
    by > 0 ? places.find((p) => p.from > here + near) : places.findLast((p) => p.from < here - near);
  if (next !== undefined) {
    const place = allAt(next, places);
    return { place, words: place.words ?? "" };
  }
  if (around.findings === null && kind !== "mark")
    return { place: null, words: "The recording is still being read." };
  return { place: null, words: `There is no ${by > 0 ? "later" : "earlier"} ${kind}.` };
}

function placesOf(kind: PlaceKind, { marks, findings }: Around): Place[] {
  switch (kind) {
    case "mark":
      return marks.map((m) => ({ from: m.at, to: m.until }));
    case "crank":
      return (findings?.cranks ?? []).map((c) => ({
        from: c.from,
        to: c.to,
        words: `Crank ${c.number}: ${outcomeWords[c.outcome]}.`,
      }));
    case "sign":
      return told(findings).flatMap((sign) =>
        sign.windows.map((w) => ({ from: w.from, to: w.to, words: `${sign.title}.` })),
      );
  }
}

/** The time of the reading so many before or after the one that holds at `t`; null without readings. */
export function steppedTime(series: Series, t: number, by: number): number | null {
  if (series.length === 0) return null;
  const index = Math.min(Math.max(series.indexAt(t) + by, 0), series.length - 1);
  return series.times[index] ?? null;
}
