import { z } from "zod/mini";
import { isFields } from "../../../../shared/stored/forms.ts";
import { currentId } from "../../../../shared/stored/renamed.ts";
import { splitLimits } from "./posture.ts";
import { isOfLaterVersion, openDraft } from "./storedDraft.ts";

/** What the page remembers from one visit to the next. */
export interface Settings {
  readonly units: "metric" | "us";
  /** Which name of a channel leads: the plain one, or the abbreviation of SAE J1930. */
  readonly names: "plain" | "standard";
  readonly tone: "system" | "light" | "dark" | "sunlight";
  /** Channels by lane, as the person arranged them; null takes the usual ones. */
  readonly lanes: readonly (readonly string[])[] | null;
  /** The vehicle that lanes and pins were chosen on; empty: not known. */
  readonly lanesOf: string;
  /** Channels that are asked more often than the rest. */
  readonly pinned: readonly string[];
  /** Labels the person typed for marks, latest first. */
  readonly labels: readonly string[];
  /** Width of the live view, seconds. */
  readonly span: number;
  readonly sheet: "open" | "folded";
  /** Share of the width that the chart has while the sheet is read. */
  readonly split: number;
  readonly tcp: string;
  /** A speed that is seen while cranking, and a sag without one, can be heard. */
  readonly sounds: boolean;
  /** Height of a lane against its usual one, by the lane's channels joined with blanks. */
  readonly heights: Readonly<Record<string, number>>;
  /** Lanes that are folded to one line, named in the same way. */
  readonly folded: readonly string[];
  /** Lane sets that the person put together. */
  readonly ownSets: readonly { readonly name: string; readonly lanes: readonly (readonly string[])[] }[];
  /** How readings are joined: by a straight line, holding until the next one, or not at all. */
  readonly join: "lines" | "steps" | "points";
  /** Tools for hand checks that the person does not have. */
  readonly lacking: readonly string[];
  /** What an hour is worth, and what it costs to hand the vehicle on unsolved: in the person's money. */
  readonly perHour: number;
  readonly giveUp: number;
  /** Own proved cases count beside the tables, which are worth so many of them. */
  readonly ownCases: boolean;
  readonly ownWorth: number;
  /** What was learned of a vehicle and is used for it: id by vehicle. */
  readonly normals: Readonly<Record<string, string>>;
}

export const usualSettings: Settings = {
  units: "metric",
  names: "plain",
  tone: "system",
  lanes: null,
  lanesOf: "",
  pinned: [],
  labels: [],
  span: 45,
  sheet: "open",
  split: splitLimits.usual,
  tcp: "",
  sounds: false,
  heights: {},
  folded: [],
  ownSets: [],
  join: "lines",
  lacking: [],
  perHour: 40,
  giveUp: 400,
  ownCases: true,
  ownWorth: 20,
  normals: {},
};

const channel = z.string().check(z.minLength(1), z.maxLength(60));
const lanes = z.array(z.array(channel).check(z.minLength(1), z.maxLength(8))).check(z.maxLength(32));
const fields = {
  units: z.enum(["metric", "us"]),
  names: z.enum(["plain", "standard"]),
  tone: z.enum(["system", "light", "dark", "sunlight"]),
  lanes: z.nullable(lanes),
  lanesOf: z.string().check(z.maxLength(600)),
  pinned: z.array(channel).check(z.maxLength(64)),
  labels: z.array(z.string().check(z.minLength(1), z.maxLength(120))).check(z.maxLength(12)),
  span: z.number().check(z.gte(2), z.lte(3600)),
  sheet: z.enum(["open", "folded"]),
  split: z.number().check(z.gte(splitLimits.least), z.lte(splitLimits.most)),
  tcp: z.string().check(z.maxLength(200)),
  heights: z.record(z.string().check(z.maxLength(500)), z.number().check(z.gte(0.3), z.lte(6))),
  folded: z.array(z.string().check(z.maxLength(500))).check(z.maxLength(64)),
  ownSets: z
    .array(z.object({ name: z.string().check(z.minLength(1), z.maxLength(60)), lanes }))
    .check(z.maxLength(24)),
  join: z.enum(["lines", "steps", "points"]),
  sounds: z.boolean(),
  lacking: z.array(z.string().check(z.minLength(1), z.maxLength(60))).check(z.maxLength(64)),
  perHour: z.number().check(z.gte(0), z.lte(100_000)),
  giveUp: z.number().check(z.gte(0), z.lte(1_000_000)),
  ownCases: z.boolean(),
  ownWorth: z.number().check(z.gte(1), z.lte(1000)),
  normals: z.record(z.string().check(z.maxLength(300)), z.string().check(z.maxLength(60))),
};

/** Reads what was stored: whatever is missing or wrong falls back to the usual, field by field. */
export function readSettings(text: string | null): Settings {
  // Not ours, cut short, or a later version's: the usual settings are as good as any.
  const stored = openDraft("settings", text);
  if (!isFields(stored)) return usualSettings;
  const kept: Record<string, unknown> = { ...usualSettings };
  for (const [name, schema] of Object.entries(fields)) {
    if (!Object.hasOwn(stored, name)) continue;
    const result = schema.safeParse(currentField(name, stored[name]));
    if (result.success) kept[name] = result.data;
  }
  // Each field was either checked just above or is the usual one.
  return kept as unknown as Settings;
}

/**
 * The settings as they are stored: what another version has in them, under names that are not known here, stays. Null
 * where a later version's stand there, which are left alone.
 */
export function settingsText(settings: Settings, before: string | null): string | null {
  if (isOfLaterVersion("settings", before)) return null;
  const stored = openDraft("settings", before);
  return JSON.stringify({ ...(isFields(stored) ? stored : {}), ...settings });
}

/** Lanes, pins and heights name channels, which may be called otherwise by now. */
function currentField(name: string, value: unknown): unknown {
  if (["lanes", "pinned", "heights", "folded"].includes(name)) return withCurrentChannels(value);
  if (name !== "ownSets" || !Array.isArray(value)) return value;
  return value.map((set: unknown) =>
    isFields(set) ? { ...set, lanes: withCurrentChannels(set["lanes"]) } : set,
  );
}

function withCurrentChannels(value: unknown): unknown {
  const current = (text: string): string =>
    text
      .split(" ")
      .map((channel) => currentId("channels", channel))
      .join(" ");
  if (typeof value === "string") return current(value);
  if (Array.isArray(value)) return value.map(withCurrentChannels);
  if (!isFields(value)) return value;
  return Object.fromEntries(
    Object.entries(value).map(([name, one]) => [current(name), withCurrentChannels(one)]),
  );
}

/** The label put first, without doubles, the oldest dropped. */
export function rememberLabel(labels: readonly string[], label: string): string[] {
  const text = label.trim();
  if (text === "" || /^mark \d+$/.test(text)) return [...labels];
  return [text, ...labels.filter((l) => l !== text)].slice(0, 12);
}
