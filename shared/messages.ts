/**
 * What travels between server and page over the WebSocket, validated on receipt on both sides. Vehicle data is
 * never in a message of its own: the page gets the recording's own bytes (`liveFrame.ts`) and reads them as it would a file.
 */
import { z } from "zod/mini";
import { CranksideError } from "./errors.ts";
import { jobFactsSchema } from "./vehicle.ts";
import { wrongShape } from "./wrongShape.ts";

const shortText = z.string().check(z.maxLength(400));
const channelList = z.array(z.string().check(z.maxLength(60))).check(z.maxLength(64));

export const benchActSchema = z.discriminatedUnion("act", [
  z.strictObject({ act: z.literal("key"), to: z.enum(["off", "on", "crank"]) }),
  /** Pedal, 0 to 1. */
  z.strictObject({ act: z.literal("pedal"), to: z.number().check(z.gte(0), z.lte(1)) }),
  z.strictObject({
    act: z.literal("fault"),
    name: shortText,
    severity: z.number().check(z.gte(0), z.lte(1)),
  }),
  /** Fuel added at the intake for so long. */
  z.strictObject({ act: z.literal("add-fuel"), seconds: z.number().check(z.gte(0), z.lte(60)) }),
  /** A known-good relay put in place of the main relay, or taken out again. */
  z.strictObject({ act: z.literal("relay-swap"), on: z.boolean() }),
  /** Jump leads from a good battery. */
  z.strictObject({ act: z.literal("booster"), on: z.boolean() }),
  /** The exhaust undone ahead of the catalyst. */
  z.strictObject({ act: z.literal("exhaust-open"), on: z.boolean() }),
  /** Splits and joints of the intake taped over from outside, or laid open again. */
  z.strictObject({ act: z.literal("intake-seal"), on: z.boolean() }),
  /** An injector plug pulled off (on) or put back. */
  z.strictObject({
    act: z.literal("unplug"),
    cylinder: z.int().check(z.gte(1), z.lte(16)),
    on: z.boolean(),
  }),
  /** The coils of two cylinders changed for each other; once more puts them back. */
  z.strictObject({
    act: z.literal("coil-swap"),
    a: z.int().check(z.gte(1), z.lte(16)),
    b: z.int().check(z.gte(1), z.lte(16)),
  }),
  /** The same with spark plugs. */
  z.strictObject({
    act: z.literal("plug-swap"),
    a: z.int().check(z.gte(1), z.lte(16)),
    b: z.int().check(z.gte(1), z.lte(16)),
  }),
  /** A plug and its wires moved to and fro by hand (on), or let go. */
  z.strictObject({ act: z.literal("wiggle"), plug: z.enum(["crank-sensor", "module"]), on: z.boolean() }),
]);
export type BenchAct = z.infer<typeof benchActSchema>;

const requestId = { id: z.int() };

/** Page to server. Each is answered by `done` or `failed` with the same id. */
export const requestSchema = z.discriminatedUnion("type", [
  z.strictObject({ type: z.literal("ports"), ...requestId }),
  z.strictObject({
    type: z.literal("connect"),
    ...requestId,
    address: shortText,
    facts: jobFactsSchema,
    /** On SAE J1979-2: also the requests that nobody could confirm. */
    unconfirmed: z.optional(z.literal(true)),
  }),
  z.strictObject({ type: z.literal("disconnect"), ...requestId }),
  /** Ends the recording, keeps the link; nothing is read until the next one begins. */
  z.strictObject({ type: z.literal("stop"), ...requestId }),
  z.strictObject({ type: z.literal("start"), ...requestId, facts: jobFactsSchema }),
  z.strictObject({
    type: z.literal("channels"),
    ...requestId,
    /** Empty: the usual ones. */
    channels: channelList,
    /** To be asked more often than the rest. */
    pinned: z.optional(channelList),
  }),
  z.strictObject({
    type: z.literal("mark"),
    ...requestId,
    /** A file name in the recordings folder; null is the live recording. */
    recording: z.nullable(shortText),
    mark: z.strictObject({
      id: z.string().check(z.minLength(1), z.maxLength(40)),
      at: z.number().check(z.gte(0)),
      until: z.optional(z.number().check(z.gte(0))),
      label: shortText,
      removed: z.optional(z.literal(true)),
    }),
  }),
  z.strictObject({
    type: z.literal("facts"),
    ...requestId,
    recording: z.nullable(shortText),
    facts: jobFactsSchema,
  }),
  z.strictObject({ type: z.literal("bench"), ...requestId, act: benchActSchema }),
  /** A gauge, a meter or an eye at the bench vehicle; answered by `done` with `reading`. */
  z.strictObject({
    type: z.literal("measure"),
    ...requestId,
    check: shortText,
    cylinder: z.nullable(z.int().check(z.gte(1), z.lte(16))),
  }),
  /** What was hidden in the bench vehicle is told; answered by `done` with `revealed`. */
  z.strictObject({ type: z.literal("reveal"), ...requestId }),
  /** Cranking focus until one crank is over, or no longer; `strength`: voltage and speed alone, until told otherwise. */
  z.strictObject({
    type: z.literal("arm"),
    ...requestId,
    on: z.boolean(),
    strength: z.optional(z.boolean()),
  }),
  /** Every module is asked once what it has to say; what it says is in the recording when this is done. */
  z.strictObject({ type: z.literal("survey"), ...requestId }),
  /** Codes are cleared, once, in the words that name what is lost; see shared/clearing.ts for what must be first. */
  z.strictObject({ type: z.literal("clear"), ...requestId, typed: shortText }),
  /** The live recording goes on in the folder that the status offers, with all that it holds so far. */
  z.strictObject({ type: z.literal("move"), ...requestId }),
  /** This page drives the link from now on, whoever held it before. */
  z.strictObject({ type: z.literal("take"), ...requestId }),
  /** The job that lies open on this page, or none; pages that have the same one are told of each other. */
  z.strictObject({ type: z.literal("job"), ...requestId, job: z.nullable(shortText) }),
  /** Closes the door to the network and sends away who came through it. */
  z.strictObject({ type: z.literal("close-lan"), ...requestId }),
  /** Whether those who came through it may enter results of hand checks on the open job, too. */
  z.strictObject({ type: z.literal("guests-enter"), ...requestId, on: z.boolean() }),
]);
export type PageRequest = z.infer<typeof requestSchema>;

export const portSchema = z.object({
  path: z.string(),
  /** What the system knows of it, in words: maker, product, serial number. */
  about: z.string(),
});
export type PortInfo = z.infer<typeof portSchema>;

export const benchVehicleSchema = z.object({
  id: z.string(),
  name: z.string(),
  about: z.string(),
  faults: z.array(z.object({ id: z.string(), name: z.string() })),
  /** To practise on: what the customer says; the fault is hidden. */
  cases: z.array(z.object({ id: z.string(), title: z.string(), story: z.string() })),
  cylinders: z.int(),
  /** It has coils that can be moved. */
  coils: z.optional(z.boolean()),
  /** What can be measured by hand; some at one cylinder. */
  gauges: z.array(z.object({ id: z.string(), name: z.string(), cylinder: z.boolean() })),
});
export type BenchVehicleInfo = z.infer<typeof benchVehicleSchema>;

const failureSchema = z.object({ code: z.string(), message: z.string() });
export type Failure = z.infer<typeof failureSchema>;

/** What a gauge showed, or an eye saw. */
const handReadingSchema = z.object({
  name: z.string(),
  cylinder: z.nullable(z.int()),
  value: z.nullable(z.number()),
  unit: z.string(),
  words: z.string(),
});
export type HandReading = z.infer<typeof handReadingSchema>;

/** What is broken in the bench vehicle, and the causes whose repair mends it. */
const revealedSchema = z.array(z.object({ name: z.string(), causes: z.array(z.string()) }));
export type Revealed = z.infer<typeof revealedSchema>;

/** The server's whole state; sent on connecting and on every change. */
export const statusSchema = z.object({
  link: z.enum(["none", "connecting", "listening", "paused", "lost"]),
  address: z.nullable(z.string()),
  /** What the set-up is doing, or why the link is lost, in words. */
  doing: z.string(),
  failure: z.nullable(failureSchema),
  adapter: z.nullable(z.string()),
  protocol: z.nullable(z.string()),
  modules: z.array(z.object({ address: z.string(), pids: z.array(z.int()) })),
  /** The live recording. `bytes` are on disk. */
  recording: z.nullable(
    z.object({
      file: z.string(),
      started: z.string(),
      bytes: z.int(),
      saved: z.boolean(),
      /** Why the disk does not take what is recorded; then it waits in memory. */
      failure: z.nullable(failureSchema),
      /** Bytes that are in memory only. */
      waiting: z.int(),
      /** Events that neither disk nor memory had room for. */
      lost: z.int(),
      /** A folder that it can go on in while the disk fails (`move`). */
      spare: z.nullable(z.string()),
    }),
  ),
  /** What the person should know about the vehicle's battery, or null. */
  battery: z.nullable(z.object({ volts: z.number(), slowed: z.boolean() })),
  channels: z.array(z.string()),
  /** What is looked at most closely now; null without a link. */
  focus: z.nullable(z.enum(["survey", "cranking", "running"])),
  /** Cranking is waited for. */
  armed: z.boolean(),
  /** Voltage and speed alone are asked, for relative compression. */
  strength: z.boolean(),
  /** The bench vehicle's controls as they stand. */
  bench: z.nullable(
    z.object({
      vehicle: z.string(),
      key: z.enum(["off", "on", "crank"]),
      pedal: z.number(),
      faults: z.array(z.string()),
      /** Something is broken that is not told. */
      hidden: z.boolean(),
    }),
  ),
});
export type Status = z.infer<typeof statusSchema>;

/** `full` is a page on the laptop itself; `mark` came over the network: it reads, and sets marks. */
export const roleSchema = z.enum(["full", "mark"]);
export type Role = z.infer<typeof roleSchema>;

/** The door to the network. */
export const lanSchema = z.object({
  /** What a phone opens; the code is asked for there. */
  url: z.string(),
  /** Lets one more device in; another one follows it. Null for those who came in that way themselves. */
  code: z.nullable(z.string()),
  guests: z.int(),
  /** Guests may enter results of hand checks. */
  enter: z.optional(z.boolean()),
});
export type Lan = z.infer<typeof lanSchema>;

/** Server to page. */
export const serverMessageSchema = z.discriminatedUnion("type", [
  z.object({
    type: z.literal("hello"),
    version: z.string(),
    folder: z.string(),
    bench: z.array(benchVehicleSchema),
  }),
  z.object({ type: z.literal("status"), status: statusSchema }),
  /** What this page may do; who drives the link when another page does, and who else has this page's job open. */
  z.object({
    type: z.literal("you"),
    role: roleSchema,
    holder: z.nullable(z.string()),
    beside: z.nullable(z.string()),
  }),
  /** Null when only this machine is served. */
  z.object({ type: z.literal("lan"), lan: z.nullable(lanSchema) }),
  z.object({
    type: z.literal("done"),
    id: z.int(),
    ports: z.optional(z.array(portSchema)),
    reading: z.optional(handReadingSchema),
    revealed: z.optional(revealedSchema),
  }),
  z.object({ type: z.literal("failed"), id: z.int(), failure: failureSchema }),
]);
export type ServerMessage = z.infer<typeof serverMessageSchema>;

/** One entry of GET /api/recordings, newest first. */
export const recordingEntrySchema = z.object({
  file: z.string(),
  /** True for the samples that ship with the program; they can be read, not added to. */
  bundled: z.boolean(),
  bytes: z.int(),
  started: z.nullable(z.string()),
  from: z.string(),
  vehicle: z.string(),
  invented: z.boolean(),
  /** Why it cannot be opened, if so. */
  problem: z.nullable(z.string()),
});
/** Answer of GET /api/summaries/FILE: what a recording is about, for a list. */
export const recordingSummarySchema = z.object({
  /** Milliseconds to its last event. */
  lengthMs: z.number(),
  vehicle: z.string(),
  complaint: z.string(),
  /** "3 cranks: turned, did not fire"; what the engine did where it was not cranked. */
  happened: z.string(),
});
export type RecordingEntry = z.infer<typeof recordingEntrySchema>;
export const recordingListSchema = z.array(recordingEntrySchema);

/** Parses a message of either direction; throws `message-invalid`. */
export function readMessage<T>(schema: z.ZodMiniType<T>, text: string): T {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch {
    throw new CranksideError("message-invalid", "not a message", {
      expected: "JSON",
      found: JSON.stringify(text.slice(0, 60)),
    });
  }
  const result = schema.safeParse(value);
  if (result.success) return result.data;
  const wrong = wrongShape(result.error.issues, value, "a known message");
  throw new CranksideError("message-invalid", "not a message", { ...wrong });
}
