/** What may be hidden in what leaves: the last six of the VIN, names, and the plate, wherever they were written. */
import type { JobDocument } from "./job.ts";

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

/** Hides in any text what the job's own fields say is to be hidden. */
export function maskOf(job: JobDocument, masking: Masking): (text: string) => string {
  const hidden: { pattern: RegExp; instead: string }[] = [];
  const vin = job.vehicle.vin?.trim() ?? "";
  if (masking.vin && vin.length > 6) {
    const serial = vin.slice(-6);
    hidden.push({ pattern: literally(vin), instead: vin.slice(0, -6) + dots });
    hidden.push({ pattern: alone(literallyText(serial)), instead: dots });
  }
  if (masking.names) {
    for (const name of [job.who.customer, job.who.mechanic]) {
      const parts = name.split(/[\s,;/]+/u).filter((part) => part.replace(/\P{L}/gu, "").length >= 2);
      if (parts.length === 0) continue;
      hidden.push({ pattern: alone(parts.map(literallyText).join("[\\s,;/]+")), instead: dots });
      for (const part of parts) hidden.push({ pattern: alone(literallyText(part)), instead: dots });
    }
  }
  const plate = job.who.plate.replace(/[^\p{L}\p{N}]/gu, "");
  if (masking.plate && plate.length >= 2) {
    const spaced = Array.from(plate, literallyText).join("[\\s.·-]*");
    hidden.push({ pattern: alone(spaced), instead: dots });
  }
  return (text) => hidden.reduce((masked, { pattern, instead }) => masked.replace(pattern, instead), text);
}

function literallyText(text: string): string {
  return text.replace(/[.*+?^${}()|[\]\\/]/g, "\\$&");
}

function literally(text: string): RegExp {
  return new RegExp(literallyText(text), "giu");
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
  "channel",
  "channels",
  "lanes",
  "kind",
  "k",
]);

/** The job with every text in it masked, for the copy that leaves. */
export function maskedJob(job: JobDocument, masking: Masking): JobDocument {
  if (!masksAnything(masking)) return job;
  const mask = maskOf(job, masking);
  const walk = (value: unknown, key: string): unknown => {
    if (typeof value === "string") return pointers.has(key) ? value : mask(value);
    if (Array.isArray(value)) return value.map((entry: unknown) => walk(entry, key));
    if (typeof value !== "object" || value === null) return value;
    return Object.fromEntries(Object.entries(value).map(([name, entry]) => [name, walk(entry, name)]));
  };
  const masked = walk(job, "") as JobDocument;
  const { customer, mechanic, plate } = masked.who;
  const hide = (text: string, hidden: boolean): string => (hidden && text.trim() !== "" ? dots : text);
  return {
    ...masked,
    id: job.id,
    who: {
      customer: hide(customer, masking.names),
      mechanic: hide(mechanic, masking.names),
      plate: hide(plate, masking.plate),
    },
  };
}
