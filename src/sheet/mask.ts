/** What may be hidden in what leaves: the last six of the VIN, names, and the plate, wherever they were written. */
import type { JobDocument } from "./job.ts";
import { saysOf } from "./snapshot.ts";

export interface Masking {
  readonly vin: boolean;
  readonly names: boolean;
  readonly plate: boolean;
}

export const nothingMasked: Masking = { vin: false, names: false, plate: false };

export function masksAnything(masking: Masking): boolean {
  return masking.vin || masking.names || masking.plate;
}

const dots = "••••••";

/** Seventeen signs of a VIN (ISO 3779: no I, O, Q), of which some are digits. */
const vinShape =
  /(?<![\p{L}\p{N}])(?=(?:[A-Z]*\d){3})([A-HJ-NPR-Z0-9]{11})[A-HJ-NPR-Z0-9]{6}(?![\p{L}\p{N}])/giu;

/** Words that stand in many names and in much else. */
const particles: ReadonlySet<string> = new Set(
  "the and of for van von der den de di da la le el du des und mr mrs ms dr co ltd".split(" "),
);

interface Hiding {
  readonly pattern: RegExp;
  readonly instead: string;
}

/**
 * Hides in any text what the job's own fields say is to be hidden: the VIN's last six with and without what stands
 * before it, names as a whole and word by word, also as they become in a file's name, and the plate however it is
 * spaced. Whatever else has the shape of a VIN loses its last six too.
 */
export function maskOf(job: JobDocument, masking: Masking): (text: string) => string {
  const hidden = [
    ...(masking.vin ? vinsOf(job).flatMap(hidingVin) : []),
    ...(masking.names ? namesOf(job).flatMap(hidingName) : []),
    ...(masking.plate ? hidingPlate(job.who.plate) : []),
  ];
  return (text) => {
    const masked = hidden.reduce((t, { pattern, instead }) => t.replace(pattern, instead), text);
    return masking.vin ? masked.replace(vinShape, `$1${dots}`) : masked;
  };
}

/** The one that was typed or read for the vehicle, and those that its modules said. */
function vinsOf(job: JobDocument): string[] {
  const said = Object.values(job.entries).flatMap((entry) => {
    const says = saysOf(entry.says);
    if (says?.kind !== "modules") return [];
    return says.modules.flatMap((m) =>
      m.rows.filter((r) => r.what === "VIN").map((r) => r.says.slice(0, 17)),
    );
  });
  return [...new Set([job.vehicle.vin ?? "", ...said].map((vin) => vin.trim()))].filter(
    (vin) => vin.length > 6,
  );
}

function hidingVin(vin: string): Hiding[] {
  const serial = vin.slice(-6);
  return [
    { pattern: alone(spaced(vin)), instead: vin.slice(0, -6) + dots },
    { pattern: alone(spaced(serial)), instead: dots },
  ];
}

/** Whose names are written anywhere in a field of their own. */
function namesOf(job: JobDocument): string[] {
  const by = [
    ...Object.values(job.checks).map((check) => check.by),
    ...Object.values(job.log).map(({ entry }) => entry.by ?? ""),
  ];
  return [...new Set([job.who.customer, job.who.mechanic, ...by])].filter((name) => name.trim() !== "");
}

function hidingName(name: string): Hiding[] {
  const words = name.split(/[\s,;/]+/u).filter((word) => /\p{L}/u.test(word));
  const telling = words.filter(
    (word) => word.replace(/\P{L}/gu, "").length >= 2 && !particles.has(word.toLowerCase()),
  );
  const whole = words.map(literallyText).join("[\\s,;/-]+");
  const each = telling.flatMap((word) => [word, word.normalize("NFKD").replace(/\p{M}+/gu, "")]);
  return [
    ...(telling.length === 0 ? [] : [{ pattern: alone(whole), instead: dots }]),
    ...[...new Set(each)].map((word) => ({ pattern: alone(literallyText(word)), instead: dots })),
  ];
}

function hidingPlate(text: string): Hiding[] {
  const plate = text.replace(/[^\p{L}\p{N}]/gu, "");
  return plate.length < 2 ? [] : [{ pattern: alone(spaced(plate)), instead: dots }];
}

/** However its signs are set apart. */
function spaced(text: string): string {
  return Array.from(text, literallyText).join("[\\s.·-]*");
}

function literallyText(text: string): string {
  return text.replace(/[.*+?^${}()|[\]\\/]/g, "\\$&");
}

/** Not inside a longer word. */
function alone(pattern: string): RegExp {
  return new RegExp(`(?<![\\p{L}\\p{N}])(?:${pattern})(?![\\p{L}\\p{N}])`, "giu");
}

/** Fields that point somewhere; hiding a part of them would break them. */
const pointers: ReadonlySet<string> = new Set([
  "file",
  "sha256",
  "id",
  "of",
  "check",
  "outcome",
  "cause",
  "section",
  "standing",
  "type",
  "channel",
  "channels",
  "lanes",
  "kind",
  "k",
  "key",
  "family",
  "verdict",
  "recording",
  "did",
  "effect",
  "state",
  "picture",
]);

/** The job with every text in it masked, for the note that leaves. Its ties still point where they did. */
export function maskedJob(job: JobDocument, masking: Masking): JobDocument {
  if (!masksAnything(masking)) return job;
  const mask = maskOf(job, masking);
  const walk = (value: unknown, key: string): unknown => {
    if (typeof value === "string") {
      if (pointers.has(key)) return value;
      return key === "by" && masking.names && value.trim() !== "" ? dots : mask(value);
    }
    if (Array.isArray(value)) return value.map((entry: unknown) => walk(entry, key));
    if (typeof value !== "object" || value === null) return value;
    return Object.fromEntries(Object.entries(value).map(([name, entry]) => [name, walk(entry, name)]));
  };
  const masked = walk(job, "") as JobDocument;
  const { customer, mechanic, plate } = masked.who;
  const hide = (text: string, hidden: boolean): string => (hidden && text.trim() !== "" ? dots : text);
  return {
    ...masked,
    id: maskedId(job.id, mask),
    who: {
      customer: hide(customer, masking.names),
      mechanic: hide(mechanic, masking.names),
      plate: hide(plate, masking.plate),
    },
  };
}

/** A job is named after its vehicle, and that may be a person's name: then only its day is left. */
function maskedId(id: string, mask: (text: string) => string): string {
  if (mask(id) === id) return id;
  return `${/^\d{4}-\d\d-\d\d/.exec(id)?.[0] ?? "job"}-masked`;
}

/** The masked job as a file of its own: recordings that bear a name or a plate in theirs are called by number. */
export function leavingJob(job: JobDocument, masking: Masking): JobDocument {
  const masked = maskedJob(job, masking);
  if (masked === job) return job;
  const mask = maskOf(job, masking);
  const names = new Map<string, string>();
  const named = (file: string): string => {
    if (mask(file) === file) return file;
    const known = names.get(file) ?? `recording-${names.size + 1}.ndjson`;
    names.set(file, known);
    return known;
  };
  const walk = (value: unknown, key: string): unknown => {
    if (typeof value === "string") return key === "file" || key === "recording" ? named(value) : value;
    if (Array.isArray(value)) return value.map((entry: unknown) => walk(entry, key));
    if (typeof value !== "object" || value === null) return value;
    return Object.fromEntries(Object.entries(value).map(([name, entry]) => [name, walk(entry, name)]));
  };
  return walk(masked, "") as JobDocument;
}
