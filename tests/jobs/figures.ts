/** What `crankside read` printed, as the statements that a note must hold word for word. */

export interface Said {
  /** Title and verdict of each sign. */
  readonly titles: readonly string[];
  /** Measured figures, ranges and windows of the signs. */
  readonly signs: readonly string[];
  /** Cells of the table of cranks that hold a figure, and how each ended. */
  readonly cranks: readonly string[];
  /** What was measured during marks, and the balance of the cylinders. */
  readonly marks: readonly string[];
}

/** `text` is the plain output, metric, without `--all`. */
export function saidByRead(text: string): Said {
  const parts = new Map(
    text
      .split(/\n\n/)
      .map((part) => part.split("\n"))
      .map(([head = "", ...lines]) => [head.replace(/ \(.*$/, ""), lines]),
  );
  const signs = joined(parts.get("Signs") ?? []);
  return {
    titles: signs.flatMap((line) => /^ {2}[A-Z ]+: (.+) \[[\w.-]+\]$/.exec(line)?.[1] ?? []),
    signs: signs.flatMap((line) => {
      const said = line.trim();
      if (/^(?:Measured|Range) /.test(said)) return [said];
      return said.startsWith("When: ") ? said.slice("When: ".length).replace(/\.$/, "").split("; ") : [];
    }),
    cranks: (parts.get("Cranks") ?? []).slice(1).flatMap((line) => cellsOf(line)),
    marks: marksOf(parts.get("Marked intervals against the time around them") ?? []),
  };
}

/** A line that goes on from the one before hangs at six blanks. */
function joined(lines: readonly string[]): string[] {
  return lines.reduce<string[]>((all, line) => {
    const last = all.pop();
    if (last === undefined) return [line];
    return /^ {6}\S/.test(line) ? [...all, `${last} ${line.trim()}`] : [...all, last, line];
  }, []);
}

/** Number, start, rest, lowest, mean, speed, speed a volt, pull-down, fired, ended; or how it ended alone. */
function cellsOf(line: string): string[] {
  const ended = /^ {3}ended: (.+)$/.exec(line)?.[1];
  if (ended !== undefined) return [ended];
  const [, at = "", ...cells] = line.trim().split(/ {2,}/);
  const perVolt = cells[4] ?? "–";
  return [at, ...cells.map((cell, i) => (i === 4 && perVolt !== "–" ? `${perVolt} rpm/V` : cell))].filter(
    (cell) => cell !== "–",
  );
}

function marksOf(lines: readonly string[]): string[] {
  const at = lines.findIndex((line) => line.startsWith("  Cylinder balance: "));
  const balance =
    at < 0
      ? []
      : [
          lines
            .slice(at)
            .join(" ")
            .replace(/\s+/g, " ")
            .replace(/^ Cylinder balance: /, ""),
        ];
  const words = joined(at < 0 ? lines : lines.slice(0, at));
  return [...words.filter((line) => /^ {4}\S/.test(line)).map((line) => line.trim()), ...balance];
}
