/** Validation of single lines. Hand-written because an hour of recording is hundreds of thousands of lines. */
import { z } from "zod/mini";
import { recordedParameterSchema } from "../definedForm.ts";
import { CranksideError } from "../errors.ts";
import { isProtocolId } from "../protocols.ts";
import { forms, migrated, storedVersion } from "../stored/forms.ts";
import { jobFactsSchema, readableFacts } from "../vehicle.ts";
import {
  formatName,
  linkStates,
  longestMs,
  type AdapterIdentity,
  type Header,
  type RecordingEvent,
  type UnknownEvent,
} from "./format.ts";

type Fields = Readonly<Record<string, unknown>>;

export type ParsedLine =
  | { readonly kind: "event"; readonly event: RecordingEvent }
  | { readonly kind: "unknown"; readonly event: UnknownEvent }
  | { readonly kind: "wrong"; readonly reason: string };

function isFields(value: unknown): value is Fields {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

const isText = (v: unknown): v is string => typeof v === "string";
const isTime = (v: unknown): v is number => typeof v === "number" && Number.isFinite(v) && v >= 0;
const isMoment = (v: unknown): v is number => isTime(v) && v <= longestMs;
const isDelay = (v: unknown): v is number | null => v === null || isMoment(v);
const isTexts = (v: unknown): v is readonly string[] => Array.isArray(v) && v.every(isText);
const optional =
  (check: (v: unknown) => boolean) =>
  (v: unknown): boolean =>
    v === undefined || check(v);

function isAdapter(v: unknown): v is AdapterIdentity {
  return (
    isFields(v) &&
    isText(v["says"]) &&
    optional(isTexts)(v["refuses"]) &&
    optional((b) => typeof b === "number")(v["baud"])
  );
}

function isModules(v: unknown): boolean {
  return (
    isFields(v) && Object.values(v).every((p) => Array.isArray(p) && p.every((n) => Number.isInteger(n)))
  );
}

const isProtocol = (v: unknown): boolean => isText(v) && isProtocolId(v);

const definedList = z.array(recordedParameterSchema);

/** Per kind: field, what it must be, in words, and the check. A missing optional field passes its check. */
const shapes: Readonly<
  Record<string, readonly (readonly [field: string, expected: string, check: (v: unknown) => boolean])[]>
> = {
  x: [
    ["ask", "a text", isText],
    ["lines", "a list of texts", isTexts],
    ["first", "a delay in ms or null", isDelay],
    ["end", "a delay in ms or null", isDelay],
    ["err", "a text", optional(isText)],
  ],
  stray: [["text", "a text", isText]],
  mark: [
    ["id", "a text", isText],
    ["at", "a time in ms", isMoment],
    ["until", "a time in ms", optional(isMoment)],
    ["label", "a text", isText],
    ["removed", "true", optional((v) => v === true)],
  ],
  link: [
    ["state", `one of ${linkStates.join(", ")}`, (v) => (linkStates as readonly unknown[]).includes(v)],
    ["why", "a text", optional(isText)],
    ["adapter", "an adapter identity", optional(isAdapter)],
    ["protocol", "a protocol", optional(isProtocol)],
    ["modules", "lists of parameters by module", optional(isModules)],
  ],
  s: [
    ["ch", "a channel", isText],
    ["v", "a number or null", (v) => v === null || (typeof v === "number" && Number.isFinite(v))],
    ["u", "a unit", isText],
  ],
  facts: [["facts", "complaint and vehicle facts", (v) => jobFactsSchema.safeParse(v).success]],
  notice: [
    ["text", "a text", isText],
    ["torn", "a count of bytes", optional((v) => Number.isInteger(v) && isTime(v))],
  ],
  defined: [["parameters", "a list of parameter definitions", (v) => definedList.safeParse(v).success]],
  end: [["sha256", "64 hexadecimal digits", (v) => isText(v) && /^[0-9a-f]{64}$/.test(v)]],
};

/** Kinds that make a recording longer. */
const heardKinds: ReadonlySet<string> = new Set(["x", "s", "stray", "link"]);

/** Reads one event line (without its line end). Never throws. */
export function parseEvent(line: string): ParsedLine {
  let value: unknown;
  try {
    value = JSON.parse(line);
  } catch (error) {
    return { kind: "wrong", reason: `not JSON: ${error instanceof Error ? error.message : "unreadable"}` };
  }
  if (!isFields(value)) return { kind: "wrong", reason: "expected an object" };
  const { t, k } = value;
  if (!isTime(t)) return { kind: "wrong", reason: `expected t, a time in ms from 0, found ${brief(t)}` };
  if (!isText(k)) return { kind: "wrong", reason: `expected k, an event kind, found ${brief(k)}` };
  const shape = Object.hasOwn(shapes, k) ? shapes[k] : undefined;
  if (shape === undefined) return { kind: "unknown", event: { ...value, t, k } };
  // Marks and facts may be added years later; what was heard cannot have come then.
  if (heardKinds.has(k) && !isMoment(t))
    return { kind: "wrong", reason: `${k}: expected t to be at most ${longestMs} ms, found ${brief(t)}` };
  for (const [field, expected, check] of shape) {
    if (!check(value[field])) {
      return {
        kind: "wrong",
        reason: `${k}: expected ${field} to be ${expected}, found ${brief(value[field])}`,
      };
    }
  }
  // Every field of this kind was checked just above.
  return { kind: "event", event: value as unknown as RecordingEvent };
}

/** Reads the header line; throws `not-a-recording` or `newer-format`. */
export function parseHeader(line: string, where: string): Header {
  const wrong = (expected: string, found: string): CranksideError =>
    new CranksideError("not-a-recording", "not a recording", { expected, found, where });
  if (line.trim() === "") throw wrong("a header line", "an empty file");
  let value: unknown;
  try {
    value = JSON.parse(line);
  } catch {
    throw wrong(`a header line with "format":"${formatName}"`, brief(line));
  }
  if (!isFields(value) || value["format"] !== formatName) {
    throw wrong(`a header line with "format":"${formatName}"`, brief(value));
  }
  const version = storedVersion(value);
  if (value["version"] === undefined || version === null) {
    throw wrong("a format version from 1", brief(value["version"]));
  }
  const today = migrated(forms.recording, value, where) as Fields;
  const { started, from, adapter, protocol, invented, writer } = today;
  if (!isText(started) || Number.isNaN(Date.parse(started)))
    throw wrong("started, an ISO 8601 time", brief(started));
  return {
    format: formatName,
    version,
    started,
    from: isText(from) ? from : "unknown",
    adapter: isAdapter(adapter) ? adapter : null,
    protocol: isText(protocol) && isProtocolId(protocol) ? protocol : null,
    vehicle: readableFacts(today["vehicle"]),
    invented: invented === true,
    writer: isText(writer) ? writer : "unknown",
  };
}

function brief(value: unknown): string {
  const text = value === undefined ? "nothing" : JSON.stringify(value);
  return text.length > 60 ? `${text.slice(0, 57)}...` : text;
}
