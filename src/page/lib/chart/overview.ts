/** The whole recording in a strip: regimes, the speed's outline, and where signs point. Pure. */
import type { Findings, Sign } from "../../../interpret/index.ts";
import type { Read } from "../../../reading/index.ts";
import { reduce } from "../../../sheet/chart/reduce.ts";
import type { RegimeSpan, Stretch } from "./index.ts";

export interface OverviewInput {
  readonly reading: Read;
  readonly spans: readonly RegimeSpan[];
  readonly findings: Findings | null;
  readonly width: number;
  readonly height: number;
  readonly all: Stretch;
}

export interface Overview {
  readonly pieces: readonly RegimeSpan[];
  /** Path of the trace. */
  readonly trace: string;
  /** Pixels from the left, each once. */
  readonly signs: readonly number[];
}

/** Slivers below this part of the strip are not seen and would cost a frame. */
const leastPart = 0.001;

export function overviewOf({ reading, spans, findings, width, height, all }: OverviewInput): Overview {
  const pieces = spans.filter(({ from, to }) => (to - from) / all.to > leastPart);
  const places = told(findings).flatMap((sign) => sign.windows.slice(0, 12).map((w) => w.from));
  const signs = [...new Set(places.map((t) => Math.round((t / all.to) * width)))].sort((a, b) => a - b);
  return { pieces, trace: traceOf(reading, { width, height, all }), signs };
}

/** Signs that a person should look at. */
export function told(findings: Findings | null): Sign[] {
  return (findings?.signs ?? []).filter((s) => s.verdict === "outside" || s.verdict === "near");
}

function traceOf(
  { channels }: Read,
  { width, height, all }: Pick<OverviewInput, "width" | "height" | "all">,
): string {
  const series = channels.find("engine-speed") ?? channels.find("socket-voltage") ?? channels.all()[0];
  if (series === undefined || width < 2) return "";
  const { t, v, low, high } = reduce(series, all, Math.round(width / 2));
  const floor = Math.min(0, low);
  const top = Math.max(high, floor + 1);
  let path = "";
  let pen = false;
  for (let i = 0; i < t.length; i++) {
    const value = v[i] ?? null;
    if (value === null) {
      pen = false;
      continue;
    }
    const x = (((t[i] ?? 0) / all.to) * width).toFixed(1);
    const y = (height - 2 - ((value - floor) / (top - floor)) * (height - 8)).toFixed(1);
    path += `${pen ? "L" : "M"}${x} ${y}`;
    pen = true;
  }
  return path;
}
