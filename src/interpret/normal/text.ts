import { kindOfFigure } from "./gather.ts";
import type { Normal } from "./learn.ts";
import { normalLimits, normalRows } from "./table.ts";

/** What was learned, as text for a terminal. */
export function learnedText(normal: Normal): string {
  const { recordings, temperature, figures, name } = normal;
  const count = recordings.length === 1 ? "1 recording" : `${recordings.length} recordings`;
  const air =
    temperature === null
      ? ""
      : `, outside air ${temperature.low.toFixed(0)} to ${temperature.high.toFixed(0)} °C`;
  const lines = [`Normal for ${name ?? "this vehicle"}: ${count}${air}`];
  for (const figure of figures) {
    const few = figure.recordings < normalLimits.leastRecordings ? ", too few to judge by" : "";
    const apart = figure.apart === undefined ? "" : `, ${figure.apart} apart from these`;
    const digits = Math.abs(figure.level) >= 100 ? 0 : 2;
    const number = (v: number): string => v.toFixed(digits);
    lines.push(
      `  ${nameOf(figure.of)}: ${number(figure.level)} ± ${figure.spread.toFixed(2)} ${figure.unit} ` +
        `(${number(figure.low)} to ${number(figure.high)} in ${figure.recordings}${apart}${few})`,
    );
  }
  if (figures.length === 0) lines.push("  nothing: a minute of warm idle or a start would be enough");
  return `${lines.join("\n")}\n`;
}

/** "fuel correction (b1, idle)". */
export function nameOf(of: string): string {
  const rest = of.split("/").slice(1);
  const name = normalRows[kindOfFigure(of)].name;
  return rest.length === 0 ? name : `${name} (${rest.join(", ")})`;
}
