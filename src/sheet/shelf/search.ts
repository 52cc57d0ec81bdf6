/** Looking through the indexes: words, and what they must have. Pure. */
import type { ShelfEntry } from "./entries.ts";

export interface Query {
  /** Each must stand somewhere in what the entry says, whatever the case. */
  readonly words: readonly string[];
  readonly vehicle?: string;
  /** Recordings alone, without any fault. */
  readonly sound?: boolean;
  /** A trouble code, or its beginning: `P03`. */
  readonly code?: string;
  /** A sign's id, or its beginning: `crank.` */
  readonly sign?: string;
  /** Begun on or after it: `2024-03` or `2024-03-02`. */
  readonly since?: string;
}

export interface Placed {
  /** File of the recording, or id of the job. */
  readonly name: string;
  readonly entry: ShelfEntry;
}

/** All that stands in an entry, in small letters, made once. */
export class Searchable {
  readonly name: string;
  readonly entry: ShelfEntry;
  readonly text: string;
  readonly vehicle: string;
  readonly startedMs: number;

  constructor({ name, entry }: Placed) {
    this.name = name;
    this.entry = entry;
    this.vehicle = `${entry.vehicle.name}\n${entry.vehicle.vin}`.toLowerCase();
    this.startedMs = Date.parse(entry.started);
    const said =
      entry.kind === "recording"
        ? [
            ...[entry.happened, ...entry.codes, ...entry.marks],
            ...entry.signs.flatMap((s) => [s.id, s.title]),
            ...entry.causes.map((c) => c.name),
          ]
        : [entry.found, entry.who, entry.notes, ...entry.causes.map((c) => c.name), ...entry.recordings];
    this.text = [name, this.vehicle, entry.complaint, ...said].join("\n").toLowerCase();
  }
}

/** Words as a person types them: `"a b"` in quotes is one. */
export function wordsOf(text: string): string[] {
  return [...text.toLowerCase().matchAll(/"([^"]+)"|(\S+)/g)]
    .map((match) => (match[1] ?? match[2] ?? "").trim())
    .filter((word) => word !== "" && word !== '"');
}

/**
 * What fits, the newest first. Codes and signs are those of recordings: a job has what its recordings have, by their
 * files.
 */
export function search(all: readonly Searchable[], query: Query): Searchable[] {
  const { vehicle = "", code = "", sign = "", sound = false, since } = query;
  const from =
    since === undefined
      ? Number.NEGATIVE_INFINITY
      : Date.parse(`${since}T00:00:00Z`.replace(/^(\d{4}-\d\d)T/, "$1-01T"));
  const has = ({ entry }: Searchable): boolean =>
    entry.kind === "recording" &&
    (code === "" || entry.codes.some((c) => c.startsWith(code.toUpperCase()))) &&
    (sign === "" || entry.signs.some((s) => s.id.startsWith(sign) && s.verdict === "outside"));
  const asked = code !== "" || sign !== "";
  const files = asked ? new Set(all.filter(has).map((one) => one.name)) : new Set<string>();
  const words = query.words.map((word) => word.toLowerCase());
  return all
    .filter((one) => {
      if (sound && !(one.entry.kind === "recording" && one.entry.sound)) return false;
      if (vehicle !== "" && !one.vehicle.includes(vehicle.toLowerCase())) return false;
      // The day where it was made may be half a day off that of the world's zero.
      if (since !== undefined && !(one.startedMs >= from - 14 * 3_600_000)) return false;
      if (since !== undefined && one.entry.started.slice(0, since.length) < since) return false;
      if (
        asked &&
        !(one.entry.kind === "job" ? one.entry.recordings.some((f) => files.has(f)) : files.has(one.name))
      )
        return false;
      return words.every((word) => one.text.includes(word));
    })
    .sort((a, b) => b.startedMs - a.startedMs || (a.name < b.name ? -1 : 1));
}

/** The line that tells it from others in a list. */
export function lineOf({ entry }: Placed): string {
  const { vehicle, complaint } = entry;
  const parts = [
    vehicle.name === "" ? vehicle.vin : vehicle.name,
    complaint.replace(/\s+/g, " ").slice(0, 120),
    ...(entry.kind === "recording"
      ? [
          entry.happened,
          entry.codes.slice(0, 6).join(" "),
          entry.signs
            .filter((s) => s.verdict === "outside")
            .slice(0, 3)
            .map((s) => s.title)
            .join("; "),
          entry.invented ? "invented data" : "",
        ]
      : [entry.found, entry.mended ? "mended" : ""]),
  ];
  return parts.filter((part) => part !== "").join(" · ");
}
