import { CranksideError } from "../../shared/errors.ts";

const unitMs: Readonly<Record<string, number>> = { ms: 1, s: 1000, min: 60_000, h: 3_600_000 };

/** "30s", "1.5min", "100ms", "2h" in milliseconds; throws `wrong-use`. */
export function durationMs(text: string): number {
  const match = /^(\d+(?:\.\d+)?)(ms|s|min|h)$/.exec(text.trim());
  const ms = Number(match?.[1]) * (unitMs[match?.[2] ?? ""] ?? Number.NaN);
  if (!(ms > 0)) {
    throw new CranksideError("wrong-use", "not a length of time", {
      expected: "a number with ms, s, min or h, such as 30s",
      found: JSON.stringify(text),
    });
  }
  return ms;
}
