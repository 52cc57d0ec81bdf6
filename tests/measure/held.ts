/** What opening and the live view are held to: the table of speed that DEVELOPERS.md keeps. */

export interface Held {
  readonly what: string;
  /** When this was begun to be held to, two shared cores. */
  readonly before: string;
  readonly wanted: string;
}

export const held = {
  ten: {
    what: "ten hours opened to a first true picture",
    before: "1.37 s, 0.88 x fetch, split, JSON.parse",
    wanted: "0.3 x",
  },
  one: { what: "one hour, the same", before: "0.25 s, 1.8 x", wanted: "1.0 x" },
  live: {
    what: "live, sent to painted, 99th percentile",
    before: "21.4 ms, a bare page 17.2 ms",
    wanted: "a bare page's and 3 ms",
  },
  sign: { what: "live, a sign after its last needed reading", before: "up to 5 s", wanted: "0.3 s" },
  fast: {
    what: "live at 4,500 readings a second, 12 lanes: main thread",
    before: "not measured",
    wanted: "25 % of a core",
  },
  bytes: { what: "bytes a reading, an hour", before: "19 to 21", wanted: "16.5" },
  fastBytes: {
    what: "the same at 4,500 readings a second",
    before: "not measured",
    wanted: "no growth but the columns",
  },
  tests: { what: "`npm test`", before: "8 min", wanted: "5 min, quiet" },
  check: { what: "`npm run check`", before: "110 s", wanted: "45 s" },
} as const satisfies Readonly<Record<string, Held>>;

export type Measured = Readonly<Record<keyof typeof held, string>>;

/** As Prettier leaves it. */
export function tableOf(measured: Measured): string {
  const rows = (Object.keys(held) as (keyof typeof held)[]).map((id) => {
    const { what, before, wanted } = held[id];
    return [what, before, wanted, measured[id]];
  });
  const all = [["what", "before", "wanted", "measured"], ...rows];
  const widths = [0, 1, 2, 3].map((column) => Math.max(...all.map((row) => row[column]?.length ?? 0)));
  const line = (row: readonly string[]): string =>
    `| ${row.map((cell, column) => cell.padEnd(widths[column] ?? 0)).join(" | ")} |\n`;
  return [line(all[0] ?? []), line(widths.map((width) => "-".repeat(width))), ...rows.map(line)].join("");
}
